"""The pulls that say something about ignition timing, in order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import Array, Flags, Labels, runs_of
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER, Prior, Wander


@dataclass(frozen=True, slots=True, eq=False)
class TimingPulls:
    """The pulls that differ in timing only, in order; arrays of shape (pulls,).

    `torque` is the score judged, positive, any unit.
    """

    number: Labels
    timing: Array
    torque: Array
    run: Labels
    prior: Prior | None
    wander: Wander

    def distinct(self) -> tuple[Array, Array]:
        """The timings pulled, ascending, and the mean torque at each."""
        timings, index = np.unique(self.timing, return_inverse=True)
        return timings, np.bincount(index, weights=self.torque) / np.bincount(index)

    def part(self, keep: Flags) -> TimingPulls:
        """Some of the pulls."""
        return TimingPulls(
            self.number[keep],
            self.timing[keep],
            self.torque[keep],
            self.run[keep],
            self.prior,
            self.wander,
        )


def timing_pulls(
    number: npt.ArrayLike,
    timing: npt.ArrayLike,
    torque: npt.ArrayLike,
    *,
    run: npt.ArrayLike | None = None,
    prior: Prior | None = ASSUMED,
    wander: Wander = ASSUMED_WANDER,
) -> TimingPulls:
    """Put the pulls in order.

    Parameters
    ----------
    number : pull numbers, shape (pulls,). timing : degrees, same shape. torque : band average
        (or peak, then with that prior), positive, same shape.
    run : label of the run without re-setting; by default consecutive pulls at one timing.

    Raises
    ------
    ValueError : unequal lengths, no pulls, or torques that are not positive and finite.
    """
    numbers = np.asarray(number, dtype=np.int64)
    degrees, scores = np.asarray(timing, dtype=np.float64), np.asarray(torque, dtype=np.float64)
    if numbers.size == 0 or not numbers.shape == degrees.shape == scores.shape:
        raise ValueError("pull numbers, timings and torques must be lists of equal length")
    if not np.all(np.isfinite(degrees)) or not np.all(np.isfinite(scores) & (scores > 0.0)):
        raise ValueError("every pull needs a timing and a positive torque")
    order = np.argsort(numbers, kind="stable")
    degrees = degrees[order]
    runs = runs_of(degrees) if run is None else np.asarray(run, dtype=np.int64)[order]
    return TimingPulls(numbers[order], degrees, scores[order], runs, prior, wander)


def near_the_best(pulls: TimingPulls, near_percent: float | None) -> Flags:
    """The pulls whose timing keeps within `near_percent` of the best mean torque; at least the
    three timings nearest to the best. ``None`` takes all."""
    timings, means = pulls.distinct()
    if near_percent is None:
        return np.ones(pulls.timing.size, dtype=np.bool_)
    near = means >= means.max() * (1.0 - near_percent / 100.0)
    if np.count_nonzero(near) < 3:
        closest = np.argsort(np.abs(timings - timings[np.argmax(means)]), kind="stable")[:3]
        near[closest] = True
    return np.isin(pulls.timing, timings[near])
