"""Undo: a change inverted line by line, as a new change."""

from __future__ import annotations

import sqlite3
from typing import Any, Protocol, TypeVar

from logbook.records.air import TYPED, AirReading
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.refusals import Conflict, NotFound
from logbook.store.audit import ChangeGroup, Entry, change_group, entries, later_change
from logbook.store.tables import BY_NOUN, Identified, SqlValue, Table, table_of

R = TypeVar("R", bound=Identified)


class Undo(Protocol):
    """The change that takes back: what is asked of it here. See `Change`."""

    def get(self, record: type[R], record_id: str) -> R: ...
    def find_one(self, record: type[R], **fields: Any) -> R | None: ...
    def next_number(self, session_id: str) -> int: ...
    def set_columns(self, table: Table, record_id: str, new: dict[str, SqlValue]) -> bool: ...
    def check_leaning(self, table: Table, record_id: str) -> None: ...


def sentence(db: sqlite3.Connection, undone: ChangeGroup) -> str:
    """What the undo of a change is called: the change itself is named, not its undo's undo."""
    first, turns = undone, 0
    while first.undoes is not None:
        before = change_group(db, first.undoes)
        if before is None:
            break
        first, turns = before, turns + 1
    return f"{'Done again' if turns % 2 else 'Taken back'}: {first.what}"


def take_back(change: Undo, db: sqlite3.Connection, group: str) -> ChangeGroup:
    """Invert the change `group` within `change`. Entered records are withdrawn.

    Raises `NotFound` for an unknown group; `Conflict` where it was already taken back, where a
    later change touched the same fields, or where other records still lean on what it entered.
    """
    undone = change_group(db, group)
    if undone is None:
        raise NotFound(f"this book knows no change {group}")
    if undone.undone_by is not None:
        raise Conflict(f"“{undone.what}” was already taken back")
    lines = entries(db, group)
    told = [line for line in lines if line.record_type not in BY_NOUN]
    if told:  # of a merge or a rescue
        backup = next((line.new for line in told if line.field == "backup"), None)
        raise Conflict(
            f"“{undone.what}” cannot be taken back as one change",
            wanted=f"the book as it was before: {backup}" if backup else None,
        )
    for line in lines:
        _check_untouched(db, undone, line)
    touched: dict[tuple[str, str], dict[str, SqlValue]] = {}
    # From the last line to the first, so that a field set twice gets back its first value.
    for line in reversed(lines):
        values = touched.setdefault((line.record_type, line.record_id), {})
        if line.field is None:
            values["withdrawn"] = 1
        else:
            values[line.field] = line.old
    _take_told_air_along(db, touched)
    for (noun, record_id), values in touched.items():
        table = BY_NOUN[noun]
        if table.record is Pull and values.get("withdrawn") == 0:
            _free_number(change, record_id, values)
        change.set_columns(table, record_id, values)
    for noun, record_id in touched:
        change.check_leaning(BY_NOUN[noun], record_id)
    return undone


def _take_told_air_along(
    db: sqlite3.Connection, touched: dict[tuple[str, str], dict[str, SqlValue]]
) -> None:
    """Air that an instrument told goes with the session that it was told in: nobody entered it,
    so nobody can take it back first."""
    for (noun, session_id), values in list(touched.items()):
        if BY_NOUN[noun].record is Session and values.get("withdrawn") == 1:
            told = db.execute(
                "SELECT id FROM airs WHERE session_id = ? AND withdrawn = 0 AND instrument <> ?",
                (session_id, TYPED),
            )
            for (air_id,) in told.fetchall():
                touched.setdefault((table_of(AirReading).noun, air_id), {})["withdrawn"] = 1


def _check_untouched(db: sqlite3.Connection, undone: ChangeGroup, line: Entry) -> None:
    table = BY_NOUN[line.record_type]
    later = later_change(db, undone.group, line)
    if later is None and line.field is not None:
        now = _stored(db, table, line)
        last = _last_value(db, undone.group, line)
        if now != last:
            raise Conflict(
                f"“{undone.what}” cannot be taken back: the {table.noun}'s"
                f" {line.field.replace('_', ' ')} was changed outside the logbook since"
            )
    if later is not None:
        what = "" if line.field is None else f" ({line.field.replace('_', ' ')})"
        raise Conflict(
            f"“{undone.what}” cannot be taken back: “{later.what}” ({later.who}) later changed the"
            f" same {table.noun}{what}",
            wanted="take that back first",
        )


def _stored(db: sqlite3.Connection, table: Table, line: Entry) -> SqlValue:
    row = db.execute(
        f"SELECT {line.field} FROM {table.name} WHERE id = ?", (line.record_id,)
    ).fetchone()
    value: SqlValue = None if row is None else row[0]
    return value


def _last_value(db: sqlite3.Connection, group: str, line: Entry) -> SqlValue:
    """What the change itself left in the field: it may have set it more than once."""
    row = db.execute(
        "SELECT new FROM audit_fields WHERE change_id = ? AND record_type = ? AND record_id = ?"
        " AND field = ? ORDER BY number DESC LIMIT 1",
        (group, line.record_type, line.record_id, line.field),
    ).fetchone()
    value: SqlValue = row[0]
    return value


def _free_number(change: Undo, pull_id: str, values: dict[str, SqlValue]) -> None:
    """A pull that comes back takes the next free number where its own was given away."""
    pull = change.get(Pull, pull_id)
    taken = change.find_one(Pull, session_id=pull.session_id, number=pull.number)
    if taken is not None:
        values["number"] = change.next_number(pull.session_id)
