"""Logs from rollers: wheel force × road speed is power, where a file gives no other load."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.intake.cells import Cells
from logbook.intake.columns import Column
from logbook.records.caution import Caution

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# Quantities that only this file knows, and their units in newtons and meters a second.
# The pound-force and the mile are exact by definition: 0.45359237 kg × 9.80665 m/s², 1609.344 m.
WHEEL: dict[str, dict[str, float]] = {
    "wheel force": {
        "n": 1.0, "kn": 1000.0, "dan": 10.0, "lbf": 4.4482216152605, "lb": 4.4482216152605,
        "lbs": 4.4482216152605, "kgf": 9.80665, "kp": 9.80665,
    },
    "road speed": {
        "km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "mph": 0.44704, "m/s": 1.0, "mps": 1.0,
    },
}  # fmt: skip
_NAMES = {
    "wheel force": {"wheel force", "tractive force", "traction force", "tractive effort",
                    "roller force", "drum force", "zugkraft"},
    "road speed": {"road speed", "vehicle speed", "wheel speed", "roller speed", "drum speed",
                   "ground speed", "fahrgeschwindigkeit"},
}  # fmt: skip
NAME = "Wheel force × road speed"
_DECIMALS = 3


def unit_factor(quantity: str, unit: str) -> float | None:
    """What takes a wheel quantity in `unit` to newtons or meters a second."""
    return WHEEL[quantity].get(unit.strip().casefold())


def with_wheel_power(
    columns: tuple[Column, ...], cells: list[Cells]
) -> tuple[tuple[Column, ...], list[Cells], list[Caution]]:
    """A column of power more, where a log has wheel force and road speed and no other load."""
    if any(column.quantity in ("torque", "power") for column in columns):
        return columns, cells, []
    found = _wheel_power(columns, cells)
    if found is None:
        return columns, cells, []
    column, data, caution = found
    return (*columns, column), [*cells, data], [caution]


def _wheel_power(
    columns: Sequence[Column], cells: Sequence[Cells]
) -> tuple[Column, Cells, Caution] | None:
    """Power at the wheels in kW as a column of its own, where force and road speed are there.

    Rounded to whole watts. ``None`` where one of the two is missing or has no known unit.
    """
    force, speed = (_column(quantity, columns, cells) for quantity in WHEEL)
    if force is None or speed is None:
        return None
    newtons, meters = (
        _si("wheel force", columns, cells, force),
        _si("road speed", columns, cells, speed),
    )
    column = Column(NAME, "kW", "power", "power", "power", 1, corrected=False)
    named = f"{columns[force].quoted} × {columns[speed].quoted}"
    caution = Caution("wheel-power", f"Power is computed from {named}: it is power at the wheels")
    return column, Cells((newtons * meters / 1000).round(_DECIMALS), _DECIMALS), caution


def is_wheel(quantity: str, column: Column) -> bool:
    """Whether a column is that wheel quantity, by its name or by what a person has said."""
    named = " ".join(column.name.replace("_", " ").replace("-", " ").split()).casefold()
    meant = column.quantity == quantity or named in _NAMES[quantity]
    return meant and unit_factor(quantity, column.unit) is not None


def _column(quantity: str, columns: Sequence[Column], cells: Sequence[Cells]) -> int | None:
    for at, (column, data) in enumerate(zip(columns, cells, strict=True)):
        if data.recorded and is_wheel(quantity, column):
            return at
    return None


def _si(
    quantity: str, columns: Sequence[Column], cells: Sequence[Cells], at: int
) -> npt.NDArray[np.float64]:
    values, factor = cells[at].values, unit_factor(quantity, columns[at].unit)
    assert values is not None
    assert factor is not None
    return values * factor
