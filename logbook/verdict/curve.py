"""The curve of differences against engine speed, with its pointwise band.

Every speed is judged by the same fit as the score, so that a gain at the top paid for at the
bottom is seen. The band holds at each speed by itself, not for the whole curve at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import rules
from logbook.verdict.fit import Array
from logbook.verdict.noise import ASSUMED_PEAKS, ASSUMED_WANDER, Prior, Wander
from logbook.verdict.order import order_of, settle_setups


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
) -> DifferenceBand:
    """Difference between two set-ups at each speed, drift and re-setting in the band.

    Parameters
    ----------
    grid : speeds, shape (bins,).
    curves : corrected curves on that grid, shape (pulls, bins), positive; ``nan`` where a pull
        does not reach a speed.
    number, setup, run : as for `difference.judge`.
    a, b : labels of the set-ups; the result is b − a.
    prior : the noise of one bin in per cent of the curve there: like a peak, a bin is one point
        and noisier than the mean over a band.

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
        fitted = settle_setups(part, both, prior, wander).as_the_first()
        estimate = fitted.contrast(part.weights(a, b))
        half = rules.half_width(
            estimate.standard_error, estimate.degrees_of_freedom, rules.INTERVAL_LEVEL
        )
        band = np.stack([estimate.value, estimate.value - half, estimate.value + half])
        result[:, bins] = base / 100.0 * band[:, 1:]
    return DifferenceBand(speed, result[0], result[1], result[2])
