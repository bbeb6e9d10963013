"""What an archive of a book consists of: its tables, in which order, and where its files stand.

An archive is a folder (or the same in a ZIP file) of open formats: every record as a row of a
table file, every trace as a table of its own, every source and attached file byte for byte, the
audit trail, a data dictionary and a manifest with the SHA-256 of each file. Figures that are
computed are no part of it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.refusals import BadFile

if TYPE_CHECKING:
    from logbook.store.reader import Reader

FORMAT, VERSION = "dyno-cell logbook archive", 1
MANIFEST, DICTIONARY, README = "manifest.json", "dictionary.csv", "README.md"
TEXT, WHOLE, NUMBER, ANY = "TEXT", "INTEGER", "REAL", "ANY"

# Kept by triggers, computed, or made with every book: nothing of it was ever entered.
DERIVED = frozenset(
    {"baseline_pulls", "sample_numbers", "scores", "stamps", "session_totals", "search_documents",
     "search_index", "search_index_data", "search_index_idx", "search_index_docsize",
     "search_index_config", "migrations"}
)  # fmt: skip
# Columns that stand as files of their own, or follow from them.
_AS_FILES = {
    "sources": ("content_zlib", "trace_pull_id"),
    "channels": ("base", "width", "digits", "listed", "crc32"),
}
_NOT_IN_NAMES = re.compile(r"[^\w.-]+")
_LONGEST = 40


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table file. `refers_to` is ``engines.id`` or the like; `decimals` is how
    many digits after the point a channel was printed with."""

    name: str
    kind: str
    refers_to: str = ""
    decimals: int | None = None


@dataclass(frozen=True, slots=True)
class Shape:
    """One table of the book that goes into an archive, as it stands there."""

    name: str
    columns: tuple[Column, ...]
    keys: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The columns' names."""
        return tuple(column.name for column in self.columns)


def shapes(read: Reader) -> list[Shape]:
    """Every table of a book that goes into an archive, each after those it refers to."""
    names = [
        str(row[0])
        for row in read.rows("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
        if row[0] not in DERIVED and not str(row[0]).startswith("sqlite_")
    ]
    waiting = {name: _shape(read, name) for name in names}
    ordered: list[Shape] = []
    while waiting:
        free = [
            shape
            for shape in waiting.values()
            if not _targets(shape) & (waiting.keys() - {shape.name})
        ]
        if not free:
            raise RuntimeError(f"tables refer to each other in a circle: {', '.join(waiting)}")
        for shape in free:
            ordered.append(waiting.pop(shape.name))
    return ordered


def _targets(shape: Shape) -> set[str]:
    return {column.refers_to.partition(".")[0] for column in shape.columns} - {""}


def _shape(read: Reader, table: str) -> Shape:
    links = {
        str(row[3]): f"{row[2]}.{row[4]}" for row in read.rows(f"PRAGMA foreign_key_list({table})")
    }
    columns, keys = [], []
    for _, name, kind, _, _, place in read.rows(f"PRAGMA table_info({table})"):
        if name in _AS_FILES.get(table, ()):
            continue
        if kind not in (TEXT, WHOLE, NUMBER, ANY):
            raise RuntimeError(f"{table}.{name} is {kind}, which no archive holds")
        columns.append(Column(str(name), str(kind), links.get(str(name), "")))
        if place:
            keys.append((place, str(name)))
    return Shape(table, tuple(columns), tuple(name for _, name in sorted(keys)))


def records_file(table: str, form: str) -> str:
    """Where a table's rows stand."""
    return f"records/{table}.{form}"


def source_file(sha256: str, name: str) -> str:
    """Where a source's bytes stand: under its hash, with the ending that it had."""
    ending = re.search(r"\.[A-Za-z0-9]{1,8}$", name)
    return f"sources/{_hash(sha256)}{ending.group() if ending else ''}"


def attached_file(sha256: str) -> str:
    """Where an attached file's bytes stand."""
    return f"attached/{_hash(sha256)}"


def trace_file(tag: str, day: str, number: int, pull_id: str, form: str) -> str:
    """Where a pull's trace stands: by engine and session for people, by id for certainty."""
    engine = _NOT_IN_NAMES.sub("-", tag).strip("-.")[:_LONGEST] or "engine"
    return f"traces/{engine}/{day}/pull-{number:03}-{pull_id}.{form}"


def _hash(sha256: str) -> str:
    if not re.fullmatch(r"[0-9a-f]{64}", sha256):
        raise BadFile(f"{sha256[:20]!r} is no SHA-256", where="Archive", wanted="an archive")
    return sha256
