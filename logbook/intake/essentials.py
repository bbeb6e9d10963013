"""Engine speed, torque and power among the columns: which are taken, which left aside."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from logbook.engineering.limits import LIMITS
from logbook.intake.cells import Cells
from logbook.intake.columns import Column
from logbook.intake.text import quoted
from logbook.intake.unsettled import UnsettledColumns
from logbook.intake.words import KIND_OF
from logbook.quantities import linear
from logbook.records.caution import Caution
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

ESSENTIALS = ("engine speed", "torque", "power")

_FASTEST_RPM = LIMITS["speed"][2]
# In the stored units: no engine has nearly as much, and its curve could not be computed.
_MOST = {"torque": 1e8, "power": 1e7}
_SLOWEST_RPM = 50.0  # an engine that never turns faster has its speed in another unit
_DIFFERENT = 0.01
_LISTED = 12


@dataclass(slots=True)
class Essentials:
    """Column numbers taken as speed, torque and power, by quantity, and their units.

    `left_aside` are columns of the same quantities that were not taken.
    """

    taken: dict[str, int] = field(default_factory=dict)
    left_aside: set[int] = field(default_factory=set)
    units: dict[int, str] = field(default_factory=dict)
    cautions: list[Caution] = field(default_factory=list)


def stored(values: Array, unit: str, quantity: str) -> Array:
    """Values of a quantity in `unit`, converted to the unit it is stored in."""
    factor, offset = linear(unit, KIND_OF[quantity])
    return values * factor + offset


def choose(columns: Sequence[Column], cells: Sequence[Cells], *, where: str) -> Essentials:
    """Which columns are speed, torque and power.

    An observed column goes before a corrected one, the plainer name before the other, then the
    first. With one of torque and power observed and the other corrected, the corrected one is
    left aside: they would contradict each other, and one is enough.

    Raises `UnsettledColumns` (`where` names file and header line) for no speed, or neither torque
    nor power, listing the columns found.
    """
    chosen = Essentials()
    for quantity in ESSENTIALS:
        found = [
            at
            for at, column in enumerate(columns)
            if column.quantity == quantity
            and not cells[at].clock
            and (cells[at].recorded or cells[at].strays)
        ]
        if found:
            best = min(found, key=lambda at: _order(columns[at], cells[at]))
            chosen.taken[quantity] = best
            chosen.left_aside |= set(found) - {best}
    torque, power = chosen.taken.get("torque"), chosen.taken.get("power")
    if "engine speed" not in chosen.taken:
        raise UnsettledColumns(
            f"there is no engine speed column; the columns are {_listed(columns)}",
            where=where,
            wanted='a column such as "Engine speed [rpm]";'
            " `pull add --column 'engine speed=N [rpm]'` says which one it is",
        )
    if torque is None and power is None:
        raise UnsettledColumns(
            f"there is neither torque nor power{_misfit(columns)};"
            f" the columns are {_listed(columns)}",
            where=where,
            wanted='a column such as "Torque [lb-ft]" or "Power [kW]", or wheel force and'
            " road speed; `pull add --column 'torque=TQ [lb-ft]'` says which one it is",
        )
    if torque is not None and power is not None:
        _leave_corrected(chosen, columns, torque, power)
    return chosen


def _order(column: Column, cells: Cells) -> tuple[bool, bool, int, bool]:
    return (cells.values is None, column.corrected, column.rank, column.kind is None)


def _leave_corrected(
    chosen: Essentials, columns: Sequence[Column], torque: int, power: int
) -> None:
    if columns[torque].corrected == columns[power].corrected:
        return
    quantity, at = ("torque", torque) if columns[torque].corrected else ("power", power)
    del chosen.taken[quantity]
    chosen.left_aside.add(at)
    chosen.cautions.append(
        Caution(
            "corrected-column",
            f"{columns[at].quoted} is corrected by its name and was left aside:"
            f" {quantity} is computed from the observed column",
        )
    )


def _listed(columns: Sequence[Column]) -> str:
    names = [column.quoted for column in columns if column.name]
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    return ", ".join(names[:_LISTED]) + more


def _misfit(columns: Sequence[Column]) -> str:
    """Why a column that is named torque or power was not taken."""
    for column in columns:
        if column.meant in ("torque", "power") and column.quantity is None:
            why = "a unit of something else" if column.kind else "not a known unit"
            return f" ({quoted(column.name)} is in {quoted(column.unit)}, {why})"
    return ""


def check_speed(
    speed_rpm: Array,
    column: Column,
    where_of: Callable[[int], str],
    *,
    where: str,
) -> None:
    """Refuse speeds no engine has.

    `where_of` names file and line of a sample, `where` file and header line.
    """
    import numpy as np

    at = int(np.argmax(np.abs(speed_rpm)))
    greatest = float(np.max(speed_rpm))
    beyond = float(speed_rpm[at])
    if abs(beyond) > _FASTEST_RPM:
        bound = f"{'above ' if beyond > 0 else 'below -'}{_FASTEST_RPM:.0f}"
        raise BadFile(
            f"{column.quoted} is {beyond:.6g} rpm, {bound} rpm",
            where=where_of(at),
            wanted="the engine speed in the unit that the header names",
        )
    if greatest < _SLOWEST_RPM:
        raise BadFile(
            f"{column.quoted} never rises above {greatest:.6g} rpm",
            where=where,
            wanted="the engine speed in the unit that the header names, thousands written out",
        )


def check_load(
    chosen: Essentials,
    columns: Sequence[Column],
    values: Mapping[str, Array],
    where_of: Callable[[int], str],
) -> None:
    """Refuse torque and power that no engine has, such as what stands for a broken sensor.

    `values` are the recorded numbers by quantity, `where_of` names file and line of a sample.
    """
    import numpy as np

    for quantity, most in _MOST.items():
        if quantity not in chosen.taken:
            continue
        at = chosen.taken[quantity]
        greatest = int(np.argmax(np.abs(values[quantity])))
        value, unit = float(values[quantity][greatest]), chosen.units[at]
        if abs(value) > most / linear(unit, KIND_OF[quantity])[0]:
            raise BadFile(
                f"{columns[at].quoted} is {value:.6g} {unit}, which no engine has",
                where=where_of(greatest),
                wanted=f"the {quantity}, or an empty cell where there is none",
            )


def duplicate_cautions(
    chosen: Essentials, columns: Sequence[Column], values: Sequence[Array | None]
) -> list[Caution]:
    """Cautions for columns left aside that contradict the one taken by more than 1 %."""
    import numpy as np

    cautions = []
    for quantity, at in chosen.taken.items():
        ours = values[at]
        for other in sorted(chosen.left_aside):
            column, theirs = columns[other], values[other]
            same = column.quantity == quantity and column.corrected == columns[at].corrected
            if not same or ours is None or theirs is None or column.kind is None:
                continue
            mine = stored(ours, chosen.units[at], quantity)
            apart = np.abs(stored(theirs, column.unit, quantity) - mine)
            if np.nanmax(apart, initial=0.0) > _DIFFERENT * np.max(np.abs(mine)):
                cautions.append(
                    Caution(
                        "duplicate-column",
                        f"columns {at + 1} and {other + 1}, {columns[at].quoted} and"
                        f" {column.quoted}, both give the {quantity} and differ:"
                        f" column {at + 1} was taken",
                    )
                )
    return cautions


def corrected_names(chosen: Essentials, columns: Sequence[Column]) -> tuple[str, ...]:
    """The taken torque and power columns whose own name says that they are corrected."""
    return tuple(
        columns[at].shown
        for quantity, at in chosen.taken.items()
        if quantity != "engine speed" and columns[at].corrected
    )
