"""Time logs: which samples are the pull, how fast the speed rose, what inertia took.

Time in s, rising; speed in rpm; torque in N·m; arrays one-dimensional and of equal length.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from logbook.engineering.engine import inertia_torque_nm
from logbook.refusals import BadInput

Array: TypeAlias = npt.NDArray[np.float64]

_AT_LOAD = 0.25  # of the load's highest samples
_LOADED_SAMPLES = 20
_DIP = 0.01  # of the speed range: a fall that still belongs to the rise
_LEAST_RISE = 0.05  # of the highest speed: less is a steady step, no sweep
_PART = 0.5  # of the longest rise: a shorter one is a blip of the throttle, no pull
_GAP_S = 1.0
_GAP_STEPS = 10  # a pause in the recording is longer than both
_SMOOTHING_S = 0.2
_SLOPE_S = 0.25
_NOISE_SAMPLES = 20_000  # tell noise to one percent
_HIGH_SAMPLES = 10_000
_STEADY_PER_S = 0.01  # of the speed: what a held speed may wander in a second
_STEP_S = 2.0  # a shorter hold is no steady step


def rising_part(time: Array | None, speed: Array, load: Array | None = None) -> tuple[int, int]:
    """First and last sample (inclusive) of the rising, loaded part of a time log: the longest
    rise of `rising_parts`."""
    parts, gains = _parts(time, speed, load)
    return parts[int(np.argmax(gains))]


def rising_parts(
    time: Array | None, speed: Array, load: Array | None = None
) -> tuple[tuple[int, int], ...]:
    """First and last sample (inclusive) of every pull in a time log, in order.

    A pull is a rise of the smoothed speed within samples whose load is at least a quarter of
    that of the highest ones, and at least half as long as the longest; dips of up to 1 % of
    the speed range belong to it. The hold before the rise and the one after it are left out. A
    gear change, braking, a clock set back and a gap in the recording end a pull.

    Parameters
    ----------
    time : seconds, to smooth over 0.2 s; without it samples are taken as they are.
    load : torque, power or throttle in any unit; without it every sample counts as loaded.

    Raises
    ------
    BadInput
        Fewer than three samples, or no rise of 5 % of the highest speed under load.
    """
    return _parts(time, speed, load)[0]


def _parts(
    time: Array | None, speed: Array, load: Array | None
) -> tuple[tuple[tuple[int, int], ...], tuple[float, ...]]:
    """The parts and the rise in rpm of each."""
    finite = np.isfinite(speed)
    if np.count_nonzero(finite) < 3:
        raise BadInput("fewer than three speeds", where="Trace", wanted="a sweep")
    if not finite.all():
        number = np.arange(len(speed))
        speed = np.interp(number, number[finite], speed[finite])
    step = None if time is None else _usual_step(time)
    width = _samples_in(step, _SMOOTHING_S)
    smooth = _smoothed(speed, width)
    noise = _noise(speed) / math.sqrt(width)
    dip = max(_DIP * float(np.ptp(smooth)), 4 * noise)
    loaded = np.ones(len(speed), dtype=bool) if load is None else _loaded(load, width)
    runs = _unbroken(time, step, _runs(loaded))
    rises = [rise for run in runs for rise in _rises(smooth, *run, dip)]
    gain = max((float(smooth[high] - smooth[low]) for low, high in rises), default=0.0)
    if gain <= max(_LEAST_RISE * float(np.max(smooth)), 0.0):
        raise BadInput(
            f"under load the speed rises by no more than {gain:.0f} rpm",
            where="Trace",
            wanted="a sweep with rising speed, or steady points",
        )
    long = [(low, high) for low, high in rises if smooth[high] - smooth[low] >= _PART * gain]
    return (
        tuple(_trimmed(smooth, low, high, noise) for low, high in long),
        tuple(float(smooth[high] - smooth[low]) for low, high in long),
    )


def _trimmed(smooth: Array, low: int, high: int, noise: float) -> tuple[int, int]:
    """A rise without the hold before it and the one after it."""
    part = smooth[low : high + 1]
    slack = min(3 * noise, float(smooth[high] - smooth[low]) / 4)
    first = low + int(np.flatnonzero(part <= smooth[low] + slack)[-1])
    last = low + int(np.flatnonzero(part >= smooth[high] - slack)[0])
    return (first, last) if first < last else (low, high)


def _unbroken(
    time: Array | None, step: float | None, runs: list[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Runs of samples, parted where the clock was set back or the recording has a gap."""
    if time is None or step is None:
        return runs
    steps, gap = np.diff(time), max(_GAP_S, _GAP_STEPS * step)
    broken = np.flatnonzero((steps < 0) | (steps > gap))
    parts = []
    for first, last in runs:
        inside = broken[(first <= broken) & (broken < last)].tolist()
        edges = [first, *(at + 1 for at in inside), last + 1]
        parts += [(a, b - 1) for a, b in pairwise(edges)]
    return parts


def _usual_step(time: Array) -> float | None:
    """The median time between two samples where it goes forward; ``None`` where it never does."""
    steps = np.diff(time)
    forward = steps > 0
    if not forward.all():  # false for NaN, too
        steps = np.diff(time[np.isfinite(time)])
        steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else None


def _samples_in(step: float | None, seconds: float) -> int:
    """How many samples fall into a stretch of time; at least one."""
    return 1 if step is None else max(1, math.floor(seconds / step))


def _smoothed(values: Array, width: int) -> Array:
    """Moving mean over an odd number of samples, narrower at both ends."""
    half = width // 2
    if half == 0:
        return values
    return np.asarray(_around(values, half) / _number_around(len(values), half))


def _number_around(count: int, half: int) -> Array:
    """How many samples `_around` sums up at each of them."""
    if count <= 2 * half:
        edge = np.minimum(np.arange(count), half)
        return np.asarray(edge + edge[::-1] + 1, dtype=np.float64)
    number = np.full(count, 2.0 * half + 1.0)
    number[:half] = np.arange(half + 1, 2 * half + 1)
    number[count - half :] = number[:half][::-1]
    return number


def _around(values: Array, half: int) -> Array:
    """The sum of each sample and up to `half` on either side of it."""
    count = len(values)
    total = np.concatenate(([0.0], np.cumsum(values)))
    if count <= 2 * half:
        number = np.arange(count)
        end, first = np.minimum(number + half, count - 1) + 1, np.maximum(number - half, 0)
        return np.asarray(total[end] - total[first])
    sums = np.empty(count)
    sums[:half] = total[half + 1 : 2 * half + 1]
    np.subtract(total[2 * half + 1 :], total[: count - 2 * half], out=sums[half : count - half])
    sums[count - half :] = total[count] - total[count - 2 * half : count - half]
    return sums


def _noise(values: Array) -> float:
    """Standard deviation of what is neither level nor slope, from second differences: of a long
    log from some of them, all over it."""
    some = np.abs(np.diff(values, 2))[:: 1 + len(values) // _NOISE_SAMPLES]
    return float(np.median(some)) / (0.6745 * math.sqrt(6))


def _loaded(load: Array, width: int) -> npt.NDArray[np.bool_]:
    load = np.where(np.isfinite(load), load, 0.0)
    # Of a short log the highest twentieth is the load, of an evening in the cell, mostly idle,
    # the highest twenty samples or half a percent.
    share = min(0.05, max(0.005, _LOADED_SAMPLES / len(load)))
    threshold = _AT_LOAD * exceeded(load, share)
    return _smoothed(load, max(width, 3)) >= threshold


def _runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every run of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _rises(speed: Array, first: int, last: int, dip: float) -> list[tuple[int, int]]:
    """Low and high index of every rise within a run, a dip of up to `dip` not ending one."""
    found = []
    low = high = first
    # Only where the speed turns can a rise begin or end.
    turns = first + 1 + np.flatnonzero(np.diff(np.sign(np.diff(speed[first : last + 1]))))
    at = np.concatenate(([first], turns, [last]))
    for i, now in zip(at.tolist(), speed[at].tolist(), strict=True):
        if now >= speed[high]:
            high = i
        elif now < speed[low] or speed[high] - now > dip:
            found.append((low, high))
            low = high = i
    found.append((low, high))
    return found


def speed_rate(time: Array, speed: Array) -> Array:
    """Rate of the speed, rpm/s, at every sample: slope of a straight line over ±0.25 s.

    At least two samples either side are used; NaN where time or speed is not finite.
    """
    rate = np.full(len(speed), np.nan)
    known = np.isfinite(time) & np.isfinite(speed)
    t, n = time[known], speed[known]
    if len(t) < 2:
        return rate
    half = max(2, _samples_in(_usual_step(t), _SLOPE_S))
    slope = np.full(len(t), np.nan)
    with np.errstate(over="ignore", invalid="ignore"):  # times and speeds that nothing has
        t, n = t - t[0], n - n[0]
        st, sn, stn, stt = (_around(x, half) for x in (t, n, t * n, t * t))
        count = _number_around(len(t), half)
        spread = count * stt - st * st
        steady = spread > 0
        slope[steady] = (count * stn - st * sn)[steady] / spread[steady]
    rate[known] = slope
    return rate


def with_inertia(time: Array, speed: Array, torque: Array, inertia_kg_m2: float) -> Array:
    """Torque of the engine during a sweep, N·m: measured + J·dω/dt.

    `inertia_kg_m2` is everything that is accelerated with the shaft on the engine's side of
    the torque reading. A sample without a rate is NaN.
    """
    return np.asarray(torque + inertia_torque_nm(inertia_kg_m2, 1.0) * speed_rate(time, speed))


def exceeded(values: Array, share: float) -> float:
    """What a small share (0 to 0.5) of the values, shape (samples,) and finite, exceeds, in their
    unit: the percentile between neighbors by a straight line, without ordering all of them."""
    above = share * (len(values) - 1)
    some = values[:: 1 + len(values) // _HIGH_SAMPLES]
    high = values[values >= np.percentile(some, 100 * max(0.0, 1 - 2 * share))]
    if len(high) < above + 2:
        high = values
    return float(np.percentile(high, 100 * (1 - above / max(len(high) - 1, 1))))


def steady_parts(time: Array, speed: Array) -> tuple[tuple[int, int], ...]:
    """First and last sample (inclusive) of the settled part of every held speed.

    A speed is held while its rate stays within 1 % of it per second for at least 2 s; the
    first half of the hold is settling time and left out.
    """
    rate = speed_rate(time, speed)
    held = np.isfinite(rate) & (np.abs(rate) <= _STEADY_PER_S * np.abs(speed))
    return tuple(
        ((first + last + 1) // 2, last)
        for first, last in _runs(held)
        if time[last] - time[first] >= _STEP_S
    )


def step_means(values: Array, parts: tuple[tuple[int, int], ...]) -> Array:
    """The mean of a channel over each settled part, shape (parts,), NaN samples left out."""
    return np.array(
        [
            np.mean(part[np.isfinite(part)]) if np.isfinite(part).any() else np.nan
            for part in (values[first : last + 1] for first, last in parts)
        ],
        dtype=np.float64,
    )
