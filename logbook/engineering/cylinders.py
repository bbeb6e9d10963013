"""Cylinders against each other: leak-down and cranking compression.

What a shop looks at is less the figure than the one cylinder that does not keep up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from logbook.refusals import BadInput

HIGH_IS_BAD, LOW_IS_BAD = "high", "low"

OUTLIER_SCORE = 3.5
"""Modified z-score above which a value is an outlier (Iglewicz & Hoaglin (1993), *How to Detect
and Handle Outliers*; NIST/SEMATECH e-Handbook, section 1.3.5.17)."""

_NORMAL = 0.6745
_LEAST_CYLINDERS = 4


@dataclass(frozen=True, slots=True)
class Spread:
    """Values of all cylinders; cylinders counted from 1, values in the unit given.

    `spread` is greatest less least, `spread_percent` that in percent of the greatest.
    `outliers` are the cylinders that stand apart from the others on the bad side.
    """

    values: tuple[float | None, ...]
    least: float
    most: float
    mean: float
    spread: float
    spread_percent: float
    outliers: tuple[int, ...]


def spread(values: Sequence[float | None], *, bad: str, step: float) -> Spread:
    """Spread and outliers over the cylinders of an engine.

    Parameters
    ----------
    values : one for each cylinder in order, ``None`` where it was not read.
    bad : `HIGH_IS_BAD` (leak-down) or `LOW_IS_BAD` (cranking compression).
    step : what the gauge can tell apart, in the unit of the values: cylinders within it are not
        set apart however alike the others are.

    Raises
    ------
    BadInput
        No value at all, or one below zero.
    """
    known = [(place, value) for place, value in enumerate(values, 1) if value is not None]
    if not known:
        raise BadInput("no cylinder was read", where="Cylinders", wanted="a value for each")
    for place, value in known:
        if not (math.isfinite(value) and value >= 0):
            raise BadInput(
                f"{value:g} in cylinder {place} is below zero",
                where="Cylinders",
                wanted="values from zero up",
            )
    only = [value for _, value in known]
    least, most = min(only), max(only)
    return Spread(
        values=tuple(values),
        least=least,
        most=most,
        mean=sum(only) / len(only),
        spread=most - least,
        spread_percent=100.0 * (most - least) / most if most else 0.0,
        outliers=_outliers(known, bad, step),
    )


def _outliers(known: Sequence[tuple[int, float]], bad: str, step: float) -> tuple[int, ...]:
    """Cylinders far out on the bad side, by distance from the median over the median distance.

    Of fewer than four nobody can say which one stands apart.
    """
    if len(known) < _LEAST_CYLINDERS:
        return ()
    middle = median(value for _, value in known)
    usual = max(median(abs(value - middle) for _, value in known), step)
    sign = 1.0 if bad == HIGH_IS_BAD else -1.0
    return tuple(
        place for place, value in known if _NORMAL * sign * (value - middle) / usual > OUTLIER_SCORE
    )
