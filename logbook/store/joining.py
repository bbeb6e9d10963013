"""Records that both books hold, joined field by field."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from logbook.store import lineage
from logbook.store.tables import BY_NOUN, Table
from logbook.store.two_books import Row, TwoBooks


def join(both: TwoBooks, table: Table) -> None:
    """Tell what is new, and join field by field what both books hold."""
    sql = f"SELECT {', '.join(table.stored)} FROM {table.name} ORDER BY id"
    mine = both.here.rows(sql)
    ours = next(mine, None)
    for values in both.there.rows(sql):
        while ours is not None and ours[0] < values[0]:
            ours = next(mine, None)
        if ours is None or ours[0] != values[0]:
            both.new[table.name].add(values[0])
            continue
        here: Row = dict(zip(table.stored, ours, strict=True))
        there: Row = dict(zip(table.stored, values, strict=True))
        both.translate(there)
        if here != there:
            _join_record(both, table, here, there)


def _join_record(both: TwoBooks, table: Table, here: Row, there: Row) -> None:
    record_id = str(here["id"])
    apart = lineage.differing(table, here, there)
    if not apart:
        return  # what was typed stands in another order
    mine = lineage.edits(both.here, table, record_id)
    theirs = lineage.edits(both.there, table, record_id)
    final, loser = dict(here), dict(here)
    for unit, columns in apart.items():
        newer = _newer(unit, (here, mine), (there, theirs))
        if newer is there:
            _take(final, there, columns)
            _take(loser, there, columns)
        elif newer is None:
            edited = mine.get(unit) or theirs.get(unit)
            said = both.ask(
                "changed in both books" if edited else "changed outside the logbook",
                (table.noun, record_id, unit),
                f"{both.called(table, record_id)}, {unit.replace('_', ' ')}",
                (_values(here, columns), _values(there, columns)),
                ("here", "there"),
            )
            if said == "there":
                _take(final, there, columns)
            elif said == "here":
                _take(loser, there, columns)
            if said is not None:
                # Told even where the value here stays: this change has seen both versions.
                both.lines += [
                    (table.noun, record_id, column, loser[column], final[column])
                    for column in columns
                    if column in final
                ]
    if lineage.TYPED in final:
        a, b = mine.get(lineage.TYPED, set()), theirs.get(lineage.TYPED, set())
        mixed = not (a <= b or b <= a)
        if mixed or final[lineage.TYPED] != loser[lineage.TYPED]:
            # An undo of either side's change must not carry the other's typed text off.
            both.lines.append(
                (table.noun, record_id, lineage.TYPED, loser[lineage.TYPED], final[lineage.TYPED])
            )
    changed = {name: value for name, value in final.items() if value != here[name]}
    if changed:
        both.set(table, record_id, changed)
    if lineage.differing(table, final, there):
        both.apart.add(record_id)


def _newer(
    unit: str, here: tuple[Row, dict[str, set[str]]], there: tuple[Row, dict[str, set[str]]]
) -> Row | None:
    """The version of a unit that was made with the other in view; ``None`` where neither was.

    A record taken back by somebody who had not seen a change of the other book counts as that.
    """
    (mine, my_edits), (theirs, their_edits) = here, there
    a, b = my_edits.get(unit, set()), their_edits.get(unit, set())
    if a < b:
        newer, newest, unseen = theirs, their_edits, my_edits
    elif b < a:
        newer, newest, unseen = mine, my_edits, their_edits
    else:
        return None
    if unit == "withdrawn" and newer[unit]:
        seen = set().union(*newest.values())
        if not set().union(*unseen.values()) <= seen:
            return None
    return newer


def _take(row: Row, other: Row, columns: Iterable[str]) -> None:
    """Let `row` have the other's columns; ``typed:FIELD`` is one text of what was typed."""
    for column in columns:
        head, colon, key = column.partition(":")
        if not colon:
            row[column] = other[column]
            continue
        typed, texts = lineage.typed_of(row), lineage.typed_of(other)
        typed.pop(key, None)
        if key in texts:
            typed[key] = texts[key]
        row[head] = json.dumps(typed, ensure_ascii=False)


def _values(row: Row, columns: Iterable[str]) -> str:
    typed = lineage.typed_of(row)
    said = []
    for column in columns:
        head, colon, key = column.partition(":")
        value = typed.get(key, "—") if colon else row[column]
        if colon and value == row.get(key):
            continue  # a text reads as it was typed
        name = f"typed as {key}" if colon else head
        said.append(f"{name.replace('_', ' ')} {'—' if value is None else str(value)[:200]}")
    return ", ".join(said)


def check_traces(both: TwoBooks) -> None:
    """What was measured is never edited: where it differs, one of the books is spoiled."""
    sql = "SELECT pull_id, samples, first_sample, last_sample FROM traces"
    mine = {row[0]: row[1:] for row in both.here.rows(sql)}
    pulls = BY_NOUN["pull"]
    for pull_id, *theirs in both.there.rows(sql):
        known = mine.get(pull_id)
        if both.is_new(pulls, pull_id) or known == tuple(theirs):
            continue
        both.ask(
            "its trace was changed outside the logbook",
            ("trace", pull_id),
            both.called(pulls, pull_id),
            (_trace(known), _trace(theirs)),
            ("here",),
        )


def _trace(bounds: Sequence[Any] | None) -> str:
    if bounds is None:
        return "no trace"
    return f"{bounds[0]} samples, taken from {bounds[1]} to {bounds[2]}"
