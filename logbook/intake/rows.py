"""Lines → rows of cells, and the delimiter between the cells."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from logbook.intake.decoded import Decoded
from logbook.intake.numbers import NOTHING, looks_numeric

MAX_COLUMNS = 2_000
BLANKS = " "  # the delimiter of tables set in columns by runs of blanks

_DELIMITERS = (",", ";", "\t", "|", BLANKS)
_SAMPLE_LINES = 8
_SAMPLE_CHARACTERS = 100_000
_LONGEST_QUOTED = 10


@dataclass(frozen=True, slots=True)
class Record:
    """One row of the file: the line it begins at (from 1), the text as it is, its cells."""

    line: int
    raw: str
    cells: tuple[str, ...]

    @property
    def lines(self) -> tuple[int, ...]:
        """Every line of the file that it takes up: several where a quoted cell is broken."""
        return tuple(range(self.line, self.line + self.raw.count("\n") + 1))

    @property
    def filled(self) -> int:
        """How many cells are not blank."""
        return sum(1 for cell in self.cells if cell)

    @property
    def numbers(self) -> int:
        """How many cells are numbers."""
        return sum(1 for cell in self.cells if looks_numeric(cell))


@dataclass(frozen=True, slots=True)
class Shape:
    """What the rows of samples look like: the delimiter, and how many numbers and cells a row
    usually has."""

    delimiter: str
    numbers: float
    width: int

    def is_sample(self, row: Record) -> bool:
        """Whether a row can be one of samples: two numbers, and more than half the usual."""
        numbers = row.numbers
        return numbers >= 2 and numbers > self.numbers / 2


def cut(line: str, delimiter: str) -> tuple[str, ...]:
    """The stripped cells of one row, quotes taken off."""
    if delimiter == BLANKS:
        return tuple(line.split())
    if '"' in line:
        pieces = [piece + "\n" for piece in line.split("\n")]
        try:
            cells = next(csv.reader(pieces, delimiter=delimiter, skipinitialspace=True), [])
        except csv.Error:  # a cell longer than the reader takes: no table has one
            cells = line.split(delimiter)
    else:
        cells = line.split(delimiter)
    return tuple(map(str.strip, cells))


def records(lines: Sequence[str], delimiter: str, first_line: int = 1) -> Iterator[Record]:
    """The rows in these lines, blank ones too; a quoted cell may go on over a few lines."""
    at = 0
    while at < len(lines):
        raw, used = lines[at], 1
        if raw.count('"') % 2 and delimiter != BLANKS:
            for more in range(2, _LONGEST_QUOTED + 1):
                joined = "\n".join(lines[at : at + more])
                if joined.count('"') % 2 == 0:
                    raw, used = joined, more
                    break
        yield Record(first_line + at, raw, cut(raw, delimiter))
        at += used


def body_records(lines: Sequence[str], delimiter: str, first_line: int) -> Iterator[Record]:
    """The rows in these lines, parted exactly as the parser of the bulk parts them.

    Ends before a cell longer than the csv module takes.
    """
    pieces = (line + "\n" for line in lines)
    reader = csv.reader(pieces, delimiter=delimiter, skipinitialspace=True)
    at = 0
    try:
        for cells in reader:
            raw = "\n".join(lines[at : reader.line_num])
            yield Record(first_line + at, raw, tuple(map(str.strip, cells)))
            at = reader.line_num
    except csv.Error:
        return


def find_shape(text: Decoded, head: Sequence[str]) -> Shape | None:
    """The shape of the sample rows, ``None`` where there are no rows of two numbers or more.

    `head` are the first lines. The middle of the file is looked at, where there are samples and
    nothing else; a short file is looked at whole. The delimiter is the one that cuts most cells
    into numbers; of two that do it equally, the one that leaves fewer scraps, then the usual one.
    """
    lines = [line for line in _sample(text, head) if line.strip()]
    best: tuple[int, int] | None = None
    shape = None
    for delimiter in _DELIMITERS:
        if delimiter != BLANKS and not any(delimiter in line for line in lines):
            continue
        rows = [
            Record(0, line, cut(line, delimiter))
            for line in lines
            if line.count(delimiter) <= MAX_COLUMNS or delimiter == BLANKS
        ]
        counts = [(numbers, row) for row in rows if (numbers := row.numbers) >= 2]
        if not counts:
            continue
        merit = (sum(n for n, _ in counts), -sum(_scraps(row, n) for n, row in counts))
        if best is None or merit > best:
            best = merit
            shape = Shape(
                delimiter,
                median(n for n, _ in counts),
                max(_width(row.cells) for _, row in counts),
            )
    return shape


def _scraps(row: Record, numbers: int) -> int:
    """Cells that are neither a number nor nothing, in a row with so many numbers."""
    if numbers == len(row.cells):
        return 0
    return sum(1 for c in row.cells if not looks_numeric(c) and c.casefold() not in NOTHING)


def _width(cells: Sequence[str]) -> int:
    """Cells up to the last that is not blank: a trailing delimiter makes no column."""
    return max((at + 1 for at, cell in enumerate(cells) if cell), default=0)


def _sample(text: Decoded, head: Sequence[str]) -> Sequence[str]:
    if len(head) < 3 * _SAMPLE_LINES:
        return head
    start = text.find("\n", text.size // 2) + 1
    lines = text.part(start, start + _SAMPLE_CHARACTERS).split("\n", _SAMPLE_LINES)[:_SAMPLE_LINES]
    return lines if sum(1 for line in lines if line) > 3 else head[: 3 * _SAMPLE_LINES]
