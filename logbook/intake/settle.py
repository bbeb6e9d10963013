"""Units that the header does not give: settled by arithmetic, or asked for in a refusal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from logbook.engineering.engine import KW_PER_NM_RPM
from logbook.intake.columns import Column
from logbook.intake.essentials import Essentials, stored
from logbook.intake.unsettled import UnsettledColumns
from logbook.records.caution import Caution

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

_AGREE = 0.01
# hp and PS are 1.4 % apart, and so may power and torque × speed be: that settles nothing.
_APART = 0.03
# With neither unit given only the two pairs are tried that are written together; lb·ft with kW
# and N·m with PS would lie within 0.3 % of each other.
_PAIRS = (("lb·ft", "hp"), ("N·m", "kW"))
_POWER_UNITS = {"lb·ft": ("hp", "kW"), "N·m": ("kW", "hp", "PS")}
_TORQUE_UNITS = ("lb·ft", "N·m")
_EXAMPLES = {
    "torque": '"Torque [lb-ft]" or "Torque [N·m]"',
    "power": '"Power [hp]" or "Power [kW]"',
}


def settle_units(
    chosen: Essentials, columns: Sequence[Column], values: Mapping[str, Array], *, where: str
) -> None:
    """Fill `chosen.units` for the taken columns, cautions for those the header does not give.

    `values` are the recorded numbers by quantity, shape (samples,), without NaN. Speed without
    a unit is rpm. Torque and power are tried in each pair of units; where power = torque × speed
    holds within 1 % (median of the samples) in one of them, and in no other within 3 %, that
    is it.

    Raises `UnsettledColumns` (`where` names file and header line) with the column that needs a
    unit.
    """
    for quantity, at in chosen.taken.items():
        column = columns[at]
        if column.kind is not None:
            chosen.units[at] = column.unit
        elif quantity == "engine speed":
            chosen.units[at] = "rpm"
            chosen.cautions.append(
                Caution("unit-assumed", f"{column.quoted} has no unit and was taken as rpm")
            )
    unknown = [q for q, at in chosen.taken.items() if at not in chosen.units]
    if not unknown:
        return
    both = {"torque", "power"} <= chosen.taken.keys()
    found = _agreeing(chosen, values) if both else None
    if found is None:
        column = columns[chosen.taken[unknown[0]]]
        reason = ", and torque × speed against power does not settle it" if both else ""
        raise UnsettledColumns(
            f"column {column.quoted} has no unit{reason}",
            where=where,
            wanted=f"the unit in the header, such as {_EXAMPLES[unknown[0]]}; or say it once for"
            f" such files, `pull add --column '{unknown[0]}={column.name} [UNIT]'`",
        )
    torque_unit, power_unit = found
    chosen.units[chosen.taken["torque"]] = torque_unit
    chosen.units[chosen.taken["power"]] = power_unit
    names = " and ".join(columns[chosen.taken[quantity]].quoted for quantity in unknown)
    chosen.cautions.append(
        Caution(
            "unit-inferred",
            f"{names} without a unit: torque × speed gives the power only in"
            f" {torque_unit} and {power_unit}, so these were taken",
        )
    )


def _agreeing(chosen: Essentials, values: Mapping[str, Array]) -> tuple[str, str] | None:
    """The one pair of torque and power unit in which power = torque × speed."""
    import numpy as np

    speed_unit = chosen.units[chosen.taken["engine speed"]]
    speed = stored(values["engine speed"], speed_unit, "engine speed")
    printed = np.abs(values["power"])
    counts = printed > 0.05 * np.max(printed)  # near nought the last digit printed is too much
    if not counts.any():
        return None
    tried: list[tuple[float, tuple[str, str]]] = []
    for torque_unit, power_unit in _pairs(
        chosen.units.get(chosen.taken["torque"]), chosen.units.get(chosen.taken["power"])
    ):
        power = stored(values["power"][counts], power_unit, "power")
        torque = stored(values["torque"][counts], torque_unit, "torque")
        off = np.abs(torque * speed[counts] * KW_PER_NM_RPM / power - 1)
        tried.append((float(np.median(off)), (torque_unit, power_unit)))
    tried.sort()
    settled = tried[0][0] <= _AGREE and all(off > _APART for off, _ in tried[1:])
    return tried[0][1] if settled else None


def _pairs(torque_unit: str | None, power_unit: str | None) -> tuple[tuple[str, str], ...]:
    """The pairs of units to try, given what the header says of them."""
    if torque_unit:
        return tuple((torque_unit, p) for p in _POWER_UNITS.get(torque_unit, _POWER_UNITS["N·m"]))
    if power_unit:
        return tuple((t, power_unit) for t in _TORQUE_UNITS)
    return _PAIRS
