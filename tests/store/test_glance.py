"""The first screen's list without opening the book: the same list, or nothing at all."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from logbook.cases.desk import open_desk
from logbook.cases.engines import list_engines
from logbook.store.glance import VERSION, glance
from logbook.store.migrations import MIGRATIONS


def test_a_glance_shows_what_the_opened_book_shows(demo_book_path: Path) -> None:
    seen = glance(demo_book_path)
    desk = open_desk(demo_book_path, who="KL")
    listed = list_engines(desk)
    desk.close()
    assert seen is not None
    assert list(seen.engines) == listed
    assert seen.units == desk.units


def test_the_version_it_looks_for_is_the_newest_step() -> None:
    assert len(MIGRATIONS) == VERSION


def test_whatever_is_unusual_is_left_to_opening_the_book(tmp_path: Path) -> None:
    newer, text = tmp_path / "newer.db", tmp_path / "text.db"
    sqlite3.connect(newer).execute(f"PRAGMA user_version = {VERSION + 1}").connection.close()
    text.write_text("this is not a database, only words that somebody gave a wrong name")
    assert glance(newer) is None
    assert glance(text) is None
    assert glance(tmp_path / "missing.db") is None
    assert not (tmp_path / "missing.db").exists()
