"""Over the years: control limits of single values, and a trend with its interval.

An engine is another one after a rebuild: values are only set against those of their own part,
and what the parts share is how far two values of one part lie apart.

Sources: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2 (individuals control
charts); Sen (1968), *Journal of the American Statistical Association* 63:1379 (slope and interval);
Hirsch, Slack & Smith (1982), *Water Resources Research* 18:107 (slopes and scores by part, summed).
One moving range pooled over parts, each about its own mean: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

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

    `center`, `low` and `high` are those of the last part, which has `own` of the `count` values;
    `ranges` moving ranges lie within parts. With fewer than `LEAST_VALUES` − 1 of them, or a
    single value in the last part, `low` and `high` are ``None``. `beyond` are the places outside
    the limits of their part, `jumps` those whose step from the one before is too wide, `shifted`
    those that end a run of `RUN` or more on one side of their center.
    """

    count: int
    own: int
    ranges: int
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


def individuals(
    values: Sequence[float],
    part: Sequence[int] | None = None,
    *,
    floor: float = -math.inf,
) -> ControlChart:
    """Center and limits of single values in their order of time.

    Center = mean; limits = center ± 3·mean moving range/1.128 (2.66 mean moving ranges).

    Parameters
    ----------
    values : shape (values,).
    part : of equal shape, a label that changes where another part begins; one part unless given.
    floor : what no value can lie below; the lower limit ends there.

    Raises
    ------
    BadInput
        No value, or one that is not a number.
    """
    y = np.asarray(values, dtype=np.float64)
    if y.ndim != 1 or not y.size or not np.isfinite(y).all():
        raise BadInput("a chart needs numbers", where="Control chart", wanted="finite values")
    begun = _begun(y.size, part)
    numbers = np.cumsum(begun) - 1
    centers = (np.bincount(numbers, weights=y) / np.bincount(numbers))[numbers]
    center, own = float(centers[-1]), int(np.count_nonzero(numbers == numbers[-1]))
    steps = np.where(begun[1:], np.nan, np.abs(np.diff(y)))
    ranges = steps[~np.isnan(steps)]
    if ranges.size < LEAST_VALUES - 1 or own < 2:
        return ControlChart(y.size, own, ranges.size, center, None, None, None, (), (), ())
    mean_range = float(ranges.mean())
    reach = 3.0 * mean_range / D2
    slack = 1e-12 * (float(np.abs(y).max()) + reach)
    return ControlChart(
        count=y.size,
        own=own,
        ranges=ranges.size,
        center=center,
        mean_range=mean_range,
        low=max(center - reach, floor),
        high=center + reach,
        beyond=_places(np.abs(y - centers) > reach + slack),
        jumps=tuple(i + 1 for i in _places(steps > RANGE_LIMIT * mean_range + slack)),
        shifted=_runs(np.where(np.abs(y - centers) > slack, np.sign(y - centers), 0.0), begun),
    )


def _begun(size: int, part: Sequence[int] | None) -> npt.NDArray[np.bool_]:
    """Where a part begins, the first place among them."""
    begun = np.zeros(size, dtype=np.bool_)
    begun[0] = True
    if part is not None:
        labels = np.asarray(part)
        begun[1:] = labels[1:] != labels[:-1]
    return begun


def _places(flags: np.ndarray) -> tuple[int, ...]:
    return tuple(int(i) for i in np.flatnonzero(flags))


def _runs(sides: np.ndarray, begun: np.ndarray) -> tuple[int, ...]:
    """Where a run on one side has reached `RUN`, and every value that carries it on."""
    found, length, before = [], 0, 0.0
    for place, side in enumerate(sides):
        on = side == before and side != 0 and not begun[place]
        length = length + 1 if on else int(side != 0)
        before = side
        if length >= RUN:
            found.append(place)
    return tuple(found)


def trend(
    times: Sequence[float], values: Sequence[float], part: Sequence[int] | None = None
) -> Trend | None:
    """The slope that a wild value does not pull about (Theil–Sen), with Sen's interval.

    Parameters
    ----------
    times, values : as many of each; equal times are taken as nothing between them.
    part : of equal shape, a label that changes where another part begins: only two values of
        one part make a slope.

    Returns
    -------
    ``None`` with fewer than `LEAST_VALUES` values in parts of two or more, without time between
    them, or where so few slopes have no 95 % interval. The newest 400 are used: their pairs are
    what costs.
    """
    from scipy.special import ndtri

    x = np.asarray(times, dtype=np.float64)[-_MOST_FOR_TREND:]
    y = np.asarray(values, dtype=np.float64)[-_MOST_FOR_TREND:]
    if not x.size:
        return None
    numbers = np.cumsum(_begun(x.size, None if part is None else part[-_MOST_FOR_TREND:]))
    parts = [numbers == number for number in np.unique(numbers)]
    parts = [one for one in parts if np.count_nonzero(one) > 1]
    if sum(int(np.count_nonzero(one)) for one in parts) < LEAST_VALUES:
        return None
    slopes = np.sort(np.concatenate([_slopes(x[one], y[one]) for one in parts]))
    if not slopes.size:
        return None
    variance = sum(_kendall_variance(x[one], y[one]) for one in parts)
    half = float(ndtri((1.0 + LEVEL) / 2.0)) * math.sqrt(variance)
    low = round((slopes.size - half) / 2.0) - 1
    if low < 0:
        return None
    high = min(round((slopes.size + half) / 2.0), slopes.size - 1)
    slope, bottom, top = float(np.median(slopes)), float(slopes[low]), float(slopes[high])
    word = RISES if bottom > 0 else FALLS if top < 0 else LEVEL_WORD
    return Trend(slope, bottom, top, word)


def _slopes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Of every two values with time between them."""
    first, second = np.triu_indices(x.size, 1)
    apart = x[second] - x[first]
    real = apart != 0
    return np.asarray((y[second] - y[first])[real] / apart[real])


def _kendall_variance(x: np.ndarray, y: np.ndarray) -> float:
    """Variance of Kendall's score with ties in time and value (Sen 1968, equation 2.6)."""
    count = x.size

    def ties(values: np.ndarray) -> float:
        _, sizes = np.unique(values, return_counts=True)
        return float(np.sum(sizes * (sizes - 1) * (2 * sizes + 5)))

    return (count * (count - 1) * (2 * count + 5) - ties(x) - ties(y)) / 18.0
