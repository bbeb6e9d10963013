"""Whether a fitted best timing deserves belief, and what would settle it.

Torque against timing is not a parabola: it falls off faster on one side. Four things give a
misleading fit away: the neighbors of the best lie far down, the pulls do not follow the parabola
within their repeats, one far timing carries the answer, or the engine drifted by more than the
timing is worth.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from logbook.verdict import rules, words
from logbook.verdict.fit import Array, Flags
from logbook.verdict.noise import FREE_DRIFT, SILENT_PERCENT, Wander
from logbook.verdict.settled import settled
from logbook.verdict.timed import TimingPulls
from logbook.verdict.timing import (
    LEAST_WITHIN_PERCENT,
    NEAR_THE_BEST_PERCENT,
    TimingFit,
    fit_timing,
)

LACK_OF_FIT_LEVEL = 0.05


@dataclass(frozen=True, slots=True)
class Doubt:
    """One reason not to trust the interval, with a stable code and the sentence shown:
    ``"steps-too-wide"``, ``"not-a-parabola"``, ``"one-timing-decides"``."""

    code: str
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class TimingAnswer:
    """The best timing with what speaks against it.

    Attributes
    ----------
    fit : the fit near the best.
    trusted : identified and nothing in `doubts`.
    doubts : why the interval is not to be trusted.
    settle_deg : the timing in between that would settle it, ``None`` where nothing is in doubt
        or no whole degree lies between the timings beside the best.
    stop : the sentence that stops all timing advice (the engine drifts by more than the timing
        is worth), ``""`` if nothing does.
    thirds : the same fit for each third of the band, lowest speed first; empty where the curves
        do not cover it.
    """

    fit: TimingFit
    trusted: bool
    doubts: tuple[Doubt, ...]
    settle_deg: float | None
    stop: str
    thirds: tuple[TimingFit, ...]


def judge_timing(
    pulls: TimingPulls,
    *,
    third_torques: Array | None = None,
    near_percent: float | None = NEAR_THE_BEST_PERCENT,
    least_within_percent: float = LEAST_WITHIN_PERCENT,
) -> TimingAnswer:
    """The best timing, judged.

    Parameters
    ----------
    third_torques : mean torque per third of the band, shape (pulls, 3), rows in order of pull
        number, ``nan`` where a curve does not cover it.
    near_percent, least_within_percent : as for `timing.fit_timing`.
    """
    fitted = fit_timing(pulls, near_percent=near_percent, least_within_percent=least_within_percent)
    doubts = []
    if fitted.identified and fitted.best_deg is not None:
        for doubt in (
            _steps_too_wide(pulls, fitted.best_deg),
            _not_a_parabola(pulls.part(fitted.used), fitted),
            _one_timing_decides(pulls, fitted),
        ):
            if doubt is not None:
                doubts.append(doubt)
    return TimingAnswer(
        fit=fitted,
        trusted=fitted.identified and not doubts,
        doubts=tuple(doubts),
        settle_deg=_in_between(pulls, fitted.best_deg) if doubts else None,
        stop=drift_stops(pulls),
        thirds=_thirds(pulls, third_torques, fitted.used, least_within_percent),
    )


def _thirds(
    pulls: TimingPulls, torques: Array | None, used: Flags, least_within_percent: float
) -> tuple[TimingFit, ...]:
    """Each third of the band at the timings fitted for the whole."""
    if torques is None or not np.all(np.isfinite(torques)):
        return ()
    fits = []
    for third in np.asarray(torques, dtype=np.float64).T:
        here = TimingPulls(pulls.number, pulls.timing, third, pulls.run, pulls.prior, pulls.wander)
        fits.append(fit_timing(here, used=used, least_within_percent=least_within_percent))
    return tuple(fits)


def loss_at(fit: TimingFit, timing_deg: float) -> float | None:
    """What a third (or the whole) loses at `timing_deg` against its own best, percent: a locked
    distributor's compromise. ``None`` without a best."""
    if fit.best_deg is None or fit.shape is None:
        return None
    return fit.shape.loss_percent(timing_deg - fit.best_deg)


def _neighbors(pulls: TimingPulls, best: float) -> tuple[float | None, float | None]:
    """The timings pulled just below and just above the best."""
    timings, _ = pulls.distinct()
    below, above = timings[timings <= best], timings[timings > best]
    return (
        float(below[-1]) if below.size else None,
        float(above[0]) if above.size else None,
    )


def _steps_too_wide(pulls: TimingPulls, best: float) -> Doubt | None:
    """The timings beside the best one pulled lose more than the parabola is good for."""
    timings, means = pulls.distinct()
    top = int(np.argmax(means))
    beside = [i for i in (top - 1, top + 1) if 0 <= i < timings.size]
    losses = {i: 100.0 * (1.0 - means[i] / means[top]) for i in beside}
    wide = [i for i in beside if losses[i] > NEAR_THE_BEST_PERCENT]
    if not wide:
        return None
    step = max(abs(timings[i] - timings[top]) for i in wide)
    lost = words.listed([f"{losses[i]:.1f} % at {timings[i]:g}°" for i in wide])
    return Doubt(
        "steps-too-wide",
        f"Steps of {step:g}° do not deserve so tight an interval: torque is already down by"
        f" {lost}.",
    )


def _not_a_parabola(pulls: TimingPulls, fitted: TimingFit) -> Doubt | None:
    """Lack of fit against the repeats; drift, re-setting and the lopsidedness that the fit has
    room for are allowed for."""
    timings, index = np.unique(pulls.timing, return_inverse=True)
    if timings.size < 4 or fitted.parabola is None:
        return None
    columns = np.zeros((index.size, timings.size))
    columns[np.arange(index.size), index] = 1.0
    base = float(pulls.torque.max())
    levels = settled(
        pulls.number,
        columns,
        100.0 * pulls.torque[:, None] / base,
        run=pulls.run,
        prior=pulls.prior,
        wander=pulls.wander,
    ).usual
    s, df = float(levels.s[0]), float(levels.degrees_of_freedom[0])
    if not (s >= SILENT_PERCENT and df > 0.0):
        return None
    from scipy.special import fdtrc

    x = (timings - timings.mean()) / np.abs(timings - timings.mean()).max()
    # Whatever no parabola can follow: the combinations of levels orthogonal to 1, x and x².
    q, _ = np.linalg.qr(np.column_stack([np.ones_like(x), x, x * x]), mode="complete")
    values, covariance = levels.fitted.joint(q[:, 3:].T, s)
    leaning = q[:, 3:].T @ fitted.parabola.leaning(timings)
    covariance = covariance + np.outer(leaning, leaning)
    over = timings.size - 3
    f = float(values @ np.linalg.solve(covariance, values)) / over
    p = float(fdtrc(over, df, f))
    if p >= LACK_OF_FIT_LEVEL:
        return None
    return Doubt(
        "not-a-parabola",
        f"The pulls do not follow a parabola within their repeats (p = {p:.3f}): torque is"
        " lopsided over so wide a sweep.",
    )


def _one_timing_decides(pulls: TimingPulls, fitted: TimingFit) -> Doubt | None:
    """Dropping the timing farthest from the best moves it by more than its interval."""
    low, high = fitted.interval_deg
    if fitted.best_deg is None or low is None or high is None:
        return None
    used = pulls.timing[fitted.used]
    if np.unique(used).size < 4:
        return None
    far = used[np.argmax(np.abs(used - fitted.best_deg))]
    plain = fitted.parabola is not None and fitted.parabola.lopsided_sd == 0.0
    without = fit_timing(
        pulls, used=fitted.used & (pulls.timing != far), lopsided_sd=0.0 if plain else None
    )
    if without.top_deg is not None and low <= without.top_deg <= high:
        return None
    moved = (
        "is no longer there" if without.top_deg is None else (f"moves to {without.top_deg:.1f}°")
    )
    return Doubt(
        "one-timing-decides",
        f"Without the pulls at {far:g}° the best {moved}, outside its interval"
        f" {low:.1f}–{high:.1f}°.",
    )


def _in_between(pulls: TimingPulls, best: float | None) -> float | None:
    """The whole degree in the middle of the wider gap beside the best timing."""
    if best is None:
        return None
    below, above = _neighbors(pulls, best)
    timings, means = pulls.distinct()
    top = float(timings[np.argmax(means)])
    edges = sorted({value for value in (below, top, above) if value is not None})
    gaps = [(b - a, (a + b) / 2.0) for a, b in pairwise(edges) if b - a >= 2.0]
    if not gaps:
        return None
    return float(np.round(max(gaps)[1]))


def drift_stops(pulls: TimingPulls) -> str:
    """The sentence that stops timing advice, ``""`` where the engine is steady enough.

    The drift is estimated freely, from timings pulled more than once; it stops the advice when
    it is real (95 %) and came to more, over these pulls, than the timings differ.
    """
    timings, index = np.unique(pulls.timing, return_inverse=True)
    if timings.size < 2 or pulls.number.size < timings.size + 2:
        return ""
    columns = np.zeros((index.size, timings.size))
    columns[np.arange(index.size), index] = 1.0
    base = float(pulls.torque.mean())
    free = Wander(FREE_DRIFT.drift_percent, pulls.wander.resetting_percent, pulls.wander.source)
    try:
        levels = settled(
            pulls.number,
            columns,
            100.0 * pulls.torque[:, None] / base,
            run=pulls.run,
            prior=pulls.prior,
            wander=free,
        ).usual
    except ValueError:
        return ""
    drift = levels.drift()
    rate = float(drift.value[0])
    real = abs(rate) > float(
        rules.half_width(drift.standard_error, drift.degrees_of_freedom, rules.INTERVAL_LEVEL)[0]
    )
    means, _ = levels.fitted.joint(np.eye(timings.size), float(levels.s[0]))
    effect = float(means.max() - means.min())
    came_to = abs(rate) * float(np.ptp(pulls.number))
    if not real or came_to <= effect:
        return ""
    return (
        f"The engine drifted by {came_to:.1f} % over these pulls, the timings differ by"
        f" {effect:.1f} %: settle the engine first, then look for the best timing."
    )
