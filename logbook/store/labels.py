"""What people call a record: its tag, name or number, with what it belongs to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from logbook.records.times import day_in
from logbook.store.reader import Reader
from logbook.store.tables import BY_NOUN, Table, table_of

Lookup = Callable[[Table, str], Mapping[str, Any]]


def called(look: Lookup, table: Table, record_id: str) -> str:
    """The name of a record, such as ``pull 4 of RB-2, 2026-03-14``.

    `look` gives the stored row of a record of the book that is spoken of.
    """
    row = look(table, record_id)
    match table.noun:
        case "engine":
            return f"engine {row['tag']}"
        case "build":
            return _build(look, record_id)
        case "fuel":
            return f"fuel {row['name']} {row['batch']}".strip()
        case "session":
            return f"session {_session(look, record_id)}"
        case "pull":
            return f"pull {row['number']} of {_session(look, str(row['session_id']))}"
        case "build item":
            return f"{row['system']}, {row['name']} of {_build(look, row['build_id'])}"
        case "inspection":
            return f"inspection of {_tag(look, row['engine_id'])}, {row['inspected_on']}"
        case "clearance":
            of = called(look, BY_NOUN["inspection"], str(row["inspection_id"]))
            return f"clearance {row['name']} {row['place']}".rstrip() + f" of the {of}"
        case "calibration":
            cell = look(BY_NOUN["cell"], str(row["cell_id"]))
            which = f"{row['instrument']} {row['which']}".rstrip()
            day = day_in(str(row["calibrated_at"]), str(cell["time_zone"]))
            return f"calibration of the {which} of {cell['name']}, {day}"
        case "due mark":
            return f"due mark {row['what']} of {_tag(look, row['engine_id'])}"
        case "air reading":
            of = row["session_id"]
            where = f" of {_session(look, str(of))}" if of is not None else ""
            return f"air reading{where} at {row['read_at']}"
        case _:
            return f"{table.noun} {row['name']}"


def called_in(read: Reader, record: type[Any], record_id: str) -> str:
    """What people call a record of this book."""

    def look(table: Table, one: str) -> Mapping[str, Any]:
        columns = table.stored
        row = next(read.rows(f"SELECT {', '.join(columns)} FROM {table.name} WHERE id = ?", (one,)))
        return dict(zip(columns, row, strict=True))

    return called(look, table_of(record), record_id)


def _tag(look: Lookup, engine_id: Any) -> str:
    return str(look(BY_NOUN["engine"], str(engine_id))["tag"])


def _build(look: Lookup, build_id: Any) -> str:
    row = look(BY_NOUN["build"], str(build_id))
    return f"build {row['label']} of {_tag(look, row['engine_id'])}"


def _session(look: Lookup, session_id: str) -> str:
    row = look(BY_NOUN["session"], session_id)
    zone = str(look(BY_NOUN["cell"], str(row["cell_id"]))["time_zone"])
    return f"{_tag(look, row['engine_id'])}, {day_in(str(row['opened_at']), zone)}"
