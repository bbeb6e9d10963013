"""An archive's data dictionary: every column of every table, with kind, unit and meaning."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from logbook.store.archive import ANY, NUMBER, TEXT, WHOLE, Column, Shape
from logbook.store.tables import TABLES

HEADS = ("table", "column", "kind", "unit", "meaning")
DICTIONARY_COLUMNS = tuple(Column(name, TEXT) for name in HEADS)
_KINDS = {TEXT: "text", WHOLE: "whole number", NUMBER: "number", ANY: "text or number"}

# What no record's class says for itself.
_TABLES = {
    "setups": "A set-up: everything that was deliberately set for a pull.",
    "setup_levels": "One factor of a set-up with its level, as it was typed.",
    "sources": "A file that pulls were taken from; its bytes stand in sources/ under its SHA-256.",
    "traces": "The recorded curve of a pull; its samples stand in the file named.",
    "channels": "One channel of a trace: a column of the trace's file, in the source's own unit.",
    "audit_changes": "The audit trail: one change, who made it, when and why.",
    "audit_fields": "One field that a change changed; without a field the record was entered.",
    "landings": "A file that came into a watched folder, and what became of it.",
    "watched_folders": "A folder that was watched from this machine.",
}
# Endings of names that are units, the longest first.
_UNITS = {
    "_mj_kg": "MJ/kg", "_kg_m3": "kg/m³", "_kg_m2": "kg·m²", "_m_s2": "m/s²", "_rpm_s": "rpm/s",
    "_m3_h": "m³/h", "_kg_h": "kg/h", "_minutes": "min", "_percent": "%", "_bytes": "bytes",
    "_hours": "h", "_days": "days", "_kpa": "kPa", "_rpm": "rpm", "_deg": "°", "_min": "min",
    "_mm": "mm", "_nm": "N·m", "_kw": "kW", "_ns": "ns", "_l": "L", "_c": "°C", "_m": "m",
}  # fmt: skip
_MEANINGS = {
    "id": "unique in every book, ordered by time",
    "typed": "what was typed, by field (JSON)",
    "withdrawn": "1: taken back by an undo, kept, left out of lists",
    "file": "the file of the archive that holds the samples",
    "column": "the column of that file",
    "fingerprint": "equal for set-ups whose factors are all equal",
    "first_in_file": "the sample of the source file where the trace begins, from 0",
    "baseline": "ids of the pulls that the session is measured from (JSON)",
}
_TIMES = ("at", "opened_at", "closed_at", "read_at", "taken_at", "seen_at", "began_at", "since_at",
          "calibrated_at", "attached_at")  # fmt: skip


def dictionary(shapes: Iterable[Shape]) -> Iterator[tuple[str, ...]]:
    """A line for every table and for every column of it."""
    for shape in shapes:
        yield shape.name, "", "", "", table_meaning(shape.name)
        for column in shape.columns:
            unit = _unit(column.name)
            yield shape.name, column.name, _KINDS[column.kind], unit, _meaning(column, unit)


def table_meaning(table: str) -> str:
    """What a table's rows are."""
    for one in TABLES.values():
        if one.name == table:
            return (one.record.__doc__ or "").strip().partition("\n")[0]
    return _TABLES[table]


def _unit(name: str) -> str:
    if name in _TIMES:
        return "UTC"
    return next((unit for ending, unit in _UNITS.items() if name.endswith(ending)), "")


def _meaning(column: Column, unit: str) -> str:
    if column.refers_to:
        return f"refers to {column.refers_to}"
    known = _MEANINGS.get(column.name)
    if known is not None:
        return known
    words = column.name
    if unit and unit != "UTC":
        words = next(words.removesuffix(ending) for ending in _UNITS if words.endswith(ending))
    return words.replace("_", " ")


ABOUT = """# An archive of a dyno-cell logbook

Everything that was entered and recorded, in open formats. `logbook import` makes a book of it
that equals the one it was made from, record by record.

- `manifest.json`: every file with its size and SHA-256, the number of rows of every table, and
  the steps by which the book had got its shape.
- `dictionary.csv`: every column of every table, with its unit and meaning.
- `records/`: a file for every table. Times are UTC, values SI with the unit in the name.
- `traces/`: a file for every recorded curve, by engine and session, each channel as its source
  printed it; `records/channels` says what each column is and what takes it to SI.
- `sources/`: the files that pulls were taken from, byte for byte, under their SHA-256.
- `attached/`: photos and sheets that were attached, byte for byte, under their SHA-256.

Corrected figures and verdicts are not in it: they are computed from these records each time.
`logbook export` writes them.

In CSV an empty cell is nothing. An apostrophe before a text marks it as text: it keeps what
follows from being taken for a number or a formula. `\\u001b` stands for a control character.
"""
