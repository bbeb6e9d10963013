"""Several time bases → one table: the load's samples stay as they are, others are brought to them.

A recording may hold torque a hundred times a second and temperatures ten times. The rows of the
table are the samples of the time base that has the torque taken, else the power, else the wheel
force: the load is never computed from other samples. Everything else is interpolated
between the two samples around a row's time, never beyond the first or last; counts and states
without a unit keep the value that was last recorded. Which channels that is, is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from logbook.intake.cells import Cells
from logbook.intake.columns import Column, describe
from logbook.intake.complete import Rows, Table, complete
from logbook.intake.essentials import choose
from logbook.intake.numbers import MOST_DECIMALS
from logbook.intake.unsettled import FIRST_VALUES
from logbook.intake.wheel import is_wheel, with_wheel_power
from logbook.records.caution import Caution

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from logbook.intake.recording import Base, Recorded, Recording

    Array = npt.NDArray[np.float64]

_LONGEST_NAME = 200
_MORE_DIGITS = 2  # of an interpolated value, beyond those of the samples around it
_LISTED = 8
_WORDS = {
    "interpolated": "recorded at other times than the load, and interpolated to its times (as"
    " recorded only in the kept file)",
    "no-time": "recorded without a time in common with the load, and empty here (as recorded only"
    " in the kept file)",
    "rounded": "whole numbers of more than 15 digits, rounded here (exact only in the kept file)",
}


def columns_of(recording: Recording) -> tuple[Column, ...]:
    """The columns that the recording names, base by base."""
    return tuple(column for base in recording.bases for column in _described(base))


def _described(base: Base) -> Iterator[Column]:
    for at, one in enumerate(base.columns):
        column = describe(one.name[:_LONGEST_NAME], one.unit[:_LONGEST_NAME])
        if at == base.time:
            column = replace(column, unit="s", kind="time", quantity="time", meant="time")
        yield column


def first_values(recording: Recording) -> Iterator[list[str]]:
    """The first values of each of the columns of `columns_of`, as text."""
    import numpy as np

    for base in recording.bases:
        for one in base.columns:
            if one.text is not None:
                yield [one.text]
            else:
                some = one.values[~np.isnan(one.values)][:FIRST_VALUES]
                yield [f"{value:.10g}" for value in some.tolist()]


def table_of(recording: Recording, columns: Sequence[Column], *, where: str) -> Table:
    """The table of a recording: every row has speed and load, in units that are settled.

    `columns` are those of `columns_of`, with what a person has said about them. Raises `BadFile`
    (`where` names the file) where there is no engine speed, or no load.
    """
    kept, cells, cautions = _one_table(recording, columns, where)
    kept, cells, more = with_wheel_power(kept, cells)
    chosen = choose(kept, cells, where=where)
    count = max(len(one.values) for one in cells if one.values is not None)
    rows = Rows(where, where, "sample", lambda row: row + 1)
    return complete(kept, cells, chosen, count, rows, [*cautions, *more])


def _one_table(
    recording: Recording, columns: Sequence[Column], where: str
) -> tuple[tuple[Column, ...], list[Cells], list[Caution]]:
    """The columns of one table, their cells, and what is to be said about them."""
    placed = [
        (base, one, column)
        for (base, one), column in zip(
            ((base, one) for base in recording.bases for one in base.columns), columns, strict=True
        )
    ]
    rows = _base_of_load(placed, where)
    kept: list[Column] = []
    cells: list[Cells] = []
    said: dict[str, list[str]] = {"interpolated": [], "no-time": [], "rounded": []}
    for base, one, column in placed:
        is_time = base.time is not None and base.columns[base.time] is one
        if base is not rows and is_time:
            continue  # it is what the others are brought over by
        same = base is rows or _same_times(base, rows)
        if one.rounded:
            said["rounded"].append(column.quoted)
        if not same and one.text is None:
            timed = base.time is not None and rows.time is not None
            said["interpolated" if timed else "no-time"].append(column.quoted)
        kept.append(column)
        cells.append(_cells(one, base, rows, column, same=same))
    return tuple(kept), cells, [_caution(code, names) for code, names in said.items() if names]


def _base_of_load(placed: Sequence[tuple[Base, Recorded, Column]], where: str) -> Base:
    columns = [column for _, _, column in placed]
    cells = [Cells(None if one.text else one.values, clock=one.clock) for _, one, _ in placed]
    at = next((at for at, one in enumerate(columns) if is_wheel("wheel force", one)), None)
    if at is None or any(one.quantity in ("torque", "power") for one in columns):
        taken = choose(columns, cells, where=where).taken
        at = taken.get("torque", taken.get("power"))
    assert at is not None  # else it was refused
    return placed[at][0]


def _cells(one: Recorded, base: Base, rows: Base, column: Column, *, same: bool) -> Cells:
    import numpy as np

    if one.text is not None:
        has = one.values > 0 if same else np.full(rows.samples, bool(one.values.any()))
        first = int(has.argmax()) if has.any() else None
        return Cells(None, strays=() if first is None else ((first, one.text),), said=has)
    if same:
        return Cells(one.values, one.decimals, clock=one.clock)
    if base.time is None or rows.time is None or not base.samples:
        return Cells(np.full(rows.samples, np.nan), 0)
    times, at = base.columns[base.time].values, rows.columns[rows.time].values
    held = one.whole and column.kind is None and column.quantity is None
    values, decimals = _at_times(times, one.values, at, held=held), one.decimals
    if not held and decimals < MOST_DECIMALS:
        decimals = min(decimals + _MORE_DIGITS, MOST_DECIMALS)
        values = np.round(values, decimals)
    return Cells(values, decimals)


def _at_times(times: Array, values: Array, at: Array, *, held: bool) -> Array:
    """Values (samples,) of `times` at other times, NaN before the first and after the last.

    Between two samples of which one is missing there is nothing.
    """
    import numpy as np

    known = np.flatnonzero(~np.isnan(times))
    known = known[np.argsort(times[known], kind="stable")]
    times, values = times[known], values[known]
    if not len(times):
        return np.full(len(at), np.nan)
    before = np.searchsorted(times, at, side="right") - 1
    inside = (before >= 0) & (at <= times[-1])
    before = np.clip(before, 0, len(times) - 1)
    after = np.minimum(before + 1, len(times) - 1)
    result = values[before].copy()
    if not held:
        between = inside & (at > times[before])
        low, high = before[between], after[between]
        share = (at[between] - times[low]) / (times[high] - times[low])
        result[between] = values[low] + share * (values[high] - values[low])
    result[~inside] = np.nan
    return result


def _same_times(base: Base, rows: Base) -> bool:
    import numpy as np

    if base.samples != rows.samples:
        return False
    if base.time is None or rows.time is None:
        return base.time is rows.time
    return np.array_equal(
        base.columns[base.time].values, rows.columns[rows.time].values, equal_nan=True
    )


def _caution(code: str, names: Sequence[str]) -> Caution:
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    return Caution(code, f"{', '.join(names[:_LISTED])}{more}: {_WORDS[code]}")
