"""Over the years: control limits of single values, and a trend with its interval.

Sources: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2 (individuals control
charts); Sen (1968), *Journal of the American Statistical Association* 63:1379 (slope and interval).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.refusals import BadInput

D2 = 1.128
"""Mean range of two normal values over their standard deviation, as the handbook prints it:
limits at 3/1.128 = 2.66 mean moving ranges."""

RANGE_LIMIT = 3.267
"""Upper limit of a moving range over their mean (the handbook's D₄ for two values)."""

RUN = 8
"""So many in a row on one side of the center are a shift (Western Electric rule; the handbook,
section 6.3.2)."""

LEAST_VALUES = 5
"""With fewer values the limits are drawn from so little that they say nothing (common practice,
no source; the handbook's own example has ten)."""

LEVEL = 0.95
RISES, FALLS, LEVEL_WORD = "rises", "falls", "no trend shown"

_MOST_FOR_TREND = 400


@dataclass(frozen=True, slots=True)
class ControlChart:
    """Individuals chart; the values' unit. Places count from 0.

    `low`, `high` and `mean_range` are ``None`` with fewer than `LEAST_VALUES` values. `beyond`
    are the places outside the limits, `jumps` those whose step from the one before is too wide,
    `shifted` those that end a run of `RUN` or more on one side of the center.
    """

    count: int
    center: float
    mean_range: float | None
    low: float | None
    high: float | None
    beyond: tuple[int, ...]
    jumps: tuple[int, ...]
    shifted: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Trend:
    """Median slope per unit of time, its 95 % interval, and `RISES`, `FALLS` or neither."""

    slope: float
    low: float
    high: float
    word: str


def individuals(values: Sequence[float]) -> ControlChart:
    """Center and limits of single values in their order of time.

    Center = mean; limits = center ± 3·mean moving range/1.128 (2.66 mean moving ranges).

    Raises
    ------
    BadInput
        No value, or one that is not a number.
    """
    y = np.asarray(values, dtype=np.float64)
    if y.ndim != 1 or not y.size or not np.isfinite(y).all():
        raise BadInput("a chart needs numbers", where="Control chart", wanted="finite values")
    center = float(y.mean())
    if y.size < LEAST_VALUES:
        return ControlChart(int(y.size), center, None, None, None, (), (), ())
    ranges = np.abs(np.diff(y))
    mean_range = float(ranges.mean())
    reach = 3.0 * mean_range / D2
    slack = 1e-12 * (abs(center) + reach)
    return ControlChart(
        count=int(y.size),
        center=center,
        mean_range=mean_range,
        low=center - reach,
        high=center + reach,
        beyond=_places(np.abs(y - center) > reach + slack),
        jumps=tuple(i + 1 for i in _places(ranges > RANGE_LIMIT * mean_range + slack)),
        shifted=_runs(np.sign(y - center)),
    )


def _places(flags: np.ndarray) -> tuple[int, ...]:
    return tuple(int(i) for i in np.flatnonzero(flags))


def _runs(sides: np.ndarray) -> tuple[int, ...]:
    """Where a run on one side has reached `RUN`, and every value that carries it on."""
    found, length, before = [], 0, 0.0
    for place, side in enumerate(sides):
        length = length + 1 if side == before and side != 0 else int(side != 0)
        before = side
        if length >= RUN:
            found.append(place)
    return tuple(found)


def trend(times: Sequence[float], values: Sequence[float]) -> Trend | None:
    """The slope that a wild value does not pull about (Theil–Sen), with Sen's interval.

    Parameters
    ----------
    times, values : as many of each; equal times are taken as nothing between them.

    Returns
    -------
    ``None`` with fewer than `LEAST_VALUES` values or without time between them. The newest
    400 are used: their pairs are what costs.
    """
    from scipy.special import ndtri

    x = np.asarray(times, dtype=np.float64)[-_MOST_FOR_TREND:]
    y = np.asarray(values, dtype=np.float64)[-_MOST_FOR_TREND:]
    if x.size < LEAST_VALUES:
        return None
    first, second = np.triu_indices(x.size, 1)
    apart = x[second] - x[first]
    real = apart != 0
    if not real.any():
        return None
    slopes = np.sort((y[second] - y[first])[real] / apart[real])
    half = float(ndtri((1.0 + LEVEL) / 2.0)) * math.sqrt(_kendall_variance(x, y))
    low = max(round((slopes.size - half) / 2.0) - 1, 0)
    high = min(round((slopes.size + half) / 2.0), slopes.size - 1)
    slope, bottom, top = float(np.median(slopes)), float(slopes[low]), float(slopes[high])
    word = RISES if bottom > 0 else FALLS if top < 0 else LEVEL_WORD
    return Trend(slope, bottom, top, word)


def _kendall_variance(x: np.ndarray, y: np.ndarray) -> float:
    """Variance of Kendall's score with ties in time and value (Sen 1968, equation 2.6)."""
    count = x.size

    def ties(values: np.ndarray) -> float:
        _, sizes = np.unique(values, return_counts=True)
        return float(np.sum(sizes * (sizes - 1) * (2 * sizes + 5)))

    return (count * (count - 1) * (2 * count + 5) - ties(x) - ties(y)) / 18.0
