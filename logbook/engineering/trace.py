"""From samples to a curve, and from a curve to its figures.

Speeds in rpm, torque in N·m, power in kW; arrays are one-dimensional and of equal length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from logbook.engineering.engine import KW_PER_NM_RPM
from logbook.engineering.sweep import (
    rising_part,
    speed_rate,
    steady_parts,
    step_means,
    with_inertia,
)
from logbook.records.score import Figures
from logbook.refusals import BadInput

__all__ = [
    "Array",
    "Curve",
    "Disagreement",
    "at_speeds",
    "band_average",
    "bin_curve",
    "curve_disagreement",
    "figures",
    "power_disagreement",
    "raw_peaks",
    "rising_part",
    "scaled",
    "speed_rate",
    "steady_parts",
    "step_means",
    "with_inertia",
]

Array: TypeAlias = npt.NDArray[np.float64]

STEPS_RPM = (50.0, 100.0, 200.0, 250.0)
_WANTED_PER_BIN = 3.0
_EVEN = 1e-6  # of the step: what rounding may take from an even grid


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Torque and power against rising speed, shape (points,), NaN where one is not known.

    `reach_rpm` is the lowest and highest speed that the samples behind the curve came to: an
    edge bin that is dropped does not take away what was driven.
    """

    speed_rpm: Array
    torque_nm: Array
    power_kw: Array
    reach_rpm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Where recorded power and torque × speed are farthest apart.

    `max_kw` (never negative) at `at_rpm`, `percent` of the recorded power there; `mean_percent`
    is recorded less computed, over the mean of the recorded.
    """

    max_kw: float
    at_rpm: float
    percent: float
    mean_percent: float


def bin_curve(
    speed: Array, torque: Array | None, power: Array | None, step_rpm: float | None = None
) -> Curve:
    """The curve of a pull on speed bins.

    A bin is centered on a multiple of the step. Its value is the mean of its samples, carried
    along the slope of the neighboring bins from the samples' mean speed to the center, so that
    unevenly filled bins do not bend the curve. An edge bin whose samples reach over half of
    its width or less is dropped. A table that already lies on an even grid is taken as it
    stands, and so are points too thin for bins (sorted; equal speeds averaged).

    Parameters
    ----------
    speed : rpm, in any order; samples that are not finite are left out.
    torque, power : N·m and kW; one may be ``None`` and is then computed from the other
        (power = torque × speed), sample by sample.
    step_rpm : bin width; by default the smallest of 50, 100, 200, 250 rpm with three samples
        a bin on average.

    Raises
    ------
    BadInput
        Neither torque nor power, lengths that differ, or fewer than two usable points.
    """
    if torque is None and power is None:
        raise BadInput("there is neither torque nor power", where="Trace", wanted="one of them")
    speed = np.asarray(speed, dtype=np.float64)
    torque, power = both(speed, torque, power)
    usable = np.isfinite(speed) & (speed > 0) & (np.isfinite(torque) | np.isfinite(power))
    speed, torque, power = speed[usable], torque[usable], power[usable]
    if len(speed) < 2:
        raise BadInput(
            f"{len(speed)} usable samples make no curve", where="Trace", wanted="two or more"
        )
    order = np.argsort(speed, kind="stable")
    speed, torque, power = speed[order], torque[order], power[order]
    reach = (float(speed[0]), float(speed[-1]))
    if _is_even(speed, step_rpm):
        return Curve(speed, torque, power, reach)
    step = step_rpm or _step_for(speed)
    if step is None:
        centers, torque, power = _averaged(speed, torque, power, speed)
        return Curve(centers, torque, power, reach)
    number = np.floor(speed / step + 0.5)
    centers, torque, power = _averaged(speed, torque, power, number * step)
    kept = slice(
        1 if (centers[0] + step / 2) - speed[0] <= step / 2 else 0,
        -1 if speed[-1] - (centers[-1] - step / 2) <= step / 2 else None,
    )
    if len(centers[kept]) < 2:
        raise BadInput(
            f"the speed spans only {reach[0]:.0f}–{reach[1]:.0f} rpm, less than two bins of"
            f" {step:g} rpm",
            where="Trace",
            wanted="a longer sweep",
        )
    return Curve(centers[kept], torque[kept], power[kept], reach)


def both(speed: Array, torque: Array | None, power: Array | None) -> tuple[Array, Array]:
    """(torque in N·m, power in kW) against speed in rpm, the one that is missing computed from
    the other; NaN where it cannot be. All of one shape (samples,)."""
    for given in (torque, power):
        if given is not None and len(given) != len(speed):
            raise BadInput(
                f"{len(speed)} speeds and {len(given)} values", where="Trace", wanted="as many"
            )
    if torque is None:
        assert power is not None
        power = np.asarray(power, dtype=np.float64)
        with np.errstate(over="ignore"):  # at next to no speed
            return np.divide(
                power, speed * KW_PER_NM_RPM, out=np.full_like(power, np.nan), where=speed > 0
            ), power
    torque = np.asarray(torque, dtype=np.float64)
    if power is None:
        return torque, torque * speed * KW_PER_NM_RPM
    return torque, np.asarray(power, dtype=np.float64)


def _is_even(speed: Array, step_rpm: float | None) -> bool:
    gaps = np.diff(speed)
    step = float(gaps[0])
    wide_enough = step_rpm is None or step >= step_rpm * (1 - _EVEN)
    return step > 0 and wide_enough and bool(np.all(np.abs(gaps - step) <= step * _EVEN))


def _step_for(speed: Array) -> float | None:
    per_rpm = len(speed) / max(float(speed[-1] - speed[0]), 1.0)
    return next((step for step in STEPS_RPM if per_rpm * step >= _WANTED_PER_BIN), None)


def _averaged(
    speed: Array, torque: Array, power: Array, group: Array
) -> tuple[Array, Array, Array]:
    """Means of torque and power by group, carried to the group's speed; NaN samples left out."""
    centers, which = np.unique(group, return_inverse=True)
    return (
        centers,
        _carried(speed, torque, centers, which),
        _carried(speed, power, centers, which),
    )


def _carried(speed: Array, values: Array, centers: Array, which: npt.NDArray[np.intp]) -> Array:
    known = np.isfinite(values)
    count = np.bincount(which[known], minlength=len(centers)).astype(np.float64)
    filled = count > 0
    result = np.full(len(centers), np.nan)
    if not filled.any():
        return result
    at = np.bincount(which[known], speed[known], len(centers))[filled] / count[filled]
    mean = np.bincount(which[known], values[known], len(centers))[filled] / count[filled]
    slope = np.gradient(mean, at) if len(at) > 1 else np.zeros(1)
    result[filled] = mean + slope * (centers[filled] - at)
    return result


def band_average(
    speed: Array,
    values: Array,
    low: float,
    high: float,
    *,
    reach: tuple[float, float] | None = None,
) -> float | None:
    """Speed-weighted mean over a band: trapezoid, interpolated at the band's edges.

    ``∫ values d(speed) / (high − low)``, in the unit of `values`. ``None`` where the curve does
    not cover the band. `reach` is how far the samples behind a binned curve came: up to there
    the outermost two points are carried on in a straight line, by at most their distance.
    """
    known = np.isfinite(values)
    speed, values = speed[known], values[known]
    if len(speed) < 2 or not low < high:
        return None
    first, last = float(speed[0]), float(speed[-1])
    lowest, highest = first, last
    if reach is not None:
        lowest = min(first, max(reach[0], 2 * first - float(speed[1])))
        highest = max(last, min(reach[1], 2 * last - float(speed[-2])))
    if low < lowest or high > highest:
        return None
    inside = (speed > low) & (speed < high)
    at = np.concatenate(([low], speed[inside], [high]))
    over = np.interp(at, speed, values)
    if low < first:
        over[0] = _straight(low, speed[:2], values[:2])
    if high > last:
        over[-1] = _straight(high, speed[-2:], values[-2:])
    area = np.sum((over[1:] + over[:-1]) / 2 * np.diff(at))
    return float(area / (high - low))


def _straight(at: float, speed: Array, values: Array) -> float:
    slope = (values[1] - values[0]) / (speed[1] - speed[0])
    return float(values[0] + slope * (at - speed[0]))


def figures(curve: Curve, band: tuple[float, float] | None) -> Figures:
    """Peaks, read off the curve's points, and band averages of power and torque."""
    power, power_at = _peak(curve.speed_rpm, curve.power_kw)
    torque, torque_at = _peak(curve.speed_rpm, curve.torque_nm)
    over: list[float | None] = [None, None]
    if band is not None:
        over = [
            band_average(curve.speed_rpm, values, *band, reach=curve.reach_rpm)
            for values in (curve.power_kw, curve.torque_nm)
        ]
    return Figures(power, power_at, torque, torque_at, over[0], over[1])


def raw_peaks(speed: Array, torque: Array | None, power: Array | None) -> Figures:
    """The highest single samples, to be shown beside the peaks of the binned curve."""
    torque, power = both(np.asarray(speed, dtype=np.float64), torque, power)
    highest_power, power_at = _peak(speed, power)
    highest_torque, torque_at = _peak(speed, torque)
    return Figures(highest_power, power_at, highest_torque, torque_at)


def _peak(speed: Array, values: Array) -> tuple[float | None, float | None]:
    usable = np.where(np.isfinite(speed) & np.isfinite(values), values, -np.inf)
    at = int(usable.argmax()) if usable.size else 0
    if not usable.size or usable[at] == -np.inf:
        return None, None
    return float(usable[at]), float(speed[at])


def scaled(curve: Curve, factor: float) -> Curve:
    """The curve with torque and power multiplied by a correction factor."""
    return Curve(
        curve.speed_rpm, curve.torque_nm * factor, curve.power_kw * factor, curve.reach_rpm
    )


def at_speeds(curve: Curve, grid: Array) -> Curve:
    """The curve read at the speeds of a rising grid, linear in between, NaN outside it."""
    grid = np.asarray(grid, dtype=np.float64)
    return Curve(
        grid,
        _read_at(grid, curve.speed_rpm, curve.torque_nm),
        _read_at(grid, curve.speed_rpm, curve.power_kw),
        curve.reach_rpm,
    )


def _read_at(grid: Array, speed: Array, values: Array) -> Array:
    known = np.isfinite(values)
    if not known.any():
        return np.full(len(grid), np.nan)
    return np.interp(grid, speed[known], values[known], left=np.nan, right=np.nan)


def power_disagreement(
    speed: Array, torque: Array, power: Array, step_rpm: float | None = None
) -> Disagreement:
    """How far a recorded power channel and torque × speed are apart, on speed bins.

    Raises
    ------
    BadInput
        As `bin_curve`, or no point with both torque and power.
    """
    both = np.isfinite(torque) & np.isfinite(power)
    return curve_disagreement(
        bin_curve(
            np.where(both, speed, np.nan), torque, np.asarray(power, dtype=np.float64), step_rpm
        )
    )


def curve_disagreement(recorded: Curve) -> Disagreement:
    """How far the power and torque × speed of a curve without NaN are apart."""
    computed = recorded.torque_nm * recorded.speed_rpm * KW_PER_NM_RPM
    apart = recorded.power_kw - computed
    at = int(np.argmax(np.abs(apart)))
    there = abs(float(recorded.power_kw[at])) or float("nan")
    mean = float(np.mean(recorded.power_kw)) or float("nan")
    return Disagreement(
        max_kw=abs(float(apart[at])),
        at_rpm=float(recorded.speed_rpm[at]),
        percent=100 * abs(float(apart[at])) / there,
        mean_percent=100 * float(np.mean(apart)) / mean,
    )
