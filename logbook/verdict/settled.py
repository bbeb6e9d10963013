"""A fit with its noise and its drift settled: what every judgement reads its numbers from.

What is usually believed about drift is kept unless the day contradicts it. Where the freely
estimated drift is `UNUSUAL` times larger than belief and noise together explain, that is said and
verdicts become careful; where it is `CONTRADICTED` times larger, the drift is estimated freely
instead. (A lower bar for the second costs honest sessions their coverage: those whose drift only
looks large are the ones with too little noise.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import Array, Estimate, Fit, fit
from logbook.verdict.noise import ASSUMED, Prior, Wander, settle

UNUSUAL, CONTRADICTED = 2.0, 3.0

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One fit with its noise: percent, degrees of freedom and whether the prior took part,
    each of shape (data sets,)."""

    fitted: Fit
    s: Array
    degrees_of_freedom: Array
    from_prior: Flags

    def contrast(self, weights: npt.ArrayLike, believed: npt.ArrayLike = ()) -> Estimate:
        """Σ wᵢ·βᵢ for each data set, plus a combination of the believed effects."""
        return self.fitted.contrast(weights, self.s, self.degrees_of_freedom, believed)

    def drift(self) -> Estimate:
        """Drift per pull for each data set."""
        return self.fitted.drift(self.s, self.degrees_of_freedom)


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """The usual fit, and the one with a free drift for the data sets where `contradicted` holds;
    `unusual` and `contradicted` have shape (data sets,)."""

    usual: Part
    free: Part | None
    unusual: Flags
    contradicted: Flags

    def as_the_first(self) -> Settled:
        """The same with every data set treated as the first one is."""
        return replace(
            self,
            unusual=np.full(self.unusual.size, self.unusual[0]),
            contradicted=np.full(self.contradicted.size, self.contradicted[0]),
        )

    def part_of_first(self) -> Part:
        """The fit that holds for the first data set."""
        return self.free if self.free is not None and self.contradicted[0] else self.usual

    def contrast(self, weights: npt.ArrayLike, believed: npt.ArrayLike = ()) -> Estimate:
        """Σ wᵢ·βᵢ for each data set, by the fit that holds for it, plus a combination of the
        believed effects (drift first, weighing 0 here)."""
        return self._pick(lambda part: part.contrast(weights, believed))

    def drift(self) -> Estimate:
        """Drift per pull for each data set."""
        return self._pick(Part.drift)

    def noise(self) -> tuple[Array, Array, Flags]:
        """Standard deviation of a pull in percent, degrees of freedom, from the prior or not."""
        u, f = self.usual, self.free or self.usual
        return (
            np.where(self.contradicted, f.s, u.s),
            np.where(self.contradicted, f.degrees_of_freedom, u.degrees_of_freedom),
            np.where(self.contradicted, f.from_prior, u.from_prior),
        )

    def _pick(self, of: Callable[[Part], Estimate]) -> Estimate:
        """One estimate from the two fits, data set by data set."""
        usual = of(self.usual)
        if self.free is None or not self.contradicted.any():
            return usual
        free = of(self.free)
        return Estimate(
            np.where(self.contradicted, free.value, usual.value),
            np.where(self.contradicted, free.standard_error, usual.standard_error),
            np.where(self.contradicted, free.degrees_of_freedom, usual.degrees_of_freedom),
        )


def settled(
    number: npt.ArrayLike,
    columns: Array,
    data: Array,
    *,
    run: npt.ArrayLike,
    prior: Prior | None,
    wander: Wander,
    believed: Array | None = None,
    pooled_over: Array | None = None,
) -> Settled:
    """Fit `columns`, settle noise and drift.

    Parameters
    ----------
    number, run : shape (pulls,).
    columns : design matrix of full rank, shape (pulls, columns).
    data : percent of a common base, shape (pulls, data sets).
    believed : further believed effects, as for `fit.fit`.
    pooled_over : how the noise of the data sets is pooled, as for `noise.settle`.

    Raises
    ------
    ValueError : the columns are not independent of each other.
    """

    def part(drift_sd: float) -> Part:
        fitted = fit(
            number,
            columns,
            data,
            drift_sd=drift_sd,
            resetting_sd=wander.resetting_percent,
            run=run,
            believed=believed,
        )
        return Part(fitted, *settle(fitted.turned, fitted.extra, prior, pooled_over))

    usual = part(wander.drift_percent)
    never = np.zeros(data.shape[1], dtype=np.bool_)
    has_belief = np.isfinite(wander.drift_percent) and wander.drift_percent > 0.0
    if not has_belief or usual.fitted.own_df < 2 or _told_by(columns, number):
        return Settled(usual, None, never, never)
    free = part(np.inf)
    # A small sample that happens to look quiet must not make every drift look unusual.
    level = np.maximum(free.s, (prior or ASSUMED).percent)
    drift = free.fitted.drift(level, free.degrees_of_freedom)
    size = np.hypot(wander.drift_percent, drift.standard_error)
    times = np.abs(drift.value) / size
    return Settled(usual, free, times > UNUSUAL, times > CONTRADICTED)


def _told_by(columns: Array, number: npt.ArrayLike) -> bool:
    """Whether the columns already contain the pull numbers, so that no free drift is left."""
    time = np.asarray(number, dtype=np.float64)
    both = np.column_stack([columns, time - time.mean()])
    return bool(np.linalg.matrix_rank(both) < both.shape[1])
