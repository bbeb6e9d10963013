"""Where two books disagree, kind by kind, and what each answer does.

Every detector looks at the records as they would stand together, asks, and applies the answer.
Nothing that either book lives with already is asked again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

from logbook.records.setup import factor_key
from logbook.store.tables import BY_NOUN, LINKS, Link, SqlValue, Table
from logbook.store.two_books import TwoBooks

ENGINES, CELLS, SESSIONS = BY_NOUN["engine"], BY_NOUN["cell"], BY_NOUN["session"]
PULLS, SOURCE_KINDS = BY_NOUN["pull"], BY_NOUN["kind of source file"]
ITEMS = BY_NOUN["build item"]
_BY_NAME = {table.name: table for table in BY_NOUN.values()}
_NAMED = ((ENGINES, "tag"), (CELLS, "name"))


def settle(both: TwoBooks) -> None:
    """Find every clash of the union but those of single fields, in the order they hang together."""
    for table, column in _NAMED:
        _names(both, table, column)
    _source_kinds(both)
    _same_file(both)
    _items(both)
    _in_use(both)
    _numbers(both)


def _active(both: TwoBooks, table: Table, column: str) -> Mapping[SqlValue, list[str]]:
    """Value of `column` → the two or more records in use that have it, names without case."""
    found: dict[SqlValue, list[str]] = {}
    for record_id, row in both.rows(table, (column, "withdrawn")):
        value = row[column]
        if not row["withdrawn"] and value is not None:
            key = str(value).casefold() if (table, column) in _NAMED else value
            found.setdefault(key, []).append(record_id)
    return {key: sorted(ids) for key, ids in found.items() if len(ids) > 1}


def _lived_with(both: TwoBooks, table: Table, ids: list[str], column: str) -> bool:
    """Whether one of the books has all of these in use with one value of `column` already."""
    for read in (both.here, both.there):
        rows = [both.stored(read, table, record_id) for record_id in ids]
        if all(row is not None and not row["withdrawn"] for row in rows):
            values = {str(row[column]).casefold() for row in rows if row is not None}
            if len(values) == 1:
                return True
    return False


def _sides(both: TwoBooks, table: Table, ids: list[str]) -> tuple[str, str]:
    """(this book's, the other's) of two records: the other's is the one that only it holds, or
    that it has changed; else the one entered later."""
    changed = [one for one in ids if (table.name, one) in both.edits]
    theirs = next((one for one in ids if both.is_new(table, one)), (changed or ids[1:])[0])
    return next(one for one in ids if one != theirs), theirs


def _names(both: TwoBooks, table: Table, column: str) -> None:
    """Two engines with one tag, two cells with one name."""
    for ids in _active(both, table, column).values():
        if _lived_with(both, table, ids, column):
            continue
        for younger in ids[1:]:
            pair = [ids[0], younger]
            mine, theirs = _sides(both, table, pair)
            said = both.ask(
                f"two {table.name} are called the same",
                (table.noun, *pair),
                both.called(table, mine),
                (_sheet(both, table, mine, theirs), _sheet(both, table, theirs, mine)),
                ("same", "here:NAME", "there:NAME"),
            )
            if said == "same":
                _become_one(both, table, ids[0], younger)
            elif said is not None:
                side, _, name = said.partition(":")
                named = mine if side == "here" else theirs
                both.decide(table, named, column, name.strip())


def _sheet(both: TwoBooks, table: Table, record_id: str, other: str) -> str:
    """What tells a record's sheet from the other's."""
    row, beside = both.row(table, record_id), both.row(table, other)
    said = [
        f"{name.replace('_', ' ')} {'—' if value in (None, '') else str(value)[:80]}"
        for name, value in row.items()
        if name not in ("id", "typed", "withdrawn") and value != beside[name]
    ]
    return f"{record_id[-6:]} ({', '.join(said) or 'the same sheet'})"


def _become_one(both: TwoBooks, table: Table, kept: str, gone: str) -> None:
    """Everything of the younger record is the older one's; the younger is taken back."""
    for link in LINKS:
        if link.target != table.name:
            continue
        owner = _BY_NAME[link.table]
        for record_id, row in list(both.rows(owner, (link.column,))):
            if row[link.column] == gone:
                both.decide(owner, record_id, link.column, kept)
    both.decide(table, gone, "withdrawn", 1)


def _source_kinds(both: TwoBooks) -> None:
    """What was answered for one kind of file: the same twice is one, different ones are asked."""
    for ids in _active(both, SOURCE_KINDS, "signature").values():
        older, younger = ids[0], ids[1]
        mine, theirs = _sides(both, SOURCE_KINDS, [older, younger])
        state = {one: _answers(both.row(SOURCE_KINDS, one)) for one in ids}
        if state[mine] == state[theirs]:
            both.decide(SOURCE_KINDS, younger, "withdrawn", 1)
            continue
        said = both.ask(
            "its torque or its columns are taken differently",
            ("kind", older, younger),
            f"files like {both.row(SOURCE_KINDS, mine)['name']}",
            (state[mine], state[theirs]),
            ("here", "there"),
        )
        if said is not None:
            both.decide(SOURCE_KINDS, theirs if said == "here" else mine, "withdrawn", 1)


def _answers(kind: Mapping[str, Any]) -> str:
    columns = str(kind["column_map"])
    return str(kind["torque_state"]) + ("" if columns == "{}" else f", columns {columns}")


def _same_file(both: TwoBooks) -> None:
    """The same samples of one file logged as two pulls; a log may well hold several."""
    for ids in _active(both, PULLS, "source_id").values():
        for pair in map(list, combinations(ids, 2)):
            if any(both.row(PULLS, one)["withdrawn"] for one in pair):
                continue  # settled with another pair already
            (a, b), (c, d) = (_span(both, one) for one in pair)
            if b < c or d < a or _lived_with(both, PULLS, pair, "source_id"):
                continue
            mine, theirs = _sides(both, PULLS, pair)
            said = both.ask(
                "one file was logged twice",
                ("file", *pair),
                both.called(PULLS, mine),
                (_pull(both, mine), _pull(both, theirs)),
                ("both", "here", "there"),
            )
            if said in ("here", "there"):
                both.decide(PULLS, theirs if said == "here" else mine, "withdrawn", 1)


def _span(both: TwoBooks, pull_id: str) -> tuple[float, float]:
    """First and last sample of its file that a pull takes; all of them where it has no trace."""
    row = both.row(PULLS, pull_id)
    read = both.there if both.is_new(PULLS, pull_id) else both.here
    trace = next(
        read.rows("SELECT first_sample, last_sample FROM traces WHERE pull_id = ?", (pull_id,)),
        None,
    )
    if trace is None:
        return 0, math.inf
    first = trace[0] if row["first_sample"] is None else row["first_sample"]
    last = trace[1] if row["last_sample"] is None else row["last_sample"]
    return row["first_in_file"] + first, row["first_in_file"] + last


def _pull(both: TwoBooks, pull_id: str) -> str:
    return f"{both.called(PULLS, pull_id)}, {both.row(PULLS, pull_id)['at']} ({pull_id[-6:]})"


def _items(both: TwoBooks) -> None:
    """One item of a build, entered in both books."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for item_id, row in both.rows(ITEMS, ("build_id", "system", "name", "withdrawn")):
        if not row["withdrawn"]:
            key = (str(row["build_id"]), factor_key(row["system"]), factor_key(row["name"]))
            found.setdefault(key, []).append(item_id)
    for ids in found.values():
        for younger in sorted(ids)[1:]:
            pair = [min(ids), younger]
            if _lived_with(both, ITEMS, pair, "build_id"):
                continue
            mine, theirs = _sides(both, ITEMS, pair)
            if _said(both, mine) == _said(both, theirs):
                both.decide(ITEMS, younger, "withdrawn", 1)
                continue
            said = both.ask(
                "one item of a build was entered in both books",
                ("item", *pair),
                both.called(ITEMS, mine),
                (_sheet(both, ITEMS, mine, theirs), _sheet(both, ITEMS, theirs, mine)),
                ("here", "there"),
            )
            if said is not None:
                both.decide(ITEMS, theirs if said == "here" else mine, "withdrawn", 1)


def _said(both: TwoBooks, item_id: str) -> dict[str, Any]:
    return {name: value for name, value in both.row(ITEMS, item_id).items() if name != "id"}


def _in_use(both: TwoBooks) -> None:
    """Taken back in one book, in use by a record of the other."""
    asked: set[str] = set()
    while True:
        leaning = next((found for found in _leaning(both) if found[1] not in asked), None)
        if leaning is None:
            return
        link, target_id, record_id = leaning
        asked.add(target_id)
        target, owner = _BY_NAME[link.target], _BY_NAME[link.table]
        namesake = _namesake(both, target, target_id)
        in_use = f"in use by {both.called(owner, record_id)}"
        taken_here = not both.is_new(target, target_id) and bool(
            (both.stored(both.here, target, target_id) or {}).get("withdrawn")
        )
        said = both.ask(
            "taken back in one book and in use in the other",
            ("use", target_id),
            both.called(target, target_id),
            ("taken back", in_use) if taken_here else (in_use, "taken back"),
            ("same",) if namesake else ("bring-back",),
        )
        if said == "same" and namesake:
            _become_one(both, target, namesake, target_id)
        elif said == "bring-back":
            both.decide(target, target_id, "withdrawn", 0)


def _leaning(both: TwoBooks) -> Iterator[tuple[Link, str, str]]:
    """(link, withdrawn target, record in use that leans on it), but for what stood so before."""
    for link in LINKS:
        owner, target = _BY_NAME[link.table], _BY_NAME[link.target]
        gone = {one for one, row in both.rows(target, ("withdrawn",)) if row["withdrawn"]}
        if not gone:
            continue
        for record_id, row in both.rows(owner, (link.column, "withdrawn")):
            target_id = row[link.column]
            if row["withdrawn"] or target_id not in gone:
                continue
            touched = both.is_new(owner, record_id) or (owner.name, record_id) in both.edits
            if touched or (target.name, str(target_id)) in both.edits:
                yield link, str(target_id), record_id


def _namesake(both: TwoBooks, table: Table, record_id: str) -> str | None:
    """The engine or cell in use that is called as this one was."""
    column = next((column for named, column in _NAMED if named is table), None)
    if column is None:
        return None
    name = str(both.row(table, record_id)[column]).casefold()
    return next(
        (
            other
            for other, row in both.rows(table, (column, "withdrawn"))
            if other != record_id and not row["withdrawn"] and str(row[column]).casefold() == name
        ),
        None,
    )


def _numbers(both: TwoBooks) -> None:
    """Pulls of one session that have one number; the later one gets the next free number."""
    sessions: dict[str, list[tuple[str, str, int]]] = {}
    for pull_id, row in both.rows(PULLS, ("session_id", "at", "number", "withdrawn")):
        if not row["withdrawn"]:
            of_session = sessions.setdefault(str(row["session_id"]), [])
            of_session.append((str(row["at"]), pull_id, int(str(row["number"]))))
    for session_id, pulls in sessions.items():
        taken: set[int] = set()
        later = []
        for at, pull_id, number in sorted(pulls):
            if number in taken:
                later.append((at, pull_id, number))
            taken.add(number)
        if not later:
            continue
        numbers = ", ".join(str(number) for number in sorted({one[2] for one in later}))
        said = both.ask(
            "pulls of one session have the same number",
            ("number", session_id),
            both.called(SESSIONS, session_id),
            (f"pulls {numbers}", f"other pulls {numbers}"),
            ("renumber",),
        )
        if said is not None:
            for _, pull_id, _ in later:
                free = max(taken) + 1
                taken.add(free)
                both.decide(PULLS, pull_id, "number", free)
