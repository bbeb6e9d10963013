"""The samples that count: those with speed and load, in units that are settled."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.intake.cells import Cells
from logbook.intake.columns import Column
from logbook.intake.essentials import (
    Essentials,
    check_load,
    check_speed,
    duplicate_cautions,
    stored,
)
from logbook.intake.settle import settle_units
from logbook.intake.text import quoted
from logbook.records.caution import Caution
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

LEAST_SAMPLES = 3


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """Columns with their samples, every one of which has speed and load.

    `speed_rpm` and `load` (torque, else power) have shape (samples,).
    """

    columns: tuple[Column, ...]
    cells: tuple[Cells, ...]
    chosen: Essentials
    speed_rpm: Array
    load: Array
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """How people find a row in the source.

    `where` names the file, `header` the file and where its columns are named; `noun` is what a
    row is called there, `number` gives the number that it has there.
    """

    where: str
    header: str
    noun: str
    number: Callable[[int], int]

    def name(self, row: int) -> str:
        """Such as ``line 12``, for row `row` from 0."""
        return f"{self.noun} {self.number(row)}"


def complete(
    columns: tuple[Column, ...],
    cells: Sequence[Cells],
    chosen: Essentials,
    count: int,
    rows: Rows,
    cautions: Sequence[Caution],
) -> Table:
    """The table of the `count` rows that have speed and load; what was left out is said.

    Raises `BadFile` for speeds no engine has, a missing unit, and fewer than `LEAST_SAMPLES`
    samples.
    """
    import numpy as np

    said = list(cautions)
    blank, missing = _gaps(cells, chosen, count)
    kept = ~(blank | missing)
    dropped = int(np.count_nonzero(missing))
    left = np.flatnonzero(kept)
    if len(left) < LEAST_SAMPLES:
        raise BadFile(
            f"there are only {len(left)} samples with speed and load",
            where=rows.where,
            wanted=f"{LEAST_SAMPLES} or more",
        )
    if dropped:
        names = " or ".join(columns[at].quoted for at in chosen.taken.values())
        said.append(
            Caution(
                "rows-dropped",
                f"{dropped} {rows.noun if dropped == 1 else f'{rows.noun}s'} with nothing under"
                f" {names} left out, the first is {rows.name(int(np.flatnonzero(missing)[0]))}",
            )
        )
    said += _stray_cautions(columns, cells, chosen, rows)
    if dropped or len(left) < count:
        cells = [data.only(kept) for data in cells]
    values = {quantity: _values(cells[at]) for quantity, at in chosen.taken.items()}
    settle_units(chosen, columns, values, where=rows.header)
    at = chosen.taken["engine speed"]
    speed_rpm = stored(values["engine speed"], chosen.units[at], "engine speed")

    def where_of(sample: int) -> str:
        return f"{rows.where}, {rows.name(int(left[sample]))}"

    check_speed(speed_rpm, columns[at], where_of, where=rows.header)
    check_load(chosen, columns, values, where_of)
    said += chosen.cautions
    said += duplicate_cautions(chosen, columns, [data.values for data in cells])
    return Table(
        columns=columns,
        cells=tuple(cells),
        chosen=chosen,
        speed_rpm=speed_rpm,
        load=values.get("torque", values.get("power", speed_rpm)),
        cautions=tuple(said),
    )


def _values(data: Cells) -> Array:
    assert data.values is not None
    return data.values


def _gaps(cells: Sequence[Cells], chosen: Essentials, count: int) -> tuple[Flags, Flags]:
    """Rows that are wholly blank, and rows that are not but lack speed, torque or power."""
    import numpy as np

    numeric = [data.values for data in cells if data.values is not None]
    missing = np.zeros(count, dtype=bool)
    for at in chosen.taken.values():
        missing |= np.isnan(_values(cells[at]))
    if not missing.any():
        return missing, missing
    blank = np.ones(count, dtype=bool)
    for values in numeric:
        blank &= np.isnan(values)
    for data in cells:
        if data.said is not None:
            blank &= ~data.said
        blank[[row for row, _ in data.strays]] = False
    return blank, missing & ~blank


def _stray_cautions(
    columns: Sequence[Column], cells: Sequence[Cells], chosen: Essentials, rows: Rows
) -> list[Caution]:
    """Cautions for cells of other channels that are no numbers and are taken as missing."""
    cautions = []
    for at, (column, data) in enumerate(zip(columns, cells, strict=True)):
        if data.values is None or not data.strays or at in chosen.taken.values():
            continue
        row, text = data.strays[0]
        number = len(data.strays)
        cautions.append(
            Caution(
                "cells-unread",
                f"{column.quoted}: {number} {'cell is' if number == 1 else 'cells are'} no"
                f" number and taken as missing, the first on {rows.name(row)}"
                f" ({quoted(text)})",
            )
        )
    return cautions
