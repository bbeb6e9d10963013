"""Rows of named cells that wait on disk until it is known which columns there are.

Rows may have different columns (set-ups do): a file has one header, in the order of their first
appearance. An export of any size takes little memory.
"""

from __future__ import annotations

import json
import math
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, TypeAlias

Cell: TypeAlias = str | float | int | bool | None

WHOLE, NUMBER, FLAG, TEXT = "whole number", "number", "yes or no", "text"


@dataclass(frozen=True, slots=True)
class Spool:
    """How many rows there are, and the kind of every column: one of the words above, ``""``
    where no row has anything in it."""

    columns: dict[str, str]
    count: int
    _waiting: IO[str]

    def rows(self) -> Iterator[dict[str, Cell]]:
        """The rows again, each with its own columns only; numbers that are not finite as
        ``None``."""
        self._waiting.seek(0)
        for line in self._waiting:
            yield json.loads(line)


@contextmanager
def spooled(rows: Iterable[Mapping[str, Cell]]) -> Iterator[Spool]:
    """All rows, put by."""
    columns: dict[str, str] = {}
    count = 0
    with tempfile.TemporaryFile("w+", encoding="utf-8") as waiting:
        for row in rows:
            for name, cell in row.items():
                columns[name] = _kind(columns.get(name, ""), cell)
            waiting.write(json.dumps({name: _finite(cell) for name, cell in row.items()}) + "\n")
            count += 1
        yield Spool(columns, count, waiting)


def _finite(cell: Cell) -> Cell:
    return None if isinstance(cell, float) and not math.isfinite(cell) else cell


def _kind(so_far: str, cell: Cell) -> str:
    """The kind that holds both what a column had and this cell."""
    if cell is None:
        return so_far
    kind = (
        FLAG if isinstance(cell, bool) else WHOLE if isinstance(cell, int)
        else NUMBER if isinstance(cell, float) else TEXT
    )  # fmt: skip
    if so_far in ("", kind):
        return kind
    return NUMBER if {so_far, kind} == {WHOLE, NUMBER} else TEXT
