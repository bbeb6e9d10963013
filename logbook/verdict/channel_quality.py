"""Pull quality by the recorded channels: named checks, each with its number.

Channels are float64 arrays of shape (samples,), SI, ``nan`` where the source had nothing; pass
the samples taken as the pull. See `quality` for the checks on readings.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from logbook.verdict import words
from logbook.verdict.fit import Array
from logbook.verdict.quality import Check

STEADY_SHARE = 0.02
STEADY_MEANS = 100  # a surge takes longer than so little of a pull
FULL_THROTTLE_PERCENT = 97.0
HAMPEL_WIDTH = 7
HAMPEL_SIGMAS = 5.0
SPIKE_SHARE = 0.01
FLAT_SAMPLES = 8
GAP_STEPS = 4.0
GAP_RPM = 100.0


def band_covered(speed_rpm: npt.ArrayLike, band: tuple[float, float]) -> Check:
    """The share of the band that the pull covers."""
    speed = _finite(speed_rpm)
    low, high = band
    seen = max(0.0, min(float(speed.max()), high) - max(float(speed.min()), low))
    share = seen / (high - low)
    return Check(
        "band-covered",
        100.0 * share,
        "%",
        100.0,
        share >= 1.0 - 1e-9,
        f"The pull covers {100.0 * share:.0f} % of the band {low:.0f}–{high:.0f} rpm.",
    )


def speed_steady(speed_rpm: npt.ArrayLike) -> Check:
    """How much of a rising sweep the speed falls back: sum of falls over total rise.

    Both between means over hundredths of the pull: from one sample to the next of a fast log the
    pickup's noise is more than the engine's rise.
    """
    speed = _finite(speed_rpm)
    many = max(1, speed.size // STEADY_MEANS)
    steps = np.diff(speed[: speed.size // many * many].reshape(-1, many).mean(axis=1))
    rise = float(steps[steps > 0.0].sum())
    share = -float(steps[steps < 0.0].sum()) / rise if rise > 0.0 else 1.0
    return Check(
        "speed-steady",
        100.0 * share,
        "%",
        100.0 * STEADY_SHARE,
        share <= STEADY_SHARE,
        f"Speed falls back over {100.0 * share:.1f} % of its rise.",
    )


def throttle_open(
    throttle_percent: npt.ArrayLike, speed_rpm: npt.ArrayLike, band: tuple[float, float]
) -> Check | None:
    """The least throttle opening within the band."""
    throttle, speed = np.asarray(throttle_percent, float), np.asarray(speed_rpm, float)
    inside = throttle[(speed >= band[0]) & (speed <= band[1]) & np.isfinite(throttle)]
    if inside.size == 0:
        return None
    least = float(inside.min())
    return Check(
        "throttle-open",
        least,
        "%",
        FULL_THROTTLE_PERCENT,
        least >= FULL_THROTTLE_PERCENT,
        f"The throttle is open {least:.0f} % at the least within the band.",
    )


def spikes(name: str, values: npt.ArrayLike) -> Check | None:
    """Samples that stand out from the running median of seven.

    Source: Hampel (1974), *J. Amer. Statist. Assoc.* 69:383; scaled median absolute deviation,
    here of the whole channel's residuals, so that a quiet stretch does not cry wolf.
    """
    y = _finite(values)
    if y.size < 2 * HAMPEL_WIDTH:
        return None
    half = HAMPEL_WIDTH // 2
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(y, half, mode="edge"), HAMPEL_WIDTH)
    residual = y - np.median(windows, axis=1)
    # A smooth channel has no scale of its own, and what moves it by less than a hundredth of its
    # height moves no bin's mean that anybody would notice.
    least = SPIKE_SHARE * float(np.abs(y).max()) / HAMPEL_SIGMAS
    scale = max(1.4826 * float(np.median(np.abs(residual))), least)
    count = int(np.count_nonzero(np.abs(residual) > HAMPEL_SIGMAS * scale)) if scale > 0.0 else 0
    return Check(
        "spikes",
        float(count),
        "samples",
        0.0,
        count == 0,
        f"{name}: {words.samples(count)} out of line with the neighbors.",
    )


def flat_line(name: str, values: npt.ArrayLike) -> Check | None:
    """The longest run of equal samples anywhere but where the whole channel is constant; at the
    channel's top or bottom it is called clipped."""
    y = _finite(values)
    if y.size < FLAT_SAMPLES or np.ptp(y) == 0.0:
        return None
    edges = np.flatnonzero(np.diff(y) != 0.0)
    starts, ends = np.concatenate(([0], edges + 1)), np.concatenate((edges + 1, [y.size]))
    longest = int(np.argmax(ends - starts))
    run, value = int((ends - starts)[longest]), float(y[starts[longest]])
    how = "clipped" if value in (float(y.max()), float(y.min())) else "flat"
    return Check(
        "flat-line",
        float(run),
        "samples",
        float(FLAT_SAMPLES),
        run < FLAT_SAMPLES,
        f"{name} is {how} at {value:g} over {run} samples.",
    )


def gaps(speed_rpm: npt.ArrayLike) -> Check | None:
    """The widest step in speed against the usual one."""
    steps = np.abs(np.diff(np.unique(_finite(speed_rpm))))
    if steps.size < 3:
        return None
    usual = float(np.median(steps))
    ratio = float(steps.max()) / usual
    # Dense logs have tiny usual steps; a gap must also be worth a bin of the curve.
    passed = ratio <= GAP_STEPS or float(steps.max()) <= GAP_RPM
    return Check(
        "gaps",
        float(steps.max()),
        "rpm",
        max(GAP_STEPS * usual, GAP_RPM),
        passed,
        f"The widest gap between samples is {steps.max():.0f} rpm.",
    )


def missing(name: str, values: npt.ArrayLike) -> Check:
    """How many samples a channel lacks."""
    count = int(np.count_nonzero(~np.isfinite(np.asarray(values, dtype=np.float64))))
    return Check(
        "missing-samples",
        float(count),
        "samples",
        0.0,
        count == 0,
        f"{name} lacks {words.samples(count)}.",
    )


def _finite(values: npt.ArrayLike) -> Array:
    """The finite samples of a channel, at least one."""
    array = np.asarray(values, dtype=np.float64)
    array = array[np.isfinite(array)]
    if array.size == 0:
        raise ValueError("the channel has no values")
    return array
