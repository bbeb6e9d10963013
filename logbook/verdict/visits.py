"""Sessions made ready to be compared with each other, and what a comparison across them is worth.

Within a session every set-up has a level, fitted with drift and re-setting as everywhere
(`fit`), here of 100·ln(score): differences are percents that add up however many changes are
laid one on the other. A comparison is a set of weights on levels of several sessions. Its
variance has three kinds of parts, each with its own degrees of freedom (Welch–Satterthwaite,
ISO/IEC Guide 98-3, G.4):

- what each session's own pulls leave open, by that session's fit (weights that share a session
  share its errors, so that what cancels, cancels);
- reproducibility, once for every session whose weights do not add up to nothing;
- how far the worth of a change carries from one engine to another.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from logbook.records.setup import SetUp
from logbook.verdict import rules
from logbook.verdict.fit import Array
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER, Noise, Prior, Wander
from logbook.verdict.order import Order, order_of, settle_setups
from logbook.verdict.settled import Settled

Weights = Mapping[str, Mapping[int, float]]
"""Session → label of a set-up → its weight."""

NEGLIGIBLE = 1e-12


@dataclass(frozen=True, eq=False)
class Visit:
    """One session to be compared with others. `setups` holds the set-up behind each label of
    `order`, `logs` is 100·ln(score) in that order; `engine`, `build` and `cell` are whatever
    names them."""

    session: str
    engine: str
    build: str
    cell: str
    order: Order
    logs: Array
    prior: Prior | None
    wander: Wander
    setups: Mapping[int, SetUp]

    @cached_property
    def fitted(self) -> Settled:
        """The fitted levels, when they are first asked for: not every session is used."""
        return settle_setups(self.order, self.logs[:, None], self.prior, self.wander)

    @cached_property
    def _told(self) -> dict[tuple[float, ...], tuple[float, float, float]]:
        """Levels that were asked for before: the same ones come up again and again."""
        return {}

    def level(self, weights: Mapping[int, float]) -> tuple[float, float, float]:
        """Σ wᵢ·levelᵢ, its standard error and degrees of freedom, percent."""
        row = tuple(weights.get(label, 0.0) for label in self.order.labels)
        if row not in self._told:
            found = self.fitted.contrast(row)
            value, se, df = found.value, found.standard_error, found.degrees_of_freedom
            self._told[row] = float(value[0]), float(se[0]), float(df[0])
        return self._told[row]


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference across sessions with its 95 % interval. `log_percent` adds up over changes
    (100·ln of the ratio); `percent` and `interval_percent` are of the side measured from."""

    log_percent: float
    standard_error: float
    degrees_of_freedom: float
    interval_log: tuple[float, float]

    @property
    def percent(self) -> float:
        """The change in percent of what it was changed from."""
        return percent_of(self.log_percent)

    @property
    def interval_percent(self) -> tuple[float, float]:
        """The interval in the same percents."""
        return percent_of(self.interval_log[0]), percent_of(self.interval_log[1])


def percent_of(log_percent: float) -> float:
    """100·ln(ratio) as percents: 100·(ratio − 1)."""
    return float(100.0 * np.expm1(log_percent / 100.0))


def visit(
    session: str,
    engine: str,
    build: str,
    cell: str,
    number: npt.ArrayLike,
    setup: npt.ArrayLike,
    score: npt.ArrayLike,
    setups: Mapping[int, SetUp],
    *,
    run: npt.ArrayLike | None = None,
    prior: Prior | None = ASSUMED,
    wander: Wander = ASSUMED_WANDER,
) -> Visit:
    """Make a session ready.

    Parameters
    ----------
    number, setup, score, run, prior, wander : as for `difference.judge`; every score positive.
    setups : the set-up behind each label.

    Raises
    ------
    ValueError : no pulls, unequal lengths, or scores that are not positive and finite.
    """
    order, sorting = order_of(number, setup, run)
    scores = np.asarray(score, dtype=np.float64)
    if scores.shape != order.number.shape or not np.all(np.isfinite(scores) & (scores > 0.0)):
        raise ValueError("every pull needs a positive score")
    logs = 100.0 * np.log(scores[sorting])
    return Visit(session, engine, build, cell, order, logs, prior, wander, dict(setups))


@dataclass(frozen=True, slots=True, eq=False)
class Across:
    """Several visits with what is known of the cells they were made in.

    `between` is each cell's reproducibility (of cells whose days are held against each other;
    steps within a session need none), `carrying` how far a change's worth differs from
    engine to engine; standard deviations in percent.
    """

    visits: Mapping[str, Visit]
    between: Mapping[str, Noise]
    carrying: Noise

    def estimate(self, weights: Weights, *, carried: float = 0.0) -> Difference:
        """A weighted sum of levels.

        Parameters
        ----------
        weights : on levels of the visits.
        carried : how many times the variance of `carrying` is in it.
        """
        value, parts = 0.0, [(carried * self.carrying.percent**2, self.carrying.degrees_of_freedom)]
        days: dict[str, float] = {}
        for session, of_session in weights.items():
            visit = self.visits[session]
            level, se, df = visit.level(of_session)
            value += level
            parts.append((se**2, df))
            days[visit.cell] = days.get(visit.cell, 0.0) + sum(of_session.values()) ** 2
        for cell, times in days.items():
            if times > NEGLIGIBLE:  # else what the day did is in both sides alike
                noise = self.between[cell]
                parts.append((times * noise.percent**2, noise.degrees_of_freedom))
        variance, df = welch(parts)
        se = float(np.sqrt(variance))
        half = float(rules.half_width(se, df, rules.INTERVAL_LEVEL))
        return Difference(value, se, df, (value - half, value + half))

    def mean(self, of: Mapping[str, int]) -> Weights:
        """The weights of the mean of one set-up's levels (its label by session), the days that
        tell more weighing more."""
        precision = {}
        for session, label in of.items():
            visit = self.visits[session]
            _, se, _ = visit.level({label: 1.0})
            precision[session] = 1.0 / (se**2 + self.between[visit.cell].percent ** 2)
        total = sum(precision.values())
        return {session: {of[session]: one / total} for session, one in precision.items()}


def welch(parts: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The sum of independent variances (variance, degrees of freedom) and its own effective
    degrees of freedom; 0 of them where a part of it has none. A part that is not known (``nan`` or
    infinite) is not left out: then nothing is, and the sum is infinite without any."""
    if not all(np.isfinite(part) for part, _ in parts):
        return float("inf"), 0.0
    told = [(part, df) for part, df in parts if part > NEGLIGIBLE * max(p for p, _ in parts)]
    variance = float(sum(part for part, _ in told))
    if not told or any(not df > 0.0 for _, df in told):
        return variance, 0.0
    return variance, float(variance**2 / sum(part**2 / df for part, df in told))


def added(*terms: tuple[float, Weights]) -> Weights:
    """Σ factor · weights."""
    total: dict[str, dict[int, float]] = {}
    for factor, weights in terms:
        for session, of_session in weights.items():
            mine = total.setdefault(session, {})
            for label, weight in of_session.items():
                mine[label] = mine.get(label, 0.0) + factor * weight
    return total
