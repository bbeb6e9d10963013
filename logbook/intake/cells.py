"""The samples: every column of the table as numbers, a clock, or text.

pandas parses the bulk. What it could not take for numbers is gone over cell by cell, with the
file's own decimal mark, so that a refusal can name line, column and text.
"""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from logbook.intake.layout import MAX_COLUMNS, Layout
from logbook.intake.numbers import (
    MOST_DECIMALS,
    NOTHING,
    clock_seconds,
    is_not_finite,
    number,
    printed_decimals,
    snapped,
)
from logbook.intake.rows import BLANKS
from logbook.intake.text import quoted, visible
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import pandas as pd

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """One column of samples.

    `values` (samples,) are float64 with NaN where nothing was recorded, ``None`` for a column
    of text; `decimals` as printed. `strays` are rows whose cell is neither number nor blank,
    with its text; their value is NaN. `clock`: the values are seconds read off clock times.
    """

    values: Array | None
    decimals: int = 0
    strays: tuple[tuple[int, str], ...] = ()
    clock: bool = False

    @property
    def recorded(self) -> int:
        """How many samples have a value."""
        import numpy as np

        return 0 if self.values is None else int(np.count_nonzero(~np.isnan(self.values)))

    def until(self, count: int) -> Cells:
        """The same column without the rows from `count` on."""
        if self.values is None or len(self.values) == count:
            return self
        strays = tuple(stray for stray in self.strays if stray[0] < count)
        return replace(self, values=self.values[:count], strays=strays)

    def only(self, kept: npt.NDArray[np.bool_]) -> Cells:
        """The same column with the kept rows only; strays are told before, and let go."""
        return replace(self, values=None if self.values is None else self.values[kept], strays=())


def read_cells(layout: Layout, *, where: str) -> list[Cells]:
    """All columns that the header names, each with one value for every row of the body.

    Raises `BadFile` with the line for cells beyond the last named column, and for a body that
    is no table.
    """
    import numpy as np

    names = len(layout.header.columns)
    width = max(names + 1, *(len(row.cells) for row in layout.first))
    try:
        frame = _frame(layout, width)
    except (ValueError, OverflowError):  # pandas' own among them: a row with more cells
        try:
            width = max(width, _widest(layout, where))
            frame = _frame(layout, width)
        except (ValueError, OverflowError) as trouble:
            raise BadFile(
                f"the rows are no table ({visible(str(trouble), 120)})",
                where=f"{where}, from line {layout.data_line}",
                wanted="as many cells in every row, and quotes in pairs",
            ) from trouble
    numeric = [at for at, dtype in enumerate(frame.dtypes.tolist()) if dtype.kind in "iuf"]
    values = (frame if len(numeric) == width else frame[numeric]).to_numpy(np.float64, copy=True)
    text = {
        at: [_text(cell) for cell in frame[at].tolist()] for at in set(range(width)) - {*numeric}
    }
    _refuse_extra(numeric, values, text, layout, where=where)
    named = sum(1 for at in numeric if at < names)
    found = _numbers(values[:, :named], numeric[:named], layout)
    return [found[at] if at in found else _from_text(text[at], layout) for at in range(names)]


def _widest(layout: Layout, where: str) -> int:
    widest = max(layout.records(), key=lambda row: len(row.cells))
    if len(widest.cells) > MAX_COLUMNS:
        raise BadFile(
            f"the row has {len(widest.cells)} cells, more than the {MAX_COLUMNS} that are read",
            where=f"{where}, line {widest.line}",
            wanted="the channels of the pull alone",
        )
    return len(widest.cells)


def _frame(layout: Layout, width: int) -> pd.DataFrame:
    import pandas as pd

    body = layout.body.replace("\u2212", "-") if "\u2212" in layout.body else layout.body
    blanks = layout.delimiter == BLANKS
    quoted_cells = layout.quoted and not blanks
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about columns of mixed kinds: gone over below
        return pd.read_csv(
            io.BytesIO(body.encode()),
            sep=r"\s+" if blanks else layout.delimiter,
            header=None,
            names=list(range(width)),
            index_col=False,
            decimal=layout.marks.decimal,
            na_values=[""],
            keep_default_na=False,
            skip_blank_lines=False,
            skipinitialspace=quoted_cells,
            quoting=csv.QUOTE_MINIMAL if quoted_cells else csv.QUOTE_NONE,
            low_memory=False,
        )


def _refuse_extra(
    numeric: Sequence[int],
    values: Array,
    text: Mapping[int, Sequence[str]],
    layout: Layout,
    *,
    where: str,
) -> None:
    """Refuse cells under no name: columns would be mistaken for one another."""
    import numpy as np

    names = len(layout.header.columns)
    unnamed = [place for place, at in enumerate(numeric) if at >= names]
    rows = np.flatnonzero((~np.isnan(values[:, unnamed])).any(axis=1))[:1].tolist()
    for at, cells in text.items():
        if at >= names:
            rows += [row for row, cell in enumerate(cells) if cell][:1]
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


def _numbers(values: Array, columns: Sequence[int], layout: Layout) -> dict[int, Cells]:
    """The columns that are all numbers: `values` (samples, columns) as pandas parsed them."""
    import numpy as np

    infinite = np.isinf(values)
    if infinite.any():
        values[infinite] = np.nan
    decimal = layout.marks.decimal
    printed = [
        printed_decimals((row.cells[at] for row in layout.first if at < len(row.cells)), decimal)
        for at in columns
    ]
    exact, digits = snapped(values, printed)
    found: dict[int, Cells] = {}
    for place, at in enumerate(columns):
        decimals = digits[place]
        if decimals is None:
            cells = [row.cells[at] if at < len(row.cells) else "" for row in layout.records()]
            found[at] = _from_text(cells, layout)
            continue
        strays = np.flatnonzero(infinite[:, place]).tolist()
        found[at] = Cells(
            np.ascontiguousarray(exact[:, place]),
            decimals,
            tuple((row, "infinity") for row in strays),
        )
    return found


def _text(cell: object) -> str:
    if isinstance(cell, str):
        return cell.strip()
    return "" if cell is None or cell != cell else str(cell)


def _from_text(cells: Sequence[str], layout: Layout) -> Cells:
    """A column that pandas left as text: numbers with strays, a clock, or text after all."""
    import numpy as np

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
        seconds = clock_seconds(cells)
        if seconds is not None:
            return Cells(np.array(seconds[0]), seconds[1], clock=True)
        return Cells(None, strays=tuple(strays))
    decimals = printed_decimals(numeric, layout.marks.decimal)
    return Cells(values, min(decimals, MOST_DECIMALS), tuple(strays))
