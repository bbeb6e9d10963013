"""The body of a table parsed in bulk by pandas, the quickest way that it bears."""

from __future__ import annotations

import csv
import re
import warnings
from contextlib import suppress
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from logbook.intake.cores import cores, on_cores
from logbook.intake.layout import Layout, Source, too_wide
from logbook.intake.numbers import looks_numeric
from logbook.intake.rows import BLANKS, MAX_COLUMNS
from logbook.intake.text import visible
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import pandas as pd

    Array = npt.NDArray[np.float64]

MAX_CELLS = 10_000_000

_ROWS = 32_768  # parsed at a time of a piece: their memory is used again
_OPEN_QUOTE = re.compile(r"EOF inside string starting at row (\d+)")
_TRUTH = (b"t", b"T", b"f", b"F")
_FEW_CELLS = 50_000  # so few are quicker copied as one than asked for column by column


def parse_columns(layout: Layout, width: int, *, where: str) -> list[Any]:
    """The columns as arrays, `width` of them or more where any row has so many cells: float64 with
    NaN for a blank where all cells are numbers, else whatever pandas finds in them.

    Raises `BadFile` for a body that is no table, or has more than `MAX_CELLS` cells.
    """
    import numpy as np

    tried = (ValueError, OverflowError)  # pandas' own among them: a row with more cells
    with suppress(*tried):
        columns = _of_numbers(layout, where)
        if all(_is_of_numbers(column, at, layout) for at, column in enumerate(columns)):
            return columns
    if texts := _texts(layout):
        kinds = {at: str if at in texts else np.float64 for at in range(width)}
        with suppress(*tried):
            columns = _arrays(_frame(layout, width, where, kinds))
            numbers = (at for at in range(width) if at not in texts)
            if all(_is_of_numbers(columns[at], at, layout) for at in numbers):
                return columns
    with suppress(*tried):
        return _arrays(_frame(layout, width, where, None))
    try:
        return _arrays(_frame(layout, max(width, _widest(layout, where)), where, None))
    except tried as trouble:
        if opened := _OPEN_QUOTE.search(str(trouble)):
            raise BadFile(
                "a quote is opened and never closed",
                where=f"{where}, line {layout.record(int(opened[1])).line}",
                wanted="quotes in pairs",
            ) from trouble
        raise BadFile(
            f"the rows are no table ({visible(str(trouble), 120)})",
            where=f"{where}, from line {layout.data_line}",
            wanted="as many cells in every row, and quotes in pairs",
        ) from trouble


def _of_numbers(layout: Layout, where: str) -> list[Array]:
    """The columns where all cells are numbers; a large body is parsed in pieces, side by side.

    Raises `ValueError` for a cell that is no number, and for a large body with letters in it or
    with rows that cannot be told by their line feeds.
    """
    import numpy as np

    # A row with a cell more than the first ones have is an error, and parsed again with room for
    # it: a column of nothing takes its time, too.
    width = max(len(layout.header.columns), *(len(row.cells) for row in layout.first))
    pieces = layout.pieces(width, max(2, cores()))  # on one core it saves memory, and so time
    if len(pieces) < 2:
        return _arrays(_frame(layout, width, where, np.float64))
    ends = [0, *accumulate(on_cores(lambda piece: piece.count_of(b"\n"), pieces))]
    ends[-1] += not pieces[-1].content.endswith(b"\n")
    _check_amount(ends[-1], width, where)
    columns = list(np.empty((width, ends[-1])))

    def fill(piece: Source, first: int, end: int) -> None:
        _refuse_truth(piece)
        at = first
        with _read(piece, layout, width, np.float64, chunksize=_ROWS) as reader:
            for frame in reader:
                rows = slice(at, at := at + len(frame))
                if at <= end:
                    for column, (_, values) in zip(columns, frame.items(), strict=True):
                        column[rows] = values.to_numpy()
        if at != end:
            raise ValueError(f"{end - first} line feeds but {at - first} rows")

    on_cores(fill, pieces, ends, ends[1:])
    return columns


def _refuse_truth(source: Source) -> None:
    """Refuse what may be ``True`` or ``False``: a piece is parsed some rows at a time, and of those
    that hold nothing else pandas makes ones and zeros."""
    if any(source.content.find(letter, source.at, source.end) >= 0 for letter in _TRUTH):
        raise ValueError("letters among the numbers")


def _arrays(frame: pd.DataFrame) -> list[Any]:
    """The columns of a frame; those of a large one are not copied."""
    if frame.size <= _FEW_CELLS and all(kind.kind == "f" for kind in frame.dtypes.tolist()):
        return list(frame.to_numpy().T)
    return [series.to_numpy() for _, series in frame.items()]


def _is_of_numbers(column: Array, at: int, layout: Layout) -> bool:
    """Whether a column is what it was asked to be parsed as: of ``True`` and ``False`` pandas
    makes numbers, too."""
    import numpy as np

    first = (row.cells[at] for row in layout.first if at < len(row.cells) and row.cells[at])
    cell = next(first, None)
    if cell is None:
        recorded = np.flatnonzero(~np.isnan(column))
        if not len(recorded):
            return True
        cells = layout.record(int(recorded[0])).cells
        cell = cells[at] if at < len(cells) else ""
    return looks_numeric(cell)


def _widest(layout: Layout, where: str) -> int:
    widest = max(layout.records(), key=lambda row: len(row.cells))
    if len(widest.cells) > MAX_COLUMNS:
        raise too_wide(widest, where)
    return len(widest.cells)


def _frame(layout: Layout, width: int, where: str, kinds: Any) -> pd.DataFrame:
    """The body as pandas parses it, its columns of these kinds, or of those it finds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about columns of mixed kinds: gone over below
        frame = _read(layout.source(), layout, width, kinds, nrows=MAX_CELLS // width + 1)
    _check_amount(len(frame), width, where)
    return frame


def _check_amount(rows: int, width: int, where: str) -> None:
    if rows > MAX_CELLS // width:
        raise BadFile(
            f"the table has more than {MAX_CELLS // 1_000_000} million cells",
            where=where,
            wanted="the pull alone, cut out of the long log",
        )


def _read(source: Source, layout: Layout, width: int, kinds: Any, **amount: int) -> Any:
    """Rows of a body as pandas reads them: a frame, or with `chunksize` a reader of frames."""
    import pandas as pd

    blanks = layout.delimiter == BLANKS
    quoted_cells = layout.quoted and not blanks
    return pd.read_csv(
        source,
        sep=r"\s+" if blanks else layout.delimiter,
        header=None,
        names=list(range(width)),
        index_col=False,
        dtype=kinds,
        decimal=layout.marks.decimal,
        na_values=[""],
        keep_default_na=False,
        skip_blank_lines=False,
        skipinitialspace=quoted_cells,
        quoting=csv.QUOTE_MINIMAL if quoted_cells else csv.QUOTE_NONE,
        low_memory=False,  # all rows at once: of a part that is all True it would make ones
        **amount,
    )


def _texts(layout: Layout) -> frozenset[int]:
    """The columns that are no numbers in the first rows."""
    return frozenset(
        at
        for row in layout.first
        for at, cell in enumerate(row.cells)
        if cell and not looks_numeric(cell)
    )
