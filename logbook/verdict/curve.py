"""The curve of differences against engine speed, with its pointwise band.

Every speed is judged by the same fit as the score, so that a gain at the top paid for at the
bottom is seen. The band holds at each speed by itself, not for the whole curve at once.

A bin has few degrees of freedom of its own and its noise figure jumps from bin to bin; noise does
not. It is pooled over the neighboring speeds, and how much that is worth is read off how far the
bins err together (`noise.settle`).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import rules
from logbook.verdict.fit import Array, indicators
from logbook.verdict.noise import ASSUMED_PEAKS, ASSUMED_WANDER, Noise, Prior, Wander, settle
from logbook.verdict.order import order_of, settle_setups
from logbook.verdict.visits import welch

POOLED_SHARE = 0.1
"""How far to either side noise is pooled, as a share of the curve's range of speed. Simulated:
wider bands of neighbors make it no narrower, and hide a noise that rises steeply at an end."""


@dataclass(frozen=True, slots=True, eq=False)
class DifferenceBand:
    """Set-up `b` minus set-up `a` over speed, arrays of equal shape (bins,).

    `difference`, `low` and `high` are in the curves' unit; ``nan`` where a set-up has no curve
    at that speed, `low`/`high` infinite where there is no noise figure.
    """

    speed: Array
    difference: Array
    low: Array
    high: Array


def difference_curve(
    grid: npt.ArrayLike,
    curves: npt.ArrayLike,
    number: npt.ArrayLike,
    setup: npt.ArrayLike,
    a: int,
    b: int,
    *,
    prior: Prior | None = ASSUMED_PEAKS,
    wander: Wander = ASSUMED_WANDER,
    run: npt.ArrayLike | None = None,
    pooled_share: float = POOLED_SHARE,
) -> DifferenceBand:
    """Difference between two set-ups at each speed, drift and re-setting in the band.

    Parameters
    ----------
    grid : speeds, shape (bins,).
    curves : corrected curves on that grid, shape (pulls, bins), positive; ``nan`` where a pull
        does not reach a speed.
    number, setup, run : as for `difference.judge`.
    a, b : labels of the set-ups; the result is b − a.
    prior : the noise of one bin in percent of the curve there: like a peak, a bin is one point
        and noisier than the mean over a band.
    pooled_share : as `POOLED_SHARE`; 0 leaves every bin to itself.

    Raises
    ------
    ValueError : shapes that do not fit together, or a set-up that was not pulled.
    """
    speed = np.asarray(grid, dtype=np.float64)
    order, sorting = order_of(number, setup, run)
    values = np.asarray(curves, dtype=np.float64)
    if values.shape != (order.number.size, speed.size):
        raise ValueError("curves must have one row per pull and one column per speed")
    if not {a, b} <= set(order.labels):
        raise ValueError("both set-ups must have been pulled in this session")
    values = values[sorting]
    result = np.full((3, speed.size), np.nan)
    there = np.isfinite(values) & (values > 0.0)
    # Bins that the same pulls reach share one fit: mostly a single one for the whole curve.
    patterns, which = np.unique(there, axis=1, return_inverse=True)
    for place in range(patterns.shape[1]):
        rows, bins = patterns[:, place], np.flatnonzero(which.ravel() == place)
        labels = order.setup[rows]
        if not {a, b} <= set(labels.tolist()):
            continue
        part, _ = order_of(order.number[rows], labels, order.run[rows])
        here = values[np.ix_(rows, bins)]
        base = here[labels == a].mean(axis=0)
        # The mean over the bins goes along: it decides for all of them whether the day's drift
        # is unusual, so that the band has no steps in it.
        percent = 100.0 * here / base - 100.0
        both = np.column_stack([percent.mean(axis=1), percent])
        near = _neighbors(speed[bins], pooled_share * float(np.ptp(speed)))
        fitted = settle_setups(part, both, prior, wander, pooled_over=near).as_the_first()
        estimate = fitted.contrast(part.weights(a, b))
        half = rules.half_width(
            estimate.standard_error, estimate.degrees_of_freedom, rules.INTERVAL_LEVEL
        )
        band = np.stack([estimate.value, estimate.value - half, estimate.value + half])
        result[:, bins] = base / 100.0 * band[:, 1:]
    return DifferenceBand(speed, result[0], result[1], result[2])


def between_curve(
    grid: npt.ArrayLike,
    curves: tuple[npt.ArrayLike, npt.ArrayLike],
    days: tuple[Sequence[Hashable], Sequence[Hashable]],
    between: Noise,
) -> DifferenceBand:
    """Difference of the mean curves of two sides that were pulled on different days.

    Every day weighs the same. The band holds what the cell reproduces from day to day, taken
    from band averages and the same at every speed, and the scatter of repeats within a day,
    pooled over the speeds and put together with what is assumed of one (`noise.settle`): a
    single pull a day scatters too. Welch–Satterthwaite as for any comparison across days.

    Parameters
    ----------
    grid : speeds, shape (bins,).
    curves : before and after: corrected curves on that grid, each of shape (pulls, bins), positive.
    days : the day of each of these pulls.
    between : from `between.reproducibility`.

    Raises
    ------
    ValueError : shapes that do not fit together, or curves that are not positive.
    """
    speed = np.asarray(grid, dtype=np.float64)
    levels, squares, df = [], np.zeros(speed.size), 0
    days_share, repeats_share = 0.0, 0.0
    for side, of_side in zip(curves, days, strict=True):
        values = np.asarray(side, dtype=np.float64)
        if values.shape != (len(of_side), speed.size) or not np.all(values > 0.0):
            raise ValueError("positive curves are needed, one row per pull and day")
        logs = 100.0 * np.log(values)
        order = {day: place for place, day in enumerate(dict.fromkeys(of_side))}
        _, columns = indicators([order[day] for day in of_side])
        counts = columns.sum(axis=0)
        means = (columns / counts).T @ logs
        squares += np.sum((logs - columns @ means) ** 2, axis=0)
        df += len(of_side) - counts.size
        days_share += 1.0 / counts.size
        repeats_share += float(np.sum(1.0 / counts)) / counts.size**2
        levels.append(means.mean(axis=0))
    turned = np.full((df, 1), np.sqrt(np.mean(squares) / max(df, 1)))
    noise, noise_df, _ = settle(turned, np.zeros(df), ASSUMED_PEAKS)
    variance, nu = welch(
        [
            (days_share * between.percent**2, between.degrees_of_freedom),
            (repeats_share * float(noise[0]) ** 2, float(noise_df[0])),
        ]
    )
    half = float(rules.half_width(np.sqrt(variance), nu, rules.INTERVAL_LEVEL))
    change = levels[1] - levels[0]
    base = np.exp(levels[0] / 100.0)
    low, middle, high = (base * np.expm1((change + by) / 100.0) for by in (-half, 0.0, half))
    return DifferenceBand(speed, middle, low, high)


def _neighbors(speed: Array, reach: float) -> Array:
    """Weights that fall in a straight line to zero at `reach`, rows summing to one; the first row
    and column are the mean's, which is pooled with nothing."""
    apart = np.abs(speed[:, None] - speed[None, :])
    near = np.maximum(1.0 - apart / reach, 0.0) if reach > 0.0 else np.eye(speed.size)
    weights = np.eye(speed.size + 1)
    weights[1:, 1:] = near / near.sum(axis=1, keepdims=True)
    return weights
