"""Values that are refused wherever they come from: nothing real lies outside these limits."""

from __future__ import annotations

import math
from collections.abc import Mapping

from logbook.quantities import KINDS, from_stored, stored_unit, to_stored
from logbook.refusals import BadInput

# name → (kind, lowest, highest) in the stored unit of the kind, both ends allowed.
LIMITS: Mapping[str, tuple[str, float, float]] = {
    "air pressure": ("pressure", 50.0, 110.0),
    "air temperature": ("temperature", -40.0, 60.0),
    "relative humidity": ("fraction", 0.0, 1.0),
    "timing": ("angle", -20.0, 80.0),
    "speed": ("speed", 0.0, 30_000.0),
    "altitude": ("altitude", -500.0, 6_000.0),
}


def check(field: str, name: str, value: float, unit: str | None = None) -> None:
    """Refuse a value that is not finite or lies outside the limits of `name`.

    Parameters
    ----------
    field : the field's label, for the refusal.
    name : a key of `LIMITS`, or a kind without limits of its own (then only finite is asked).
    value : in the stored unit of the kind.
    unit : the unit it was typed in, for the sentence; the stored one where it was not typed.

    Raises
    ------
    BadInput
        Named with the field, the value and the limits.
    """
    if name not in LIMITS and name not in KINDS:
        raise KeyError(name)
    if not math.isfinite(value):
        raise BadInput(f"{value} is not a number", where=field, wanted="a finite number")
    if name not in LIMITS:
        return
    kind, low, high = LIMITS[name]
    if not low <= value <= high:
        shown = unit or ("%" if kind == "fraction" else stored_unit(kind))
        given, *ends = (from_stored(number, shown, kind) for number in (value, low, high))
        sign = "°" if shown == "deg" else f" {shown}"
        bounds = f"{round(ends[0], 2):g} to {round(ends[1], 2):g}{sign}"
        raise BadInput(
            f"{round(given, 4):g}{sign} is outside {bounds}",
            where=field,
            wanted=f"a value of {bounds}{_meant(name, given)}",
        )


def _meant(name: str, given: float) -> str:
    """The unit in which the number would be a usual barometer reading: 29.92 kPa is inHg."""
    if name != "air pressure":
        return ""
    _, low, high = LIMITS[name]
    for unit in ("inHg", "mbar", "mmHg", "psi"):
        if low <= to_stored(given, unit, "pressure") <= high:
            return f", or {given:g} {unit} if that is what the barometer shows"
    return ""
