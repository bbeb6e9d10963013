"""Automatic backups: where they lie, what they are called, and which are never deleted."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.store.backups import (
    BEFORE_MERGE,
    CLOSED,
    KeptCopy,
    folder_of,
    kept_copies,
    prune,
    superfluous,
)
from logbook.store.book import Book
from logbook.store.safety import verify
from tests.store.conftest import Shop


def copies(*stamps: str) -> list[KeptCopy]:
    """Backups of these times, newest first."""
    return [KeptCopy(Path(stamp), stamp, CLOSED) for stamp in sorted(stamps, reverse=True)]


def test_a_backup_stands_in_a_folder_beside_the_book_and_is_whole(shop: Shop) -> None:
    shop.pull()
    shop.book.now = lambda: "2026-03-14T18:30:05.000Z"
    first = shop.book.keep_copy(CLOSED)
    second = shop.book.keep_copy(CLOSED)
    assert first == shop.book.path.parent / "shop-backups" / (
        "shop-20260314T183005-session-closed.db"
    )
    assert second.name == "shop-20260314T183005-session-closed-2.db"
    assert [copy.path for copy in kept_copies(shop.book.path)] == [second, first]
    with Book.open(first) as copy:
        assert verify(copy) == []


def test_the_newest_are_kept_and_one_of_every_month() -> None:
    held = copies(
        "20260314T180000", "20260313T180000", "20260302T180000",
        "20260227T180000", "20260215T180000", "20251231T180000",
    )  # fmt: skip
    gone = [copy.taken_at for copy in superfluous(held, 2)]
    assert gone == ["20260302T180000", "20260215T180000"]
    assert superfluous(held, 20) == []


def test_only_what_it_made_itself_is_ever_deleted(shop: Shop, tmp_path: Path) -> None:
    folder = folder_of(shop.book.path)
    folder.mkdir()
    mine = [f"shop-2026030{day}T120000-{CLOSED}.db" for day in range(1, 8)]
    theirs = [
        "shop-20260301T120000.db",  # a backup that somebody asked for
        f"shop-20260302T120000-{CLOSED} (1).db",
        f"shop-20260302T120000-{CLOSED}.db.old",
        f"shop-2-20260302T120000-{CLOSED}.db",
        f"barn-20260302T120000-{CLOSED}.db",
        "shop-20260302T120000-precious.db",
        "notes.txt",
    ]
    for name in (*mine, *theirs):
        (folder / name).write_text(name)
    linked = folder / f"shop-20260302T130000-{BEFORE_MERGE}.db"
    linked.symlink_to(folder / "notes.txt")
    (folder / f"shop-20260302T140000-{CLOSED}.db").mkdir()
    gone = prune(shop.book.path, 3)
    assert sorted(path.name for path in gone) == mine[:4]
    assert {path.name for path in folder.iterdir()} >= {*theirs, *mine[4:], linked.name}
    assert prune(shop.book.path, 3) == []


def test_kept_0_deletes_nothing(shop: Shop) -> None:
    shop.book.keep_copy(BEFORE_MERGE)
    shop.book.keep_copy(BEFORE_MERGE)
    assert prune(shop.book.path, 0) == []
    assert len(kept_copies(shop.book.path)) == 2


@pytest.mark.parametrize("name", ["shop", "shop[1]", "a+b (copy)"])
def test_any_name_of_a_book_has_its_backups(tmp_path: Path, name: str) -> None:
    with Book.open(tmp_path / f"{name}.db") as book:
        made = book.keep_copy(CLOSED)
        assert [copy.path for copy in kept_copies(book.path)] == [made]
