"""Steps from one shape of the book to the next: recorded, backed up, all or nothing."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from logbook.records.engine import Engine
from logbook.records.ids import new_id
from logbook.refusals import BookTrouble
from logbook.store import migrations
from logbook.store.book import Book
from logbook.store.migrations import MIGRATIONS, Migration, expected, statements
from logbook.store.safety import verify

TRIGGERS = {
    "audit_changes_no_delete", "audit_changes_no_update", "audit_fields_no_delete",
    "audit_fields_no_update", "airs_kept", "builds_kept", "cells_kept", "engines_kept",
    "fuels_kept", "landings_pulls_insert", "landings_pulls_update", "pulls_kept", "sessions_kept",
    "traces_kept", "traces_no_update", "channels_no_delete",
    "channels_no_update", "setup_levels_no_delete", "setup_levels_no_update", "setups_no_delete",
    "setups_no_update", "sources_no_delete", "sources_no_update", "baseline_insert",
    "baseline_update", "scores_after_airs", "scores_after_cells", "scores_after_engines",
    "scores_after_pulls", "scores_after_sessions", "scores_after_traces",
    "scores_after_traces_insert", "search_builds_update",
    "search_engines_update", "search_fuels_update", "search_index_delete", "search_index_insert",
    "search_index_update", "search_pulls_insert", "search_pulls_update", "search_sessions_update",
    "search_setup_levels_insert", "stamp_airs_insert", "stamp_airs_update", "stamp_cells_update",
    "stamp_engines_update", "stamp_fuels_update", "stamp_pulls_insert", "stamp_pulls_moved",
    "stamp_pulls_update", "stamp_sessions_insert", "stamp_sessions_update", "stamp_traces_insert",
    "stamp_traces_update", "totals_pulls_insert", "totals_pulls_update", "totals_scores_delete",
    "totals_scores_insert", "totals_scores_update", "totals_sessions_insert",
    "attachments_kept", "build_items_kept", "calibrations_kept", "clearances_kept",
    "due_marks_kept", "inspections_kept", "scores_after_calibrations",
    "search_attachments_insert", "search_attachments_moved", "search_attachments_update",
    "search_build_items_insert", "search_build_items_moved", "search_build_items_update",
    "search_inspections_insert", "search_inspections_moved", "search_inspections_update",
    "stamp_calibrations_insert", "stamp_calibrations_update",
}  # fmt: skip
VIEWS = {
    "search_texts", "trace_points", "corrected_pulls", "set_up_levels", "audit_trail",
    "build_sheets", "inspected_cylinders", "calibration_points", "pull_calibrations",
    "attached_files",
}  # fmt: skip


def names(path: Path, kind: str) -> set[str]:
    with closing(sqlite3.connect(path)) as db:
        return {
            str(row[0])
            for row in db.execute("SELECT name FROM sqlite_schema WHERE type = ?", (kind,))
        }


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A closed book with one engine in it."""
    path = tmp_path / "shop.db"
    with Book.open(path) as book, book.changing(who="x", what="Entered") as change:
        change.insert(Engine(new_id(), "Otter"))
    return path


def add_step(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    step = Migration("2027-01-01-test-step", "for this test", script)
    monkeypatch.setattr(migrations, "MIGRATIONS", (*MIGRATIONS, step))


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_book_has_every_trigger_and_view(path: Path) -> None:
    assert names(path, "trigger") == TRIGGERS
    assert names(path, "view") == VIEWS
    assert set(expected()) == TRIGGERS | VIEWS


def test_every_step_is_dated_and_says_why(path: Path) -> None:
    assert [step.name[:10] for step in MIGRATIONS] == sorted(step.name[:10] for step in MIGRATIONS)
    with closing(sqlite3.connect(path)) as db:
        rows = db.execute("SELECT step, name, why FROM migrations").fetchall()
        assert db.execute("PRAGMA user_version").fetchone() == (len(MIGRATIONS),)
    assert rows == [(n, step.name, step.why) for n, step in enumerate(MIGRATIONS, start=1)]


def test_a_step_keeps_a_copy_and_makes_triggers_and_views_again(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Rebuilding a table drops its triggers without a word.
    add_step(
        monkeypatch,
        "CREATE TABLE tools (id TEXT);\nCREATE TABLE again AS SELECT * FROM session_totals;\n"
        "DROP TABLE session_totals;\nALTER TABLE again RENAME TO session_totals;\n"
        "CREATE UNIQUE INDEX session_totals_key ON session_totals(session_id);",
    )
    with Book.open(path, now=lambda: "2027-01-02T08:00:00.000Z") as book:
        assert verify(book) == []
    assert names(path, "trigger") == TRIGGERS
    assert names(path, "view") == VIEWS
    assert "tools" in names(path, "table")
    copy = path.parent / "shop-backups" / "shop-20270102T080000-before-2027-01-01-test-step.db"
    assert "tools" not in names(copy, "table")
    with closing(sqlite3.connect(copy)) as db:
        assert db.execute("SELECT tag FROM engines").fetchall() == [("Otter",)]


def test_a_step_that_fails_changes_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    add_step(monkeypatch, "CREATE TABLE tools (id TEXT);\nINSERT INTO nowhere VALUES (1);")
    with pytest.raises(BookTrouble, match="nowhere"):
        Book.open(path)
    monkeypatch.undo()
    assert "tools" not in names(path, "table")
    with Book.open(path) as book:
        assert verify(book) == []


def test_a_step_that_would_break_a_reference_is_not_made(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_step(
        monkeypatch,
        "INSERT INTO builds (id, engine_id, label) VALUES ('b', 'nobody', 'x');",
    )
    with pytest.raises(BookTrouble, match="would break a reference in builds"):
        Book.open(path)
    monkeypatch.undo()
    with Book.open(path) as book:
        assert verify(book) == []


def test_a_new_book_needs_no_copy(tmp_path: Path) -> None:
    Book.open(tmp_path / "new.db").close()
    assert [file.name for file in tmp_path.iterdir()] == ["new.db"]


@pytest.mark.parametrize(
    "sql",
    [
        "PRAGMA user_version = 99",
        "INSERT INTO migrations VALUES (99, '2031-01-01-later', 'x', 'y');PRAGMA user_version = 99",
        "UPDATE migrations SET name = '2031-01-01-other' WHERE step = 1",
    ],
)
def test_a_newer_book_is_refused_untouched(path: Path, sql: str) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.executescript(sql)
    before = digest(path)
    with pytest.raises(BookTrouble, match="newer version") as refused:
        Book.open(path)
    assert refused.value.wanted == "the newer version of this program"
    assert digest(path) == before


@pytest.mark.parametrize("sql", ["CREATE TABLE recipes (id)", "PRAGMA user_version = 1"])
def test_another_programs_database_is_refused_untouched(tmp_path: Path, sql: str) -> None:
    path = tmp_path / "recipes.db"
    with closing(sqlite3.connect(path)) as db:
        db.execute(sql)
    before = digest(path)
    with pytest.raises(BookTrouble, match="not a logbook"):
        Book.open(path)
    assert digest(path) == before


def test_a_trigger_stays_one_statement() -> None:
    script = "CREATE TABLE a (b);\nCREATE TRIGGER t AFTER INSERT ON a BEGIN\nSELECT 1;\nEND;\n"
    assert [text.split()[1] for text in statements(script)] == ["TABLE", "TRIGGER"]
