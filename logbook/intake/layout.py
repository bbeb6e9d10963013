"""Where in a text the table is: delimiter, decimal mark, preamble, header rows, first sample."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from logbook.intake.header import Header, find_header
from logbook.intake.numbers import Marks, find_marks, looks_numeric
from logbook.intake.rows import Record, Shape, cut, find_shape, records
from logbook.intake.text import visible
from logbook.refusals import BadFile

MAX_COLUMNS = 2_000

_HEAD_LINES = 400
_KEPT_RECORDS = 16
_PREAMBLE_LINES = 200
_RUN = 3  # so many rows of numbers in a row are samples, not a preamble
_WANTED = 'a row of column names such as "Engine speed [rpm]" above rows of numbers'


@dataclass(frozen=True, slots=True)
class Layout:
    """How the table stands in the text.

    `body` is the text from the first sample on, which is line `data_line` (from 1) of the file;
    `first` are its first records. `preamble` are the lines above that are not the header.
    """

    delimiter: str
    marks: Marks
    header: Header
    data_line: int
    body: str
    preamble: tuple[str, ...]
    first: Sequence[Record] = field(repr=False)

    @property
    def quoted(self) -> bool:
        """Whether any cell of the body may stand in quotes."""
        return '"' in self.body

    def records(self) -> Iterator[Record]:
        """Every row of the body with its line, blank rows too: exact, not fast."""
        return records(self.body.split("\n"), self.delimiter, self.data_line)

    def record(self, row: int) -> Record:
        """The record of one row of the body, counted from 0."""
        if self.quoted:
            return next(islice(self.records(), row, None))
        raw = self.body.split("\n", row + 1)[row]
        return Record(self.data_line + row, raw, cut(raw, self.delimiter))


def find_layout(text: str, *, where: str) -> Layout:
    """The layout of the table in a text with ``\\n`` line ends.

    Raises `BadFile` (`where` names the file) where there is no header, there are no rows of
    numbers, or numbers can be read in two ways.
    """
    lines = text.split("\n", _HEAD_LINES)[:_HEAD_LINES]
    shape = find_shape(text, lines)
    if shape is None:
        raise _no_table(lines, where)
    header, first = _header_and_first(lines, shape, where)
    data_line = first[0].line
    if max(len(header.columns), *(len(row.cells) for row in first)) > MAX_COLUMNS:
        raise BadFile(
            f"the table has more than {MAX_COLUMNS} columns",
            where=f"{where}, line {data_line}",
            wanted="the channels of the pull alone",
        )
    commas = any("," in cell for row in first for cell in row.cells)
    marks = (
        find_marks(cell for row in first for cell in row.cells if looks_numeric(cell))
        if commas
        else Marks()
    )
    if marks is None:
        raise BadFile(
            "a comma in the numbers can be a decimal mark or stand between thousands",
            where=f"{where}, line {data_line}",
            wanted="a decimal point, and nothing between thousands",
        )
    above = lines[: data_line - 1]
    return Layout(
        delimiter=shape.delimiter,
        marks=marks,
        header=header,
        data_line=data_line,
        body=text[sum(len(line) + 1 for line in above) :],
        preamble=_preamble(above, header),
        first=first,
    )


def _header_and_first(
    lines: Sequence[str], shape: Shape, where: str
) -> tuple[Header, list[Record]]:
    """The header and the first records of samples.

    Numbers in a preamble (a table of calibrations, say) may look like samples: the first run of
    sample rows whose header names an engine speed is taken, else the first run at all.
    """
    rows: list[Record] = []
    begun: list[tuple[int, Header | None]] = []
    run = 0
    source = records(lines, shape.delimiter)
    for row in source:
        if not row.filled:
            continue
        rows.append(row)
        run = run + 1 if shape.is_sample(row) else 0
        if run == _RUN:
            begun.append(_begin(rows, len(rows) - _RUN, shape))
            header = begun[-1][1]
            if header is not None and header.has_speed:
                begun = begun[-1:]
                break
    if not begun and run:
        begun.append(_begin(rows, len(rows) - run, shape))
    if not begun:
        raise _no_table(lines, where)
    start, header = begun[0]
    if header is None:
        raise BadFile(
            "numbers begin without a row of column names above them",
            where=f"{where}, line {rows[start].line}",
            wanted=_WANTED,
        )
    return header, [*rows[start:], *islice(source, _KEPT_RECORDS)][:_KEPT_RECORDS]


def _begin(rows: Sequence[Record], start: int, shape: Shape) -> tuple[int, Header | None]:
    """Where samples begin and their header; rows between the two that hold numbers are samples
    too (with something wrong in them, which is said when they are read)."""
    header = find_header(rows[:start], shape.delimiter, shape.width)
    if header is not None:
        while rows[start - 1].line > max(header.lines) and rows[start - 1].numbers:
            start -= 1
    return start, header


def _no_table(lines: Sequence[str], where: str) -> BadFile:
    for delimiter in (",", ";", "\t"):
        rows = [row for row in records(lines, delimiter) if row.filled]
        header = find_header(rows, delimiter, len(rows[-1].cells)) if rows else None
        if header is not None and header.has_speed:
            return BadFile(
                "there is only a header, no samples under it",
                where=f"{where}, line {header.lines[0]}",
                wanted="a row of numbers for each sample",
            )
    return BadFile("no rows of two or more numbers were found", where=where, wanted=_WANTED)


def _preamble(above: Sequence[str], header: Header) -> tuple[str, ...]:
    kept = (
        visible(line, 300)
        for number, line in enumerate(above, 1)
        if number not in header.lines and line.strip() and not line.lower().startswith("sep=")
    )
    return tuple(islice(kept, _PREAMBLE_LINES))
