"""A session that closes backs the book up; what hinders the backup does not hinder the close."""

from __future__ import annotations

import resource
from collections.abc import Iterator
from contextlib import contextmanager

from logbook.cases import sessions
from logbook.cases.desk import open_desk
from logbook.records.session import CLOSED
from logbook.store.backups import folder_of, kept_copies
from logbook.store.book import Book
from tests.cases.conftest import Shop


@contextmanager
def files_at_most(size: int) -> Iterator[None]:
    """No file of this process may grow beyond `size` bytes: a disk that is full."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_the_backup_of_a_close_holds_the_closed_session(shop: Shop) -> None:
    shop.peaks(400)
    closed = sessions.close_session(shop.desk, shop.session_id)
    assert closed.backup is not None
    assert closed.cautions == ()
    copy = open_desk(closed.backup, create=False, who="KL")
    assert sessions.find_session(copy, shop.session_id).status == CLOSED
    assert sessions.list_sessions(copy)[0].pulls == 1
    copy.close()


def test_a_full_disk_is_a_caution_and_the_session_is_closed(shop: Shop) -> None:
    shop.peaks(400)
    # Closed and opened, the book is one file again and its write-ahead log empty: the log still
    # takes the close, a whole copy of the book does not fit.
    shop.desk.close()
    shop.desk.book = Book.open(shop.desk.book.path)
    with files_at_most(shop.desk.book.path.stat().st_size - 20_000):
        closed = sessions.close_session(shop.desk, shop.session_id)
    assert closed.session.status == CLOSED
    assert closed.backup is None
    assert closed.cautions[0].code == "no-backup"
    assert "No backup was made" in closed.cautions[0].text
    assert sessions.find_session(shop.desk, shop.session_id).status == CLOSED
    assert list(folder_of(shop.desk.book.path).iterdir()) == []


def test_a_folder_that_cannot_be_made_is_a_caution(shop: Shop) -> None:
    folder_of(shop.desk.book.path).write_text("in the way")
    closed = sessions.close_session(shop.desk, shop.session_id)
    assert closed.session.status == CLOSED
    assert closed.cautions[0].code == "no-backup"


def test_only_so_many_are_kept(shop: Shop) -> None:
    shop.desk.backups_kept = 3
    for _ in range(6):
        shop.clock.turn(60)
        sessions.close_session(shop.desk, shop.session_id)
        sessions.reopen_session(shop.desk, shop.session_id)
    assert len(kept_copies(shop.desk.book.path)) == 3


def test_0_kept_means_none_made(shop: Shop) -> None:
    shop.desk.backups_kept = 0
    assert sessions.close_session(shop.desk, shop.session_id).backup is None
    assert not folder_of(shop.desk.book.path).exists()
