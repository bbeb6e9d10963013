"""The writing part of a merge: rows of the other book and the decisions, in one transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Protocol

from logbook.records.ids import new_id
from logbook.store.reader import Reader
from logbook.store.scores import SCORE_COLUMNS
from logbook.store.sources import copy_of
from logbook.store.tables import BY_NOUN, Table
from logbook.store.two_books import TwoBooks

if TYPE_CHECKING:
    from logbook.store.merging import Plan

_ORDER = (
    "cell", "engine", "fuel", "build", "session", "air reading", "kind of source file",
    "build item", "inspection", "clearance", "calibration", "due mark", "attached file",
)  # fmt: skip
_TRACES = {
    "traces": "pull_id, samples, first_sample, last_sample",
    "channels": "pull_id, position, name, quantity, unit, decimals, si_unit, si_factor, si_offset,"
    " samples, base, width, digits, listed, crc32",
}
_SOURCE = "id, sha256, name, taken_at, signature, size_bytes"
_CHANGE = "id, at, who, what, why, undoes"
_FREED = "UPDATE {} SET withdrawn = 1 WHERE id = ?"
# Columns in which records in use must differ; the indexes say so for withdrawn = 0 only.
_UNIQUE = {"engines": {"tag"}, "pulls": {"session_id", "number"}, "source_kinds": {"signature"}}


class Merge(Protocol):
    """The change that a merge is: what is asked of it here. See `Change`."""

    at: str
    who: str
    why: str

    def count_samples(self, count: int) -> None: ...


def take_in(change: Merge, db: sqlite3.Connection, plan: Plan) -> None:
    """Write the union into this book, within `change`. The plan must have no open clash."""
    both = plan.both
    # Records refer to each other in circles (a baseline's pulls belong to the session): the
    # references are checked when the change is written as a whole.
    db.execute("PRAGMA defer_foreign_keys = ON")
    _free_unique(db, both)
    for noun in _ORDER:
        _enter(db, both, BY_NOUN[noun])
    _copy(db, both.there, "setups", "id, fingerprint", "id", plan.new_setups)
    levels = "setup_id, position, factor, factor_key, text, number, unit"
    _copy(db, both.there, "setup_levels", levels, "setup_id", plan.new_setups)
    _take_sources(db, both, plan.new_sources)
    pulls = BY_NOUN["pull"]
    _enter(db, both, pulls)
    for name, columns in _TRACES.items():
        _copy(db, both.there, name, columns, "pull_id", sorted(both.new[pulls.name]))
    longest = next(both.there.rows("SELECT coalesce(max(samples), 0) FROM traces"))[0]
    change.count_samples(int(longest))
    for (name, record_id), values in both.edits.items():
        if record_id not in both.new[name]:
            marks = ", ".join(f"{column} = ?" for column in values)
            db.execute(f"UPDATE {name} SET {marks} WHERE id = ?", [*values.values(), record_id])
    _copy(db, both.there, "scores", SCORE_COLUMNS, "pull_id", _true_scores(both))
    _take_trail(db, both, plan.changes)
    if both.lines:
        decided = new_id()
        db.execute(
            f"INSERT INTO audit_changes ({_CHANGE}) VALUES (?, ?, ?, ?, ?, NULL)",
            (decided, change.at, change.who, "Decided in a merge", change.why),
        )
        _lines(db, decided, both.lines)


def _free_unique(db: sqlite3.Connection, both: TwoBooks) -> None:
    """Two records may swap a number: those that change theirs let go of it first."""
    for (name, record_id), values in both.edits.items():
        if record_id in both.new[name] or not _UNIQUE.get(name, set()) & set(values):
            continue
        if "withdrawn" not in values:
            now = db.execute(f"SELECT withdrawn FROM {name} WHERE id = ?", (record_id,)).fetchone()
            values["withdrawn"] = now[0]
        db.execute(_FREED.format(name), (record_id,))
    for (name, record_id), values in both.edits.items():
        if record_id not in both.new[name] and values.get("withdrawn") == 1:
            db.execute(_FREED.format(name), (record_id,))


def _enter(db: sqlite3.Connection, both: TwoBooks, table: Table) -> None:
    marks = ", ".join("?" * len(table.stored))
    db.executemany(
        f"INSERT INTO {table.name} ({', '.join(table.stored)}) VALUES ({marks})",
        (tuple(both.row(table, record_id).values()) for record_id in sorted(both.new[table.name])),
    )


def _copy(
    db: sqlite3.Connection,
    there: Reader,
    name: str,
    columns: str,
    key: str,
    ids: Iterable[str],
) -> None:
    """Copy the rows of these ids as they are."""
    marks = ", ".join("?" * (columns.count(",") + 1))
    select = f"SELECT {columns} FROM {name} WHERE {key} = ?"
    db.executemany(
        f"INSERT INTO {name} ({columns}) VALUES ({marks})",
        (row for one in ids for row in there.rows(select, (one,))),
    )


def _take_sources(db: sqlite3.Connection, both: TwoBooks, ids: Iterable[str]) -> None:
    """Files that only the other book holds. An outline comes along with its trace; where this
    book has a trace of that pull already, the file is taken whole."""
    marks = ", ".join("?" * (_SOURCE.count(",") + 1))
    new = both.new[BY_NOUN["pull"].name]
    for source_id in ids:
        row = next(
            both.there.rows(
                f"SELECT {_SOURCE}, content_zlib, trace_pull_id FROM sources WHERE id = ?",
                (source_id,),
            )
        )
        *told, content, pull_id = row
        if pull_id is not None and pull_id not in new:
            content, pull_id = copy_of(both.there.source(source_id).content), None
        db.execute(
            f"INSERT INTO sources ({_SOURCE}, content_zlib, trace_pull_id) VALUES ({marks}, ?, ?)",
            (*told, content, pull_id),
        )


def _true_scores(both: TwoBooks) -> list[str]:
    """New pulls whose figures were computed from just what stands in the union."""
    leaning = both.there.rows(
        "SELECT p.id, p.session_id, s.engine_id, s.cell_id, p.air_id, p.fuel_id FROM pulls p"
        " JOIN sessions s ON s.id = p.session_id JOIN scores c ON c.pull_id = p.id ORDER BY p.id"
    )
    new = both.new["pulls"]
    return [row[0] for row in leaning if row[0] in new and not both.apart.intersection(row)]


def _take_trail(db: sqlite3.Connection, both: TwoBooks, changes: Iterable[str]) -> None:
    for change in changes:
        db.executemany(
            f"INSERT INTO audit_changes ({_CHANGE}) VALUES (?, ?, ?, ?, ?, ?)",
            both.there.rows(f"SELECT {_CHANGE} FROM audit_changes WHERE id = ?", (change,)),
        )
        _lines(
            db,
            change,
            both.there.rows(
                "SELECT record_type, record_id, field, old, new FROM audit_fields"
                " WHERE change_id = ? ORDER BY number",
                (change,),
            ),
            both,
        )


def _lines(
    db: sqlite3.Connection, change: str, lines: Iterable[Any], both: TwoBooks | None = None
) -> None:
    known = both.sources if both else {}
    db.executemany(
        "INSERT INTO audit_fields (change_id, record_type, record_id, field, old, new)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        (
            (change, noun, record_id, field, known.get(old, old), known.get(new, new))
            if field == "source_id"
            else (change, noun, record_id, field, old, new)
            for noun, record_id, field, old, new in lines
        ),
    )
