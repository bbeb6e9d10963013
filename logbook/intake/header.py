"""The header: which rows above the samples hold names and units, and what the columns are."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from logbook.intake.columns import Column, describe, is_unit, unit_of
from logbook.intake.rows import BLANKS, Record

MOST_ROWS = 5  # so many may be header rows
_WIDE_GAP = re.compile(r"\s{2,}|\t")
_LONGEST = 200  # characters of a header cell that are looked at
_WORTH = {"engine speed": 100, "torque": 40, "power": 40}


@dataclass(frozen=True, slots=True)
class Header:
    """The columns a file names, the lines its names and units stand on, and its signature."""

    columns: tuple[Column, ...]
    lines: tuple[int, ...]

    @property
    def has_speed(self) -> bool:
        """Whether a column is the engine speed."""
        return any(column.quantity == "engine speed" for column in self.columns)

    @property
    def signature(self) -> str:
        """Equal for files whose columns have the same names and units in the same order.

        Case, blanks, hyphens and underscores in names do not count, nor how a unit is spelled
        (SHA-256, hex).
        """
        return signature_of(self.columns)


def signature_of(columns: Sequence[Column]) -> str:
    """The signature of a file with these columns: see `Header.signature`."""
    named = [
        (re.sub(r"[\s_\-]+", " ", column.name).strip().casefold(), column.unit)
        for column in columns
    ]
    return hashlib.sha256(json.dumps(named).encode()).hexdigest()


@lru_cache(maxsize=16)  # files of one kind come by the hundred
def find_header(above: tuple[Record, ...], delimiter: str, width: int) -> Header | None:
    """The best header that the rows right above the samples give, `MOST_ROWS` at most; `None`
    where they are no header.

    A file may have its names over two rows, its units in a row under (or over) the names, and
    rows of channel numbers beside; every way to read the last rows is tried, and the one that
    names most of what a pull needs is taken.
    """
    block = _block(above)
    best: tuple[tuple[int, bool, int], Header] | None = None
    for names, units, lines in _readings(block, delimiter, width):
        header = Header(
            tuple(
                describe(name[:_LONGEST], units[at][:_LONGEST] if at < len(units) else "")
                for at, name in enumerate(names)
            ),
            lines,
        )
        # Where a row of units can be names as well (rpm, hp), the row above it is the names;
        # where names come twice, the row above them tells them apart.
        merit = (_merit(header), bool(units), len(set(names)))
        if best is None or merit >= best[0]:
            best = (merit, header)
    return best[1] if best else None


def _block(above: Sequence[Record]) -> list[Record]:
    """The rows right above the samples that can be header rows: two words or more each."""
    block: list[Record] = []
    for row in reversed(above):
        words = row.filled - (0 if _is_units(row) else row.numbers)
        if words < 2 and words < row.filled:
            continue  # numbers, and something wrong beside them
        if words < 2 or words * 2 < row.filled:
            break
        block.insert(0, row)
    return block


def _readings(
    block: Sequence[Record], delimiter: str, width: int
) -> Iterator[tuple[tuple[str, ...], tuple[str, ...], tuple[int, ...]]]:
    """Names, units and their lines for each way to read the block, the plainest last."""
    for at, row in enumerate(block):
        names = _names(row, delimiter, width)
        below = block[at + 1] if at + 1 < len(block) else None
        if below is not None and not _is_units(below):
            under = _names(below, delimiter, width)
            joined = tuple(
                f"{a} {b}".strip()
                for a, b in zip(_filled_on(names, len(under)), under, strict=False)
            )
            units = block[at + 2] if at + 2 < len(block) and _is_units(block[at + 2]) else None
            yield _with_units(joined, (*row.lines, *below.lines), units)
        above = block[at - 1] if at else None
        units = next((r for r in (below, above) if r is not None and _is_units(r)), None)
        if units is not None:
            yield _with_units(names, row.lines, units)
        yield _with_units(names, row.lines, None)


def _with_units(
    names: tuple[str, ...], lines: tuple[int, ...], units: Record | None
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[int, ...]]:
    if units is None:
        return names, (), lines
    return names, units.cells, (*lines, *units.lines)


def _names(row: Record, delimiter: str, width: int) -> tuple[str, ...]:
    """The name cells of a row, a unit cut off by its comma put back, trailing blanks dropped."""
    cells = list(row.cells)
    if delimiter == BLANKS and len(cells) != width:
        wide = [cell.strip() for cell in _WIDE_GAP.split(row.raw.strip())]
        cells = wide if len(wide) == width else cells
    while cells and not cells[-1]:
        cells.pop()
    if len(cells) > width:
        merged: list[str] = []
        for cell in cells:
            if merged and unit_of(cell) is not None and unit_of(merged[-1]) is None:
                merged[-1] = f"{merged[-1]}, {cell}"
            else:
                merged.append(cell)
        if len(merged) == width:
            return tuple(merged)
    return tuple(cells)


def _filled_on(names: tuple[str, ...], width: int) -> tuple[str, ...]:
    """A row of group names with each blank filled by the name to its left, `width` cells."""
    out: list[str] = []
    for at in range(width):
        name = names[at] if at < len(names) else ""
        out.append(name or (out[-1] if out else ""))
    return tuple(out)


def _is_units(row: Record) -> bool:
    """Whether a row is one of units: most of its cells are, and at least two say which."""
    filled = [cell for cell in row.cells if cell]
    units = sum(1 for cell in filled if is_unit(cell))
    said = sum(1 for cell in filled if unit_of(cell.strip("[](){}<> ")) is not None)
    return said >= 1 and units * 2 > len(filled)


def _merit(header: Header) -> int:
    merit = 0
    for quantity, worth in _WORTH.items():
        columns = [c for c in header.columns if c.quantity == quantity]
        if columns:
            merit += worth if any(c.kind for c in columns) else worth * 2 // 3
    return merit + sum(1 for c in header.columns if c.quantity)
