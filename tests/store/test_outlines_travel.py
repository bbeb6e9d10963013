"""Files kept as outlines go from book to book with their trace, or whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest

from logbook.intake.file import read_bytes
from logbook.records.pull import Pull
from logbook.refusals import BookTrouble
from logbook.store import sources
from logbook.store.archive_in import read_archive
from logbook.store.archive_out import write_archive
from logbook.store.book import Book
from logbook.store.migrations import MIGRATIONS, migrate
from logbook.store.other_book import looked_into
from logbook.store.safety import verify
from tests.store.conftest import Shop
from tests.store.joined import held, merge
from tests.store.test_outlines import SWEEP, damaged, kept_as, log, outlined, source_of

CONTENT = SWEEP.encode()


@pytest.fixture
def south(shop: Shop, tmp_path: Path) -> Iterator[Shop]:
    """Another machine's book that began as a copy of this one."""
    other = Shop.__new__(Shop)
    other.__dict__.update(shop.__dict__)
    path = tmp_path / "south.db"
    shop.book.copy_to(path)
    other.book = Book.open(path)
    yield other
    other.book.close()


def content_here(shop: Shop) -> bytes:
    with shop.book.reading() as read:
        found = read.source_of_content(sha256(CONTENT).hexdigest())
    assert found is not None
    return found.content


def test_an_outline_is_merged_with_its_trace(shop: Shop, south: Shop) -> None:
    _, _, source_id = outlined(south)
    merge(shop.book, south.book.path)
    assert verify(shop.book) == []
    assert kept_as(shop.book, source_id) == kept_as(south.book, source_id)
    assert content_here(shop) == CONTENT
    assert merge(shop.book, south.book.path).nothing_new
    assert merge(south.book, shop.book.path).nothing_new


@pytest.mark.parametrize("way", ["taken as a copy", "given a copy"])
def test_a_copy_and_an_outline_of_one_file_meet(shop: Shop, south: Shop, way: str) -> None:
    with shop.book.changing(who="x", what="Landed") as change:
        change.put_source(source_of(CONTENT))
    _, pull_id, _ = outlined(south)
    here, there = (shop, south) if way == "taken as a copy" else (south, shop)
    merge(here.book, there.book.path)
    assert verify(here.book) == []
    assert content_here(here) == CONTENT
    with here.book.reading() as read:
        source_id = read.get(Pull, pull_id).source_id
        assert source_id is not None
        assert read.source(source_id).content == CONTENT
    merge(there.book, here.book.path)
    assert held(here.book.path) == held(there.book.path)


def test_over_a_trace_that_both_books_have_the_file_is_taken_whole(shop: Shop, south: Shop) -> None:
    trace = read_bytes("run_1.csv", CONTENT).trace
    pull = shop.pull(notes="in both")
    with shop.book.changing(who="x", what="Trace") as change:
        change.put_trace(pull.id, trace)
    merge(south.book, shop.book.path)
    with south.book.changing(who="x", what="Landed") as change:
        source_id = change.put_source(source_of(CONTENT))
        change.update(Pull, pull.id, source_id=source_id)
    with closing(sqlite3.connect(south.book.path, isolation_level=None)) as db:
        channels = sources.channels_of(db, pull.id)
        assert sources.outline_kept(db, source_id, CONTENT, pull.id, channels)
    merge(shop.book, south.book.path)
    assert verify(shop.book) == []
    assert kept_as(shop.book, source_id) == (len(sources.copy_of(CONTENT)), None)
    assert content_here(shop) == CONTENT


def test_a_book_with_a_file_that_its_trace_no_longer_gives_is_not_merged(
    shop: Shop, south: Shop
) -> None:
    outlined(south)
    turned = "substr(digits, width + 1) || substr(digits, 1, width)"
    path = damaged(south, f"UPDATE channels SET digits = {turned}")
    with (
        pytest.raises(BookTrouble, match=r"run_1\.csv: its numbers are those of the trace"),
        looked_into(path, beside=shop.book.path),
    ):
        pass


def test_a_book_from_before_outlines_is_merged(shop: Shop, tmp_path: Path) -> None:
    older = tmp_path / "older.db"
    with closing(sqlite3.connect(older, isolation_level=None)) as db:
        migrate(db, older, steps=len(MIGRATIONS) - 1)
        db.execute(
            "INSERT INTO sources VALUES ('s', ?, 'old.csv', '2020-01-01T00:00:00Z', '', ?, ?)",
            (sha256(CONTENT).hexdigest(), len(CONTENT), sources.copy_of(CONTENT)),
        )
    merge(shop.book, older)
    assert kept_as(shop.book, "s")[1] is None
    assert content_here(shop) == CONTENT


@pytest.mark.parametrize("form", ["csv", "jsonl"])
def test_an_archive_holds_the_file_and_its_book_the_outline(
    shop: Shop, tmp_path: Path, form: str
) -> None:
    _, _, source_id = outlined(shop)
    other = SWEEP.replace(",", ";").encode()
    log(shop, other, read_bytes("run_2.csv", other).trace)
    write_archive(shop.book, tmp_path / "out", form, made={})
    assert {path.read_bytes() for path in (tmp_path / "out" / "sources").iterdir()} == {
        CONTENT, other,
    }  # fmt: skip
    new = read_archive(tmp_path / "out", tmp_path / "new.db").path
    assert held(new)["sources"] == held(shop.book.path)["sources"]
    assert kept_as(new, source_id) == kept_as(shop.book, source_id)
    with Book.open(new) as book:
        assert verify(book) == []
        with book.reading() as read:
            assert read.source(source_id).content == CONTENT


def test_an_archive_of_a_spoiled_book_is_not_written(shop: Shop, tmp_path: Path) -> None:
    outlined(shop)
    path = damaged(shop, "UPDATE sources SET content_zlib = x'00'")
    with Book.open(path) as book, pytest.raises(BookTrouble, match=r"run_1\.csv is damaged"):
        write_archive(book, tmp_path / "out", "csv", made={})
    assert not (tmp_path / "out").exists()
