"""The audit trail: who changed what, when and why; and which changes are in effect."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from logbook.records.air import TYPED


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """One change as the audit trail has it. `undoes` is the change that this one took back,
    `undone_by` the one that took this back and is itself in effect."""

    group: str
    at: str
    who: str
    what: str
    why: str
    undoes: str | None
    undone_by: str | None


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a change: a field's old and new stored value, or (`field` ``None``) that
    the record was entered."""

    number: int
    record_type: str
    record_id: str
    field: str | None
    old: str | int | float | None
    new: str | int | float | None


def undone_by(db: sqlite3.Connection) -> dict[str, str]:
    """Change → the undo of it that is in effect (an undo that was undone itself is not)."""
    in_effect: dict[str, str] = {}
    # An undo is always later than what it undoes, so from the newest backwards each one's own
    # fate is known before it is applied.
    for group, undoes in db.execute(
        "SELECT id, undoes FROM audit_changes WHERE undoes IS NOT NULL ORDER BY number DESC"
    ):
        if group not in in_effect:
            in_effect[undoes] = group
    return in_effect


# Whether a line is an air reading that an instrument told: nobody did it.
_BY_ITSELF = (
    "f.record_type = 'air reading' AND f.field IS NULL AND EXISTS (SELECT 1 FROM airs a"
    f" WHERE a.id = f.record_id AND a.instrument <> '{TYPED}')"
)


def change_groups(
    db: sqlite3.Connection, *, limit: int, by_people: bool = False
) -> list[ChangeGroup]:
    """The last changes, newest first; those that somebody made where `by_people`: one that only
    enters air told by an instrument is passed over."""
    undone = undone_by(db)
    made = (
        " WHERE EXISTS (SELECT 1 FROM audit_fields f"
        f" WHERE f.change_id = c.id AND NOT ({_BY_ITSELF}))"
    )
    rows = db.execute(
        "SELECT id, at, who, what, why, undoes FROM audit_changes c"
        f"{made if by_people else ''} ORDER BY number DESC LIMIT ?",
        (limit,),
    )
    return [_group(row, undone) for row in rows]


def _group(row: tuple[Any, ...], undone: Mapping[str, str]) -> ChangeGroup:
    group, at, who, what, why, undoes = row
    return ChangeGroup(group, at, who, what, why, undoes, undone.get(group))


def change_group(db: sqlite3.Connection, group: str) -> ChangeGroup | None:
    """One change, or ``None``."""
    row = db.execute(
        "SELECT id, at, who, what, why, undoes FROM audit_changes WHERE id = ?", (group,)
    ).fetchone()
    return None if row is None else _group(row, undone_by(db))


def entries(db: sqlite3.Connection, group: str) -> list[Entry]:
    """The lines of a change, in the order they were made."""
    rows = db.execute(
        "SELECT number, record_type, record_id, field, old, new FROM audit_fields"
        " WHERE change_id = ? ORDER BY number",
        (group,),
    )
    return [Entry(*row) for row in rows]


def later_change(db: sqlite3.Connection, group: str, entry: Entry) -> ChangeGroup | None:
    """The last later change, still in effect, of the same field of the same record; of any of
    its fields where `entry` says that the record was entered.

    A change that was undone later than `group`, together with its undo, counts for nothing.
    """
    undone = undone_by(db)
    started = db.execute("SELECT number FROM audit_changes WHERE id = ?", (group,)).fetchone()[0]
    rows = db.execute(
        "SELECT DISTINCT c.id, c.undoes, (SELECT t.number FROM audit_changes t"
        " WHERE t.id = c.undoes) FROM audit_fields f JOIN audit_changes c ON c.id = f.change_id"
        " WHERE f.record_type = ?1 AND f.record_id = ?2 AND (?3 IS NULL OR f.field = ?3)"
        " AND c.number > ?4"
        " ORDER BY c.number DESC",
        (entry.record_type, entry.record_id, entry.field, started),
    )
    for other, undoes, target_number in rows.fetchall():
        came_to_nothing = other in undone or (undoes is not None and target_number > started)
        if not came_to_nothing:
            return change_group(db, other)
    return None
