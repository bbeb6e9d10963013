"""A spreadsheet saved as CSV with one past pull a row: cells by the names of its columns.

Nothing is converted here: a cell's number gets the unit that stands in its column's name, so
that what was typed is kept as it stood on the sheet.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from logbook.intake.columns import unit_of
from logbook.intake.text import decode, quoted, visible
from logbook.refusals import BadFile, BadInput

MAX_ROWS = 100_000
MAX_COLUMNS = 200
_BRACKETS = re.compile(r"(.*?)\s*[\[(]([^\[\]()]*)[\])]")
_BARE = re.compile(r"[+\-−]?[0-9][0-9.,  ]*")
_DATE = re.compile(r"(?P<a>[0-9]{1,4})(?P<mark>[-./])(?P<b>[0-9]{1,2})(?P=mark)(?P<c>[0-9]{1,4})")
ORDERS = ("mdy", "dmy")


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row: the line it begins on, and its cells that are not blank, by column name.

    A bare number has its column's unit behind it.
    """

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The columns in order, in lower case and without their units, and the rows."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[SheetRow, ...]


def read_sheet(name: str, content: bytes) -> Sheet:
    """The rows of a sheet. Raises `BadFile` where there are none, or a name stands twice."""
    name = visible(name)
    text = decode(content, where=name).text.lstrip("\ufeff")
    first = text.split("\n", 1)[0]
    delimiter = max(";\t,", key=first.count)
    reader = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        header = next(reader, [])
        columns = [_column(cell) for cell in header[:MAX_COLUMNS]]
        _check(columns, name)
        rows = []
        line = 1
        for cells in reader:
            begins, line = line + 1, reader.line_num
            found = {
                column: _with_unit(cell, unit)
                for (column, unit), cell in zip(columns, cells, strict=False)
                if column and cell.strip()
            }
            if found:
                rows.append(SheetRow(begins, found))
            if len(rows) > MAX_ROWS:
                raise BadFile(f"more than {MAX_ROWS:,} rows", where=name, wanted="fewer at a time")
    except csv.Error as trouble:
        raise BadFile(f"the rows are no table ({visible(str(trouble), 80)})",
                      where=f"{name}, line {reader.line_num}",
                      wanted="a sheet saved as CSV") from trouble  # fmt: skip
    if not rows:
        raise BadFile("there are no rows under the names", where=name, wanted="a pull a row")
    return Sheet(name, tuple(column for column, _ in columns if column), tuple(rows))


def _column(cell: str) -> tuple[str, str]:
    text = " ".join(cell.split())
    marked = _BRACKETS.fullmatch(text)
    name, comma, unit = text.rpartition(",")
    if marked is not None:
        name, unit = marked[1], marked[2]
    elif not comma or unit_of(unit) is None:
        name, unit = text, ""
    return name.strip().casefold(), unit.strip()


def _check(columns: Sequence[tuple[str, str]], name: str) -> None:
    seen: set[str] = set()
    for column, _ in columns:
        if column and column in seen:
            raise BadFile(f"the column {quoted(column)} stands twice", where=f"{name}, line 1",
                          wanted="each name once")  # fmt: skip
        seen.add(column)
    if len(seen - {""}) < 2:
        raise BadFile("the first row names no columns", where=f"{name}, line 1",
                      wanted='names such as "date", "peak power [hp]", "timing"')  # fmt: skip


def _with_unit(cell: str, unit: str) -> str:
    text = " ".join(cell.split()) if "\n" not in cell else cell.strip()
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def date_order(texts: Sequence[str]) -> str | None:
    """``mdy`` or ``dmy`` for dates written with solidus, where one of them settles it."""
    found = [match for text in texts if (match := _DATE.fullmatch(text.strip()))]
    slashed = [match for match in found if match["mark"] == "/" and len(match["a"]) < 3]
    day_first = any(int(match["a"]) > 12 for match in slashed)
    month_first = any(int(match["b"]) > 12 for match in slashed)
    if day_first == month_first:
        return None
    return "dmy" if day_first else "mdy"


def read_day(text: str, order: str | None) -> str:
    """A date as people write it → ISO. ``2019-05-04``, ``4.5.2019`` (day first), ``5/4/2019`` by
    `order`. Raises `BadInput`."""
    wanted = "such as 2019-05-04"
    match = _DATE.fullmatch(text.strip())
    if match is None:
        raise BadInput(f"{quoted(text)} is not a date", where="Date", wanted=wanted)
    a, b, c = (int(match[part]) for part in "abc")
    if len(match["a"]) == 4:
        year, month, day = a, b, c
    elif len(match["c"]) != 4:
        raise BadInput(f"{quoted(text)} has no year of four digits", where="Date", wanted=wanted)
    elif match["mark"] != "/":
        year, month, day = c, b, a
    elif order is None and a != b:
        raise BadInput(
            f"{quoted(text)} can be read in two ways",
            where="Date",
            wanted="--dates mdy or --dates dmy, or dates such as 2019-05-04",
        )
    else:
        year, month, day = (c, b, a) if order == "dmy" else (c, a, b)
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        raise BadInput(f"{quoted(text)} is not a date", where="Date", wanted=wanted) from None
