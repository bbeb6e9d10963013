"""Ignition timing: what the data say about the best, the least advance, and the losses beside it.

A parabola in timing near the best, by the one fit of `fit` (drift and re-setting in), with
Fieller's interval for its top. Near the best, because over a wide sweep torque is lopsided and a
parabola puts the top too late. `timing_trust` looks at whether the interval deserves belief.
Sources: Fieller (1954); Box & Draper, *Response Surfaces, Mixtures, and Ridge Analyses* (2007),
ch. 11.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import rules
from logbook.verdict.fieller import delta_standard_error, fieller
from logbook.verdict.fit import Array, Flags, Labels, runs_of
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER, Noise, Prior, Wander, source_of
from logbook.verdict.settled import Settled, settled

NEAR_THE_BEST_PERCENT = 3.0
"""Timings that lose more than this against the best one tested stay out of the parabola."""

LEAST_WITHIN_PERCENT = 0.2
"""The least timing reported loses no more than this against the best: less advance is safer."""

BESIDE_DEG = (-4, -2, 2, 4)


@dataclass(frozen=True, slots=True, eq=False)
class Parabola:
    """The fitted parabola: torque in per cent of `base` against (timing − `center`)/`scale`."""

    fit: Settled
    center: float
    scale: float
    base: float
    timing: Array

    def basis(self, timing: npt.ArrayLike) -> Array:
        """Columns 1, x, x² of the model, shape (timings, 3)."""
        x = (np.asarray(timing, dtype=np.float64) - self.center) / self.scale
        return np.column_stack([np.ones_like(x), x, x * x])


@dataclass(frozen=True, slots=True, eq=False)
class TimingFit:
    """What the pulls say about the best timing. Degrees before top dead center.

    Attributes
    ----------
    best_deg : top of the parabola, ``None`` where it is not bracketed.
    top_deg : the top all the same, bracketed or not; ``None`` where there is none.
    interval_deg : 95 % by Fieller; ``None`` on a side that is open.
    identified : the best lies within the timings pulled and the interval is closed.
    why_not : the sentence for `identified` being false, else ``""``.
    standard_error : of the best, delta method; ``None`` without a best.
    greatest : torque at the best, in the unit of the scores.
    least_deg : least timing within `LEAST_WITHIN_PERCENT` (adjustable) of it.
    loss_percent : torque lost at so many degrees from the best.
    used : which of the pulls lie near enough to the best to be fitted, shape (pulls,).
    """

    best_deg: float | None
    top_deg: float | None
    interval_deg: tuple[float | None, float | None]
    identified: bool
    why_not: str
    standard_error: float | None
    greatest: float | None
    least_deg: float | None
    loss_percent: Mapping[int, float]
    degrees_of_freedom: float
    noise: Noise | None
    used: Flags
    parabola: Parabola | None


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


def fit_parabola(pulls: TimingPulls) -> Parabola:
    """The parabola through all of `pulls`; at least three timings are needed."""
    timings, means = pulls.distinct()
    center = float(timings.mean())
    scale = max(float(np.abs(timings - center).max()), 1.0)
    base = float(means.max())
    x = (pulls.timing - center) / scale
    fitted = settled(
        pulls.number,
        np.column_stack([np.ones_like(x), x, x * x]),
        100.0 * pulls.torque[:, None] / base,
        run=pulls.run,
        prior=pulls.prior,
        wander=pulls.wander,
    )
    return Parabola(fitted, center, scale, base, timings)


def fit_timing(
    pulls: TimingPulls,
    *,
    near_percent: float | None = NEAR_THE_BEST_PERCENT,
    least_within_percent: float = LEAST_WITHIN_PERCENT,
    used: Flags | None = None,
) -> TimingFit:
    """The best timing, its interval and the losses beside it.

    Parameters
    ----------
    near_percent : how much a timing may lose and still be fitted; ``None`` fits them all.
    used : fit exactly these pulls instead, shape (pulls,) (a third of the band is fitted at the
        timings of the whole).
    """
    keep = near_the_best(pulls, near_percent) if used is None else used
    near = pulls.part(keep)
    count = np.unique(near.timing).size
    if count < 3:
        return _open(f"Three timings are needed, {count} so far", keep)
    parabola = fit_parabola(near)
    part = (
        parabola.fit.free if parabola.fit.unusual[0] and parabola.fit.free else parabola.fit.usual
    )
    s = float(part.s[0])
    noise = Noise(
        s, float(part.degrees_of_freedom[0]), source_of(bool(part.from_prior[0]), pulls.prior)
    )
    values, covariance = part.fitted.joint(np.eye(3), s)
    top, bottom = -float(values[1]), 2.0 * float(values[2])
    if not bottom < 0.0:
        return _open("Torque does not fall off on both sides", keep, parabola, noise)
    ratio = top / bottom
    # The test behind Fieller's interval is one of this combination; so are its degrees of freedom.
    tested = part.contrast([0.0, -1.0, -2.0 * ratio])
    df = float(tested.degrees_of_freedom[0])
    t = float(rules.half_width(1.0, df, rules.INTERVAL_LEVEL))
    variances = {
        "top_variance": float(covariance[1, 1]),
        "covariance": -2.0 * float(covariance[1, 2]),
        "bottom_variance": 4.0 * float(covariance[2, 2]),
    }
    best = parabola.center + parabola.scale * ratio
    limits = fieller(top, bottom, t=t, **variances)
    if limits is None:
        why = "The pulls cannot tell how torque falls off beside the best"
        return _open(why, keep, parabola, noise, top=best)
    low, high = (parabola.center + parabola.scale * limit for limit in limits)
    lowest, highest = float(parabola.timing[0]), float(parabola.timing[-1])
    if best > highest:
        why = f"Torque still rises at {highest:g}°, the most advance pulled"
        return _open(why, keep, parabola, noise, (min(low, highest), None), best)
    if best < lowest:
        why = f"Torque still rises at {lowest:g}°, the least advance pulled"
        return _open(why, keep, parabola, noise, (None, max(high, lowest)), best)
    greatest = float(values[0]) - float(values[1]) ** 2 / (4.0 * float(values[2]))
    curvature = -float(values[2]) / parabola.scale**2
    return TimingFit(
        best_deg=best,
        top_deg=best,
        interval_deg=(low, high),
        identified=True,
        why_not="",
        standard_error=parabola.scale * delta_standard_error(top, bottom, **variances),
        greatest=greatest * parabola.base / 100.0,
        least_deg=best - float(np.sqrt(least_within_percent / 100.0 * greatest / curvature)),
        loss_percent={d: 100.0 * curvature * d * d / greatest for d in BESIDE_DEG},
        degrees_of_freedom=df,
        noise=noise,
        used=keep,
        parabola=parabola,
    )


def _open(
    why: str,
    used: Flags,
    parabola: Parabola | None = None,
    noise: Noise | None = None,
    interval: tuple[float | None, float | None] = (None, None),
    top: float | None = None,
) -> TimingFit:
    """A best that the pulls do not bracket."""
    return TimingFit(
        best_deg=None,
        top_deg=top,
        interval_deg=interval,
        identified=False,
        why_not=f"Not bracketed: {why[0].lower()}{why[1:]}.",
        standard_error=None,
        greatest=None,
        least_deg=None,
        loss_percent={},
        degrees_of_freedom=noise.degrees_of_freedom if noise else 0.0,
        noise=noise,
        used=used,
        parabola=parabola,
    )


@dataclass(frozen=True, slots=True, eq=False)
class DrawnCurve:
    """The fitted parabola for drawing, arrays of equal shape (points,), in the scores' unit;
    `low`/`high` the pointwise 95 % band of the mean."""

    timing: Array
    torque: Array
    low: Array
    high: Array


def draw(parabola: Parabola, timing: npt.ArrayLike) -> DrawnCurve:
    """The parabola and its band at the given timings."""
    degrees = np.asarray(timing, dtype=np.float64)
    estimates = [parabola.fit.contrast(row) for row in parabola.basis(degrees)]
    value = np.array([float(e.value[0]) for e in estimates])
    half = rules.half_width(
        np.array([float(e.standard_error[0]) for e in estimates]),
        np.array([float(e.degrees_of_freedom[0]) for e in estimates]),
        rules.INTERVAL_LEVEL,
    )
    unit = parabola.base / 100.0
    return DrawnCurve(degrees, value * unit, (value - half) * unit, (value + half) * unit)
