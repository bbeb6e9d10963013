"""The samples: every column of the table as numbers, a clock, or text.

pandas parses the bulk. What it could not take for numbers is gone over cell by cell, with the
file's own decimal mark, so that a refusal can name line, column and text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from logbook.intake.layout import Layout
from logbook.intake.numbers import (
    NOTHING,
    clock_seconds,
    is_clock,
    is_not_finite,
    number,
    printed_decimals,
    snapped,
)
from logbook.intake.parse import parse_columns
from logbook.intake.text import quoted
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

_OTHERS = 0.1  # so much of a clock column may be something else, a remark at its end say


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """One column of samples.

    `values` (samples,) are float64 with NaN where nothing was recorded, ``None`` for a column
    of text; `decimals` as printed. `strays` are rows whose cell is neither number nor blank,
    with its text; their value is NaN. Of a text column only the first cell is a stray, and
    `said` (samples,) tells where it has any. `clock`: the values are seconds of clock times.
    """

    values: Array | None
    decimals: int = 0
    strays: tuple[tuple[int, str], ...] = ()
    clock: bool = False
    said: Flags | None = None

    @property
    def recorded(self) -> int:
        """How many samples have a value."""
        import numpy as np

        return 0 if self.values is None else int(np.count_nonzero(~np.isnan(self.values)))

    def until(self, count: int) -> Cells:
        """The same column without the rows from `count` on."""
        return replace(
            self,
            values=None if self.values is None else self.values[:count],
            strays=tuple(stray for stray in self.strays if stray[0] < count),
            said=None if self.said is None else self.said[:count],
        )

    def only(self, kept: Flags) -> Cells:
        """The same column with the kept rows only; strays are told before, and let go."""
        return replace(
            self,
            values=None if self.values is None else self.values[kept],
            strays=(),
            said=None if self.said is None else self.said[kept],
        )


def read_cells(layout: Layout, *, where: str) -> list[Cells]:
    """All columns that the header names, each with one value for every row of the body.

    Raises `BadFile` with the line for cells beyond the last named column, and for a body that
    is no table.
    """
    names = len(layout.header.columns)
    width = max(names + 1, *(len(row.cells) for row in layout.first))
    parsed = parse_columns(layout, width, where=where)
    _refuse_extra(parsed, layout, where=where)
    numeric = [at for at in range(names) if parsed[at].dtype.kind in "iuf"]
    found = _numbers([parsed[at] for at in numeric], numeric, layout)
    return [
        found[at] if at in found else _from_text([_text(c) for c in parsed[at].tolist()], layout)
        for at in range(names)
    ]


def _refuse_extra(parsed: Sequence[Any], layout: Layout, *, where: str) -> None:
    """Refuse cells under no name: columns would be mistaken for one another."""
    import numpy as np

    names = len(layout.header.columns)
    rows: list[int] = []
    for column in parsed[names:]:
        if column.dtype.kind in "iuf":
            rows += np.flatnonzero(~np.isnan(column))[:1].tolist()
        else:
            rows += [row for row, cell in enumerate(column.tolist()) if _text(cell)][:1]
    if not rows:
        return
    record = layout.record(min(rows))
    beyond = next((cell for cell in record.cells[names:] if cell), "")
    hint = ", and no decimal commas between commas" if layout.delimiter == "," else ""
    raise BadFile(
        f"the row has {len(record.cells)} cells but the header names {names} columns"
        f" ({quoted(beyond)} is under no name)",
        where=f"{where}, line {record.line}",
        wanted=f"a name for every column{hint}",
    )


def _numbers(parsed: Sequence[Any], columns: Sequence[int], layout: Layout) -> dict[int, Cells]:
    """The columns that are all numbers, as pandas parsed them."""
    import numpy as np

    decimal = layout.marks.decimal
    printed = [
        printed_decimals([row.cells[at] for row in layout.first if at < len(row.cells)], decimal)
        for at in columns
    ]
    values, infinite = [], []
    for column in parsed:
        column = column.astype(np.float64, copy=False)
        at_infinity = np.flatnonzero(np.isinf(column))
        if len(at_infinity):
            column = column.copy()
            column[at_infinity] = np.nan
        values.append(column)
        infinite.append(at_infinity.tolist())
    exact, digits = snapped(values, printed)
    found: dict[int, Cells] = {}
    for place, at in enumerate(columns):
        decimals = digits[place]
        if decimals is None:
            cells = [row.cells[at] if at < len(row.cells) else "" for row in layout.records()]
            if len(cells) == len(exact[place]):
                found[at] = _from_text(cells, layout)
                continue
            decimals = printed[place]  # a cell so long that the rows cannot be told: as parsed
        strays = tuple((row, "infinity") for row in infinite[place])
        if strays:  # the first is shown as it stands there
            first = layout.record(strays[0][0]).cells
            strays = ((strays[0][0], first[at] if at < len(first) else "infinity"), *strays[1:])
        found[at] = Cells(exact[place], decimals, strays)
    return found


def _text(cell: object) -> str:
    if isinstance(cell, str):
        return cell.strip()
    return "" if cell is None or cell != cell else str(cell)


def _from_text(cells: Sequence[str], layout: Layout) -> Cells:
    """A column that pandas left as text: numbers with strays, a clock, or text after all."""
    import numpy as np

    if not _worth_trying(cells, layout):
        return _text_column(cells)
    values = np.full(len(cells), np.nan)
    strays: list[tuple[int, str]] = []
    numeric: list[str] = []
    for row, cell in enumerate(cells):
        if cell.casefold() in NOTHING:
            continue
        found = number(cell.replace("\u2212", "-"), layout.marks)
        if found is None or not np.isfinite(found):
            strays.append((row, cell))
        else:
            values[row] = found
            numeric.append(cell)
    if len(numeric) < sum(1 for _, text in strays if not is_not_finite(text)):
        return _clock_column(cells)
    decimals = printed_decimals(numeric, layout.marks.decimal)
    return Cells(values, decimals, tuple(strays))


def _worth_trying(cells: Sequence[str], layout: Layout) -> bool:
    """Whether any of a few hundred cells from all over the column is a number or a clock time."""
    some = cells[:: max(1, len(cells) // 300)]
    return any(
        number(cell.replace("\u2212", "-"), layout.marks) is not None
        or is_not_finite(cell)
        or is_clock(cell)
        for cell in some
    )


def _clock_column(cells: Sequence[str]) -> Cells:
    import numpy as np

    seconds, decimals, others = clock_seconds(cells)
    filled = sum(1 for cell in cells if cell.casefold() not in NOTHING)
    if len(others) > _OTHERS * filled:
        return _text_column(cells)
    return Cells(np.array(seconds), decimals, tuple((row, cells[row]) for row in others), True)


def _text_column(cells: Sequence[str]) -> Cells:
    import numpy as np

    said = np.array([cell.casefold() not in NOTHING for cell in cells], dtype=bool)
    first = int(said.argmax()) if said.any() else None
    return Cells(None, strays=() if first is None else ((first, cells[first]),), said=said)
