"""Backups are whole and never overwrite; verify finds whatever is wrong."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from logbook.records.engine import Engine
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.trace import Channel, Source, Trace
from logbook.refusals import BookTrouble, Conflict
from logbook.store.book import Book
from logbook.store.safety import backup, verify
from tests.store.conftest import OPENED, Shop

CONTENT = b"rpm;torque\n3000;301.5\n" * 30
SHA256 = "81ef80aa5b5ba4f3e8a9cb5bce7aa0a7e1a9a6bd1b7a3c7c0d5a0b9f7d9d6a11"


def full(shop: Shop) -> Pull:
    """A pull with everything that verify looks at."""
    import hashlib

    source = Source(
        new_id(), hashlib.sha256(CONTENT).hexdigest(), "run1.csv", OPENED, CONTENT, "rpm;torque"
    )
    with shop.book.changing(who="x") as change:
        change.put_source(source)
    pull = shop.pull(power_kw=100.0, source_id=source.id)
    values = np.array([301.5, np.nan, 302.0])
    with shop.book.changing(who="x") as change:
        change.put_trace(pull.id, Trace((Channel("torque", "torque", "Nm", values, 1),), 0, 2))
    return pull


def test_a_backup_holds_everything_in_one_file(shop: Shop, tmp_path: Path) -> None:
    pull = full(shop)
    copy = backup(shop.book, tmp_path / "safe" / "copy.db")
    assert [file.name for file in copy.parent.iterdir()] == ["copy.db"]
    with Book.open(copy) as book:
        assert verify(book) == []
        with book.reading() as read:
            assert read.get(Pull, pull.id) == pull
            assert read.trace(pull.id) is not None


def test_a_backup_into_a_folder_is_named_after_the_book_and_the_time(
    shop: Shop, tmp_path: Path
) -> None:
    shop.book.now = lambda: "2026-03-14T18:30:05.000Z"
    assert backup(shop.book, tmp_path).name == "shop-20260314T183005.db"


def test_a_backup_never_overwrites(shop: Shop, tmp_path: Path) -> None:
    other = tmp_path / "precious.txt"
    other.write_text("do not lose me")
    for target in (other, shop.book.path):
        with pytest.raises(Conflict, match="a file of this name exists"):
            backup(shop.book, target)
    assert other.read_text() == "do not lose me"


def test_a_backup_that_cannot_be_written_leaves_nothing(shop: Shop, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    with pytest.raises(BookTrouble, match="the copy cannot be written"):
        backup(shop.book, blocked / "copy.db")
    assert sorted(file.name for file in tmp_path.glob("*unfinished*")) == []


def test_a_backup_is_made_while_somebody_writes(shop: Shop, tmp_path: Path) -> None:
    full(shop)
    with shop.book.changing(who="x") as change:
        change.insert(Engine(new_id(), "Heron"))
        copy = backup(shop.book, tmp_path / "copy.db")
    with closing(sqlite3.connect(copy)) as db:
        assert db.execute("SELECT tag FROM engines").fetchall() == [("Otter",)]


def test_a_whole_book_has_nothing_wrong(shop: Shop) -> None:
    full(shop)
    assert verify(shop.book) == []


SPOILED = [
    ("DROP TRIGGER pulls_kept", "the trigger pulls_kept is missing"),
    ("DROP VIEW corrected_pulls", "the view corrected_pulls is missing"),
    (
        "DROP VIEW set_up_levels; CREATE VIEW set_up_levels AS SELECT 1",
        "the view set_up_levels was altered",
    ),
    (
        "DROP TRIGGER search_sessions_update; UPDATE sessions SET purpose = 'quince'",
        "its search text is stale",
    ),
    ("DELETE FROM search_documents", "its search text is missing"),
    (
        "DROP TRIGGER search_pulls_update; UPDATE pulls SET withdrawn = 1",
        "taken back but is still searched",
    ),
    (
        "DROP TRIGGER search_index_update; UPDATE search_documents SET text = 'quince'",
        "the search index does not fit",
    ),
    ("UPDATE session_totals SET best_power_kw = 999", "its totals in the lists are wrong"),
    ("DELETE FROM session_totals", "its totals in the lists are wrong"),
    (
        "PRAGMA foreign_keys = OFF; INSERT INTO baseline_pulls SELECT id, 'nowhere' FROM sessions",
        "differ in pull nowhere",
    ),
    (
        "PRAGMA foreign_keys = OFF; UPDATE pulls SET fuel_id = 'nowhere'",
        "a row of pulls refers to something that is not in fuels",
    ),
    (
        "DROP TRIGGER setup_levels_no_update; UPDATE setup_levels SET number = 31",
        "its factors are not those it was entered with",
    ),
    (
        "DROP TRIGGER sources_no_update; UPDATE sources SET content_zlib = x'0102'",
        "source file run1.csv: it cannot be unpacked",
    ),
    (
        f"DROP TRIGGER sources_no_update; UPDATE sources SET sha256 = '{SHA256}'",
        "source file run1.csv: its bytes do not have the hash",
    ),
    (
        "DROP TRIGGER channels_no_update; UPDATE channels SET digits = replace(digits, '0', 'x')",
        "channel torque cannot be read",
    ),
    (
        "DROP TRIGGER channels_no_update; UPDATE channels SET digits = '1', samples = 1, width = 1",
        "channel torque has 1 of 3 samples",
    ),
    (
        "DROP TRIGGER channels_no_update; UPDATE channels SET digits = '9'||substr(digits, 2)",
        "channel torque is not as it was stored",
    ),
    ("DELETE FROM sample_numbers WHERE sample = 1", "sample_numbers has gaps"),
    (
        "PRAGMA ignore_check_constraints = ON; UPDATE pulls SET knock = 'loud'",
        "CHECK constraint failed",
    ),
]


@pytest.mark.parametrize(("sql", "said"), SPOILED)
def test_verify_says_what_is_wrong(shop: Shop, sql: str, said: str) -> None:
    full(shop)
    with closing(sqlite3.connect(shop.book.path)) as db:
        db.executescript(sql)
    assert [line for line in verify(shop.book) if said in line]


def test_verify_writes_nothing(shop: Shop) -> None:
    full(shop)
    before = shop.plain_sql("SELECT total_changes(), count(*) FROM audit_changes")
    version = shop.book.data_version()
    verify(shop.book)
    assert shop.book.data_version() == version
    assert shop.plain_sql("SELECT total_changes(), count(*) FROM audit_changes") == before
