"""Stored numbers in the user's units."""

from __future__ import annotations

import math
from collections.abc import Mapping

from logbook.quantities.convert import from_stored
from logbook.quantities.kinds import KINDS
from logbook.unit_systems import UNIT_SYSTEMS

NOTHING = "—"

_DIGITS: Mapping[str, int] = {
    "inHg": 2,
    "kPa": 2,
    "°C": 1,
    "°F": 1,
    "K": 1,
    "N·m": 1,
    "lb·ft": 1,
    "kW": 1,
    "hp": 1,
    "rpm": 0,
    "rpm/s": 0,
    "mm": 2,
    "in": 3,
    "kg": 3,
    "lb": 2,
    "N": 1,
    "lbf": 1,
    "psi": 0,
    "m": 0,
    "ft": 0,
    "L": 3,
    "in³": 1,
    "cm³": 2,
    "µm": 2,
    "µin": 1,
    "deg": 1,
    "kg/h": 1,
    "lb/h": 1,
    "L/min": 1,
    "cfm": 2,
    "kg/m³": 3,
    "s": 1,
    "min": 0,
    "kg·m²": 4,
    "lb·ft²": 3,
    "": 3,
    "%": 1,
    "lb/(hp·h)": 3,
    "g/kWh": 1,
    "BTU/lb": 0,
    "MJ/kg": 2,
    "gr/lb": 1,
    "g/kg": 2,
}


def display_unit(kind: str, system: str) -> str:
    """The unit in which a kind is shown; `system` is ``"us"`` or ``"metric"``."""
    if system not in UNIT_SYSTEMS:
        raise ValueError(f"unit system {system!r} is neither 'us' nor 'metric'")
    quantity = KINDS[kind]
    return quantity.us if system == "us" else quantity.metric


def show(
    value: float | None, kind: str, system: str, *, digits: int | None = None, unit: bool = True
) -> str:
    """A stored value as text in the user's unit: ``"29.50 inHg"``, ``"32.0°"``; ``"—"`` for none.

    `digits` after the point default to what the unit deserves; `unit` false leaves it away.
    """
    if value is None or not math.isfinite(value):
        return NOTHING
    label = display_unit(kind, system)
    places = _DIGITS[label] if digits is None else digits
    number = f"{from_stored(value, label, kind):.{places}f}"
    if number.startswith("-") and not number.strip("-0."):
        number = number[1:]  # no minus before a rounded zero
    if not unit or not label:
        return number
    return f"{number}°" if label == "deg" else f"{number} {label}"
