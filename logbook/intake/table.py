"""The samples that count: essential columns checked line by line, rows without them dropped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.intake.cells import Cells, read_cells
from logbook.intake.columns import Column
from logbook.intake.essentials import Essentials, check_speed, choose, duplicate_cautions, stored
from logbook.intake.layout import Layout
from logbook.intake.numbers import is_not_finite, looks_numeric
from logbook.intake.settle import settle_units
from logbook.intake.text import quoted
from logbook.intake.wheel import wheel_power
from logbook.records.caution import Caution
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]

LEAST_SAMPLES = 3
_FOOTER_LINES = 20


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


def read_table(layout: Layout, *, where: str) -> Table:
    """The samples of a table whose layout is known.

    Raises `BadFile` with file and line for what is no number in speed, torque or power, for
    speeds no engine has, a missing unit, and fewer than `LEAST_SAMPLES` samples.
    """
    import numpy as np

    columns = layout.header.columns
    at_header = f"{where}, line {layout.header.lines[0]}"
    cells = read_cells(layout, where=where)
    columns, cells, cautions = _with_wheel_power(columns, cells)
    chosen = choose(columns, cells, where=at_header)
    count, footer = _without_footer(layout, cells, chosen)
    if footer:
        cautions.append(Caution("footer", f"Left out below the samples: {footer}"))
    cells = [data.until(count) for data in cells]
    _refuse_strays(layout, columns, cells, chosen, where)
    blank, missing = _gaps(cells, chosen, count)
    kept = ~(blank | missing)
    dropped = int(np.count_nonzero(missing))
    rows = np.flatnonzero(kept)
    if len(rows) < LEAST_SAMPLES:
        raise BadFile(
            f"there are only {len(rows)} samples with speed and load",
            where=where,
            wanted=f"{LEAST_SAMPLES} or more",
        )
    if dropped:
        names = " or ".join(columns[at].quoted for at in chosen.taken.values())
        first = layout.record(int(np.flatnonzero(missing)[0])).line
        cautions.append(
            Caution(
                "rows-dropped",
                f"{dropped} {'line' if dropped == 1 else 'lines'} with nothing under {names} left"
                f" out, the first is line {first}",
            )
        )
    cautions += _stray_cautions(layout, columns, cells, chosen)
    if dropped or len(rows) < count:
        cells = [data.only(kept) for data in cells]
    values = {quantity: _values(cells[at]) for quantity, at in chosen.taken.items()}
    settle_units(chosen, columns, values, where=at_header)
    at = chosen.taken["engine speed"]
    speed_rpm = stored(values["engine speed"], chosen.units[at], "engine speed")
    check_speed(
        speed_rpm,
        columns[at],
        lambda sample: f"{where}, line {layout.record(int(rows[sample])).line}",
        where=at_header,
    )
    cautions += chosen.cautions
    cautions += duplicate_cautions(chosen, columns, [data.values for data in cells])
    return Table(
        columns=columns,
        cells=tuple(cells),
        chosen=chosen,
        speed_rpm=speed_rpm,
        load=values.get("torque", values.get("power", speed_rpm)),
        cautions=tuple(cautions),
    )


def _with_wheel_power(
    columns: tuple[Column, ...], cells: list[Cells]
) -> tuple[tuple[Column, ...], list[Cells], list[Caution]]:
    """A column of power more, where a log has wheel force and road speed and no other load."""
    if any(column.quantity in ("torque", "power") for column in columns):
        return columns, cells, []
    found = wheel_power(columns, cells)
    if found is None:
        return columns, cells, []
    column, data, caution = found
    return (*columns, column), [*cells, data], [caution]


def _values(data: Cells) -> Array:
    assert data.values is not None
    return data.values


def _without_footer(layout: Layout, cells: Sequence[Cells], chosen: Essentials) -> tuple[int, str]:
    """How many rows are left without closing remarks ("End of log"), and the first of those."""
    count = max((len(data.values) for data in cells if data.values is not None), default=0)
    strays = {row for at in chosen.taken.values() for row, _ in cells[at].strays}
    strays |= {row for data in cells for row, _ in data.strays if row >= count - _FOOTER_LINES}
    first = ""
    end = count
    for row in range(count - 1, max(count - 1 - _FOOTER_LINES, -1), -1):
        if row not in strays:
            break
        record = layout.record(row)
        words = [cell for cell in record.cells if cell]
        if len(words) != 1 or looks_numeric(words[0]):
            break
        end, first = row, f"line {record.line}, {quoted(words[0])}"
    return end, first


def _refuse_strays(
    layout: Layout,
    columns: Sequence[Column],
    cells: Sequence[Cells],
    chosen: Essentials,
    where: str,
) -> None:
    """Refuse the first cell of speed, torque or power that is no finite number."""
    strays = [
        (row, text, columns[at])
        for at in chosen.taken.values()
        for row, text in cells[at].strays[:1]
    ]
    if not strays:
        return
    row, text, column = min(strays, key=lambda stray: stray[0])
    said = f"{quoted(text)} in column {column.quoted} is no"
    said += " finite number" if is_not_finite(text) or looks_numeric(text) else " number"
    mark = "comma" if layout.marks.decimal == "," else "point"
    raise BadFile(
        said,
        where=f"{where}, line {layout.record(row).line}",
        wanted=f"a number (this file's decimal mark is a {mark}), or an empty cell",
    )


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
    layout: Layout, columns: Sequence[Column], cells: Sequence[Cells], chosen: Essentials
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
                f" number and taken as missing, the first on line {layout.record(row).line}"
                f" ({quoted(text)})",
            )
        )
    return cautions
