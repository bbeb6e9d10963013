"""Ignition timing: what the data say about the best, the least advance, and the losses beside it.

The curve of `parabola` near the best, with Fieller's interval for its top. Near the best, because
over a wide sweep torque is lopsided and a parabola puts the top too late. `timing_trust` looks at
whether the interval deserves belief.
Source: Fieller (1954).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from logbook.verdict import rules
from logbook.verdict.fieller import delta_standard_error, fieller
from logbook.verdict.fit import Flags
from logbook.verdict.loss_curves import ASSUMED_LOSS
from logbook.verdict.noise import Noise, source_of
from logbook.verdict.parabola import DrawnCurve, LossShape, Parabola, draw, fit_parabola
from logbook.verdict.timed import TimingPulls, near_the_best, timing_pulls

__all__ = [
    "DrawnCurve",
    "TimingFit",
    "TimingPulls",
    "draw",
    "fit_timing",
    "timing_pulls",
]

NEAR_THE_BEST_PERCENT = 3.0
"""Timings that lose more than this against the best one tested stay out of the parabola."""

LEAST_WITHIN_PERCENT = 0.2
"""The least timing reported loses no more than this against the best: less advance is safer."""

BESIDE_DEG = (-4, -2, 2, 4)


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
    least_deg : least timing within `LEAST_WITHIN_PERCENT` (adjustable) of it, no less than the
        least that was fitted: what lies below nobody has tried.
    loss_percent : torque lost at so many degrees from the best.
    shape : the same at any distance; ``None`` without a best.
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
    shape: LossShape | None
    degrees_of_freedom: float
    noise: Noise | None
    used: Flags
    parabola: Parabola | None


def fit_timing(
    pulls: TimingPulls,
    *,
    near_percent: float | None = NEAR_THE_BEST_PERCENT,
    least_within_percent: float = LEAST_WITHIN_PERCENT,
    lopsided_sd: float | None = None,
    used: Flags | None = None,
) -> TimingFit:
    """The best timing, its interval and the losses beside it.

    Parameters
    ----------
    near_percent : how much a timing may lose and still be fitted; ``None`` fits a plain parabola
        through them all.
    lopsided_sd : how lopsided loss curves are believed to be (a of `loss_curves`); by default
        the assumption near the best, and 0 with `near_percent` ``None``.
    used : fit exactly these pulls instead, shape (pulls,) (a third of the band is fitted at the
        timings of the whole).
    """
    keep = near_the_best(pulls, near_percent) if used is None else used
    near = pulls.part(keep)
    count = np.unique(near.timing).size
    if count < 3:
        return _open(f"Three timings are needed, {count} so far", keep)
    if lopsided_sd is None:
        lopsided_sd = 0.0 if near_percent is None else ASSUMED_LOSS.lopsided_sd
    parabola = fit_parabola(near, lopsided_sd)
    part = parabola.fit.part_of_first()
    noise = Noise(
        float(part.s[0]),
        float(part.degrees_of_freedom[0]),
        source_of(bool(part.from_prior[0]), pulls.prior),
    )
    values, covariance = parabola.coefficients()
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
    low, high = (
        (parabola.center + parabola.scale * limits[0], parabola.center + parabola.scale * limits[1])
        if limits is not None
        else (None, None)
    )
    lowest, highest = float(parabola.timing[0]), float(parabola.timing[-1])
    if best > highest:
        why = f"Torque still rises at {highest:g}°, the most advance pulled"
        known = None if low is None else min(low, highest)
        return _open(why, keep, parabola, noise, (known, None), best)
    if best < lowest:
        why = f"Torque still rises at {lowest:g}°, the least advance pulled"
        known = None if high is None else max(high, lowest)
        return _open(why, keep, parabola, noise, (None, known), best)
    if limits is None:
        why = "The pulls cannot tell how torque falls off beside the best"
        return _open(why, keep, parabola, noise, top=best)
    shape = parabola.shape()
    return TimingFit(
        best_deg=best,
        top_deg=best,
        interval_deg=(low, high),
        identified=True,
        why_not="",
        standard_error=parabola.scale * delta_standard_error(top, bottom, **variances),
        greatest=shape.greatest * parabola.base / 100.0,
        least_deg=max(best + shape.least_offset(least_within_percent), lowest),
        loss_percent={d: shape.loss_percent(d) for d in BESIDE_DEG},
        shape=shape,
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
        shape=None,
        degrees_of_freedom=noise.degrees_of_freedom if noise else 0.0,
        noise=noise,
        used=used,
        parabola=parabola,
    )
