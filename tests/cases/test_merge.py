"""Two cells' books into one, as the doors do it: backup, figures, what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.cases import engines, finding, merge, safety, sessions
from logbook.cases.desk import open_desk
from logbook.refusals import BookTrouble, Conflict
from logbook.store.backups import folder_of, kept_copies
from logbook.store.book import Book
from tests.cases.conftest import Clock, Shop
from tests.cases.test_backups import files_at_most


@pytest.fixture
def south(tmp_path: Path) -> Iterator[Shop]:
    """Another machine's book, begun there: its own cell, engine and session."""
    clock = Clock()
    desk = open_desk(tmp_path / "south.db", who="MB", units="us", now=clock)
    engines.add_cell(desk, "South", {"altitude": "20 ft"})
    engines.add_engine(desk, "HC-4", {"cylinders": "4", "bore": "82 mm", "stroke": "75 mm"},
                       band="4500-6500")  # fmt: skip
    session = sessions.open_session(desk, "HC-4", purpose="quince", operator="MB")
    opened = Shop(desk, clock, tmp_path, session.id)
    yield opened
    desk.close()


def test_a_merged_book_judges_finds_and_verifies(
    shop: Shop, south: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400)
    first = south.peaks(200, **air)
    south.trace(0.5)
    report = merge.merge(shop.desk, south.desk.book.path)
    assert report.entered["pull"] == 2
    assert report.entered["cell"] == 1
    assert report.conflicts == ()
    assert safety.verify(shop.desk) == []
    found = finding.find(shop.desk, "quince")
    assert {hit.engine_tag for hit in found} == {"HC-4"}
    with shop.desk.book.reading() as read, south.desk.book.reading() as theirs:
        assert read.score(first.pull_id) == theirs.score(first.pull_id)
    again = merge.merge(shop.desk, south.desk.book.path)
    assert again.nothing_new
    assert again.backup is None
    assert len(kept_copies(shop.desk.book.path)) == 1


def test_the_backup_is_the_book_as_it_was(shop: Shop, south: Shop) -> None:
    shop.peaks(400)
    south.peaks(200)
    backup = merge.merge(shop.desk, south.desk.book.path).backup
    assert backup is not None
    assert "before-merge" in backup.name
    with Book.open(backup, create=False) as copy, copy.reading() as read:
        assert [row[0] for row in read.rows("SELECT tag FROM engines")] == ["RB-2"]


def test_figures_follow_a_sheet_that_is_newer_in_the_other_book(shop: Shop, tmp_path: Path) -> None:
    logged = shop.trace(1.0)
    copy = tmp_path / "laptop.db"
    safety.backup(shop.desk, copy)
    laptop = open_desk(copy, who="MB", units="us", now=shop.clock)
    sessions.change_session(laptop, shop.session_id, band="5000-6000", why="the class's band")
    with laptop.book.reading() as read:
        wanted = read.score(logged.pull_id)
    assert merge.merge(shop.desk, copy).changed == 1
    with shop.desk.book.reading() as read:
        assert read.score(logged.pull_id) == wanted
    assert safety.verify(shop.desk) == []
    laptop.close()


def test_a_dry_run_writes_nothing_and_lists_what_a_merge_refuses(shop: Shop, south: Shop) -> None:
    engines.add_engine(south.desk, "rb-2", {"bore": "4.03 in"})
    before = shop.desk.book.path.read_bytes(), shop.desk.book.data_version()
    report = merge.look(shop.desk, south.desk.book.path)
    with pytest.raises(merge.Unsettled, match="1 conflict is not settled") as refused:
        merge.merge(shop.desk, south.desk.book.path)
    assert refused.value.report.open == report.open
    assert before == (shop.desk.book.path.read_bytes(), shop.desk.book.data_version())
    assert not folder_of(shop.desk.book.path).exists()
    code = report.open[0].code
    merge.merge(shop.desk, south.desk.book.path, {code: "there:RB-2 south"})
    assert {row.tag for row in engines.list_engines(shop.desk)} == {"RB-2", "HC-4", "RB-2 south"}


def test_without_a_backup_there_is_no_merge(shop: Shop, south: Shop) -> None:
    south.peaks(200)
    shop.desk.close()
    shop.desk.book = Book.open(shop.desk.book.path)
    limit = shop.desk.book.path.stat().st_size - 20_000
    with files_at_most(limit), pytest.raises(BookTrouble, match="copy cannot be written"):
        merge.merge(shop.desk, south.desk.book.path)
    assert [row.tag for row in engines.list_engines(shop.desk)] == ["RB-2"]


def test_not_into_itself(shop: Shop) -> None:
    with pytest.raises(Conflict, match="the very book"):
        merge.merge(shop.desk, shop.desk.book.path)
