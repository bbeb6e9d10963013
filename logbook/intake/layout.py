"""Where in a text the table is: delimiter, decimal mark, preamble, header rows, first sample."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, pairwise

from logbook.intake.decoded import Decoded, count_of
from logbook.intake.header import MOST_ROWS, Header, find_header
from logbook.intake.numbers import Marks, find_marks, looks_numeric
from logbook.intake.rows import (
    BLANKS,
    MAX_COLUMNS,
    Record,
    Shape,
    body_records,
    cut,
    find_shape,
    records,
)
from logbook.intake.text import visible
from logbook.refusals import BadFile

_HEAD_LINES = 400
_HEAD_CHARACTERS = 100_000
_LINE_END = re.compile(rb"\r\n|\r|\n")
_KEPT_RECORDS = 8
_LEAST_PIECE = 4 * 1024 * 1024  # bytes: cutting up less gains nothing
_ROWS_WITH_COMMA = 64
_PREAMBLE_LINES = 200
_RUN = 3  # so many rows of numbers in a row are samples, not a preamble
_WANTED = 'a row of column names such as "Engine speed [rpm]" above rows of numbers'


@dataclass(slots=True)
class Source:
    """Bytes from `at` to `end` of a content, for a parser to read bit by bit: of a long log
    nothing is copied, and no text is made of bytes that are parsed as bytes."""

    content: bytes = field(repr=False)
    at: int
    end: int

    def read(self, size: int = -1) -> bytes:
        """The next `size` bytes, or all that are left."""
        first = self.at
        self.at = self.end if size < 0 else min(first + size, self.end)
        return self.content[first : self.at]

    def count_of(self, byte: bytes) -> int:
        """How often a byte occurs in what is left."""
        return count_of(byte, memoryview(self.content)[self.at : self.end])


@dataclass(frozen=True, slots=True)
class Layout:
    """How the table stands in the text.

    The body of the table begins at the place `start` of the text, which is line `data_line`
    (from 1) of the file; `first` are its first records. `preamble` are the lines above that are
    not the header. `quoted`: a cell of the body may stand in quotes; `minus`: there are minus
    signs that are no hyphens.
    """

    delimiter: str
    marks: Marks
    header: Header
    data_line: int
    decoded: Decoded = field(repr=False)
    start: int
    preamble: tuple[str, ...]
    first: Sequence[Record] = field(repr=False)
    quoted: bool
    minus: bool

    @property
    def body(self) -> str:
        """The text from the first sample on."""
        return self.decoded.part(self.start, self.decoded.size)

    def source(self) -> Source:
        """The body to be parsed: UTF-8, any line ends, hyphens for minus signs."""
        raw = self.decoded.raw
        if raw is None or self.minus:
            content = self.body.replace("\u2212", "-").encode()
            return Source(content, 0, len(content))
        ends = _LINE_END.finditer(raw)
        at = next(islice(ends, self.data_line - 2, None)).end() if self.start else 0
        return Source(raw, at, len(raw))

    def pieces(self, width: int, most: int) -> list[Source]:
        """What `source` has, in up to `most` pieces of whole rows, none of them small.

        It stays in one piece where a cell in quotes may hold a line end, and where a piece would
        begin with more than `width` cells: a parser goes by the first row that it meets.
        """
        whole = self.source()
        content, size = whole.content, whole.end - whole.at
        count = 1 if self.quoted else min(most, size // _LEAST_PIECE)
        cuts = {whole.at, whole.end}
        for number in range(1, count):
            cut_at = content.find(b"\n", whole.at + number * size // count) + 1
            row = content[cut_at : content.find(b"\n", cut_at)].decode(errors="replace")
            if not cut_at or len(cut(row, self.delimiter)) > width:
                return [whole]
            cuts.add(cut_at)
        return [Source(content, at, end) for at, end in pairwise(sorted(cuts))]

    def records(self) -> Iterator[Record]:
        """Every row of the body with its line, blank rows too: exact, not fast."""
        read = body_records if self.quoted and self.delimiter != BLANKS else records
        return read(self.body.split("\n"), self.delimiter, self.data_line)

    def record(self, row: int) -> Record:
        """The record of one row of the body, counted from 0."""
        if self.quoted:
            found = next(islice(self.records(), row, None), None)
            return found or Record(self.data_line + row, "", ())
        raw = self.body.split("\n", row + 1)[row]
        return Record(self.data_line + row, raw, cut(raw, self.delimiter))


def find_layout(decoded: Decoded, *, where: str) -> Layout:
    """The layout of the table in a text.

    Raises `BadFile` (`where` names the file) where there is no header, there are no rows of
    numbers, or numbers can be read in two ways.
    """
    lines = _head(decoded)
    shape = find_shape(decoded, lines)
    if shape is None:
        raise _no_table(lines, where)
    header, first = _header_and_first(lines, shape, where)
    data_line = first[0].line
    above = lines[: data_line - 1]
    start = decoded.line(data_line)
    marks = _marks(decoded, start, shape.delimiter, first)
    if marks is None:
        raise BadFile(
            "a comma in the numbers can be a decimal mark or stand between thousands",
            where=f"{where}, line {data_line}",
            wanted="a decimal point, and nothing between thousands",
        )
    return Layout(
        delimiter=shape.delimiter,
        marks=marks,
        header=header,
        data_line=data_line,
        decoded=decoded,
        start=start,
        preamble=_preamble(above, header),
        first=first,
        quoted=decoded.find('"', start) >= 0,
        minus=decoded.find("\u2212") >= 0,
    )


def _head(text: Decoded) -> list[str]:
    """The first lines, without going through all of a long text."""
    size = _HEAD_CHARACTERS
    while size < text.size and text.count("\n", 0, size) < _HEAD_LINES:
        size *= 2
    return text.part(0, size).split("\n", _HEAD_LINES)[:_HEAD_LINES]


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
        if len(row.cells) > MAX_COLUMNS:
            raise too_wide(row, where)
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


def _marks(text: Decoded, start: int, delimiter: str, first: Sequence[Record]) -> Marks | None:
    """The decimal mark, from the first rows and from rows of the body that have a comma in them."""
    if delimiter == "," and text.find('"', start) < 0:
        return Marks()
    rows = list(first)
    at = text.find(",", start)
    while at >= 0 and len(rows) < _ROWS_WITH_COMMA:
        end = text.find("\n", at)
        end = text.size if end < 0 else end
        raw = text.part(max(text.rfind("\n", 0, at) + 1, start), end)
        rows.append(Record(0, raw, cut(raw, delimiter)))
        at = text.find(",", end)
    cells = (cell for row in rows for cell in row.cells)
    return find_marks(cell for cell in cells if looks_numeric(cell))


def _begin(rows: Sequence[Record], start: int, shape: Shape) -> tuple[int, Header | None]:
    """Where samples begin and their header; rows between the two that hold numbers are samples
    too (with something wrong in them, which is said when they are read)."""
    header = _header_above(rows[:start], shape.delimiter, shape.width)
    if header is not None:
        while rows[start - 1].line > max(header.lines) and rows[start - 1].numbers:
            start -= 1
    return start, header


def _header_above(rows: Sequence[Record], delimiter: str, width: int) -> Header | None:
    return find_header(tuple(rows[-MOST_ROWS:]), delimiter, width)


def too_wide(row: Record, where: str) -> BadFile:
    """The refusal of a row with more than `MAX_COLUMNS` cells."""
    return BadFile(
        f"the row has {len(row.cells)} cells, more than the {MAX_COLUMNS} that are read",
        where=f"{where}, line {row.line}",
        wanted="the channels of the pull alone",
    )


def _no_table(lines: Sequence[str], where: str) -> BadFile:
    for delimiter in (",", ";", "\t"):
        rows = []
        for row in records(lines, delimiter):
            if len(row.cells) > MAX_COLUMNS:
                return too_wide(row, where)
            if row.filled:
                rows.append(row)
        header = _header_above(rows, delimiter, len(rows[-1].cells)) if rows else None
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
