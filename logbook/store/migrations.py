"""Dated steps from one shape of the book to the next, never edited once released.

A step and its record are one immediate transaction. Triggers and views are made again after
each step, since rebuilding a table drops them without a word. A book that knows steps this
program does not know is newer: it is refused untouched.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from logbook.refusals import BookTrouble
from logbook.store.schema import RECORDS
from logbook.store.schema_engine_file import ENGINE_FILE, STATED_DISPLACEMENT
from logbook.store.schema_kept import KEPT
from logbook.store.schema_landings import (
    BEST_OF_A_KIND,
    COLUMN_MAPS,
    LANDINGS,
    PARTS,
    PLANS_NOT_SEARCHED,
)
from logbook.store.schema_outlines import OUTLINES
from logbook.store.triggers import TRIGGERS, trigger_table
from logbook.store.views import VIEWS

# "DYNO": marks the file as a logbook for programs that look at the header.
APPLICATION_ID = 0x44594E4F


ENGINE_FILE_STEP = "2026-11-27-engine-file"


@dataclass(frozen=True, slots=True)
class Migration:
    """One step. `name` begins with its date; `why` says what it is for."""

    name: str
    why: str
    script: str


MIGRATIONS: tuple[Migration, ...] = (
    Migration(
        "2026-01-01-first-book",
        "cells, engines, builds, fuels, sessions, set-ups, air, pulls, traces, sources, scores, "
        "the audit trail and the search index",
        RECORDS + KEPT,
    ),
    Migration(
        "2026-11-25-landings",
        "watched folders and the files that landed in them, so that no restart takes one twice",
        LANDINGS,
    ),
    Migration(
        "2026-11-25-parts-of-a-file",
        "one time log may hold several pulls, and their edges can be moved",
        PARTS,
    ),
    Migration(
        "2026-11-25-column-maps",
        "columns that a header does not explain are named once for a kind of file",
        COLUMN_MAPS,
    ),
    Migration(
        "2026-11-25-best-of-a-kind",
        "the best of a session is a band average where it has any; a peak never stands beside one",
        BEST_OF_A_KIND,
    ),
    Migration(
        ENGINE_FILE_STEP,
        "what is in a build, inspections, calibrations, due marks and attached files",
        ENGINE_FILE,
    ),
    Migration(
        "2026-11-27-stated-displacement",
        "the displacement an engine is known by, to catch a wrong bore or stroke",
        STATED_DISPLACEMENT,
    ),
    Migration(
        "2026-11-28-plans-not-searched",
        "an accepted plan is kept as JSON, and its keys are nobody's words to search for",
        PLANS_NOT_SEARCHED,
    ),
    Migration(
        "2026-11-28-outlines",
        "a file whose numbers are those of its trace is kept as what is left without them",
        OUTLINES,
    ),
)

_RECORD = """
CREATE TABLE IF NOT EXISTS migrations (
  step INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  why TEXT NOT NULL,
  applied_at TEXT NOT NULL
) STRICT;
"""


def statements(script: str) -> Iterator[str]:
    """The single statements of a script, a trigger's body kept whole."""
    part = ""
    for line in script.splitlines():
        part += line + "\n"
        if part.strip() and sqlite3.complete_statement(part):
            yield part.strip()
            part = ""
    if part.strip():
        yield part.strip()


def pending(db: sqlite3.Connection, path: Path) -> tuple[Migration, ...]:
    """The steps this book still needs. Only reads.

    Raises `BookTrouble` for a newer book, and for a database that is not a logbook.
    """
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    if version == 0:
        foreign = db.execute("SELECT name FROM sqlite_schema LIMIT 1").fetchone()
        if foreign is not None:
            raise BookTrouble(
                f"this database is not a logbook (it holds {foreign[0]!r})",
                where=str(path),
                wanted="a book made by this program",
            )
        return MIGRATIONS
    application = int(db.execute("PRAGMA application_id").fetchone()[0])
    if application != APPLICATION_ID:
        raise BookTrouble(
            "this database is not a logbook", where=str(path), wanted="a book made by this program"
        )
    known = [migration.name for migration in MIGRATIONS]
    applied = [str(row[0]) for row in db.execute("SELECT name FROM migrations ORDER BY step")]
    if version > len(known) or applied != known[: len(applied)]:
        raise BookTrouble(
            "this book was written by a newer version of the logbook; it was left untouched",
            where=str(path),
            wanted="the newer version of this program",
        )
    return MIGRATIONS[version:]


def migrate(
    db: sqlite3.Connection,
    path: Path,
    keep_copy: Callable[[Migration], object] | None = None,
    *,
    steps: int | None = None,
) -> None:
    """Bring the book to this version; `keep_copy` is called before a step on a book in use.

    `steps` makes only so many, for an archive of an older book.
    """
    in_use = db.execute("PRAGMA user_version").fetchone()[0] > 0
    for migration in pending(db, path)[:steps]:
        if keep_copy is not None and in_use:
            keep_copy(migration)
        _step(db, path, migration)


def _step(db: sqlite3.Connection, path: Path, migration: Migration) -> None:
    # A table that others refer to can only be rebuilt with the checks off; they are made below.
    db.execute("PRAGMA foreign_keys = OFF")
    db.execute("BEGIN IMMEDIATE")
    try:
        # Another process may have made the step while this one waited.
        if migration in pending(db, path):
            drop_made(db)
            for statement in statements(migration.script):
                db.execute(statement)
            make_again(db)
            _record(db, migration)
            broken = db.execute("PRAGMA foreign_key_check").fetchone()
            if broken is not None:
                raise BookTrouble(
                    f"the step {migration.name} would break a reference in {broken[0]};"
                    " it was not made",
                    where=str(path),
                )
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
    finally:
        db.execute("PRAGMA foreign_keys = ON")


def _record(db: sqlite3.Connection, migration: Migration) -> None:
    step = MIGRATIONS.index(migration) + 1
    for statement in statements(_RECORD):
        db.execute(statement)
    db.execute(
        "INSERT INTO migrations (step, name, why, applied_at) VALUES (?, ?, ?, ?)",
        (step, migration.name, migration.why, datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")),
    )
    db.execute(f"PRAGMA user_version = {step}")
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def drop_made(db: sqlite3.Connection) -> None:
    """Drop every view and trigger."""
    made = db.execute(
        "SELECT type, name FROM sqlite_schema WHERE type IN ('trigger', 'view')"
    ).fetchall()
    for kind, name in made:
        quoted = '"' + str(name).replace('"', '""') + '"'
        db.execute(f"DROP {kind.upper()} IF EXISTS {quoted}")


def make_again(db: sqlite3.Connection) -> None:
    """Make every view and trigger anew, but for triggers of tables that a later step makes."""
    drop_made(db)
    tables = {row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    for statement in (*VIEWS, *(made for made in TRIGGERS if trigger_table(made) in tables)):
        db.execute(statement.strip())


def expected() -> dict[str, str]:
    """Name → statement of every trigger and view that a whole book has."""
    return {text.split(maxsplit=3)[2]: text for text in (s.strip() for s in (*VIEWS, *TRIGGERS))}
