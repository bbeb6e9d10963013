"""Pull quality by the readings: named checks, each with its number.

A check cautions; only people exclude. Every function returns a `Check`, or ``None`` where there
is nothing to check by; the checks on channels are in `channel_quality`. Limits are common
practice, no source, unless said otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

RATE_TORQUE_SHARE = 0.001
RATE_SHARE = 0.10
OIL_NEAR_K = 5.6
COOLANT_NEAR_K = 2.8
REST_NEAR_MINUTES = 5.0
AIR_PRESSURE_MOVED_KPA = 0.1
AIR_TEMPERATURE_MOVED_K = 2.0
ZERO_SHARE = 0.001
POWER_SHARE = 0.005


@dataclass(frozen=True, slots=True)
class Check:
    """One check: a stable code, what was found with its unit, the limit it is held against, and
    whether it passed. `text` says it in a sentence."""

    code: str
    value: float
    unit: str
    limit: float
    passed: bool
    text: str


def sweep_rate(
    rate_rpm_s: float,
    baseline_rate_rpm_s: float,
    *,
    inertia_kg_m2: float | None,
    corrected_for_inertia: bool,
    torque_nm: float,
) -> Check:
    """The sweep rate against the baseline's.

    With a known inertia that nothing corrects for, the torque the difference swallows counts;
    otherwise the difference itself, since oil film and filling lag with the rate too.
    """
    difference = rate_rpm_s - baseline_rate_rpm_s
    if inertia_kg_m2 is not None and not corrected_for_inertia:
        lost = inertia_kg_m2 * difference * np.pi / 30.0
        share = abs(lost) / abs(torque_nm) if torque_nm else float("inf")
        return Check(
            "sweep-rate",
            100.0 * share,
            "%",
            100.0 * RATE_TORQUE_SHARE,
            share <= RATE_TORQUE_SHARE,
            f"The sweep rate differs from the baseline's by {difference:+.0f} rpm/s: that moves"
            f" torque by {100.0 * share:.2f} %.",
        )
    share = abs(difference) / abs(baseline_rate_rpm_s) if baseline_rate_rpm_s else float("inf")
    return Check(
        "sweep-rate",
        100.0 * share,
        "%",
        100.0 * RATE_SHARE,
        share <= RATE_SHARE,
        f"The sweep rate differs from the baseline's by {100.0 * share:.0f} %.",
    )


def in_window(name: str, value_c: float, low_c: float | None, high_c: float | None) -> Check | None:
    """How far a temperature lies outside its ready window, K (0 inside)."""
    if low_c is None and high_c is None:
        return None
    below = low_c - value_c if low_c is not None else 0.0
    above = value_c - high_c if high_c is not None else 0.0
    outside = max(below, above, 0.0)
    return Check(
        f"{name}-window",
        outside,
        "K",
        0.0,
        outside == 0.0,
        f"{name.capitalize()} is {outside:.1f} K outside its ready window.",
    )


def near_baseline(name: str, value: float, baseline: float) -> Check:
    """How far oil or coolant temperature (K), or the minutes since the last pull, lie from the
    baseline's. `name` is ``"oil"``, ``"coolant"`` or ``"rest"``."""
    limit, unit = {
        "oil": (OIL_NEAR_K, "K"),
        "coolant": (COOLANT_NEAR_K, "K"),
        "rest": (REST_NEAR_MINUTES, "min"),
    }[name]
    away = value - baseline
    what = "The rest before the pull" if name == "rest" else f"{name.capitalize()}"
    return Check(
        f"{name}-near-baseline",
        away,
        unit,
        limit,
        abs(away) <= limit,
        f"{what} is {away:+.1f} {unit} from the baseline's.",
    )


def air_age(minutes: float, stale_after: float) -> Check:
    """The age of the air reading at the pull."""
    return Check(
        "air-stale",
        minutes,
        "min",
        stale_after,
        minutes <= stale_after,
        f"The air was read {minutes:.0f} min before the pull.",
    )


def air_moving(
    pressure_kpa: float, temperature_c: float, earlier_kpa: float, earlier_c: float
) -> tuple[Check, Check]:
    """How far pressure and temperature moved since the reading before."""
    pressure, temperature = pressure_kpa - earlier_kpa, temperature_c - earlier_c
    return (
        Check(
            "air-pressure-moving",
            pressure,
            "kPa",
            AIR_PRESSURE_MOVED_KPA,
            abs(pressure) <= AIR_PRESSURE_MOVED_KPA,
            f"The barometer moved by {pressure:+.2f} kPa since the reading before.",
        ),
        Check(
            "air-temperature-moving",
            temperature,
            "K",
            AIR_TEMPERATURE_MOVED_K,
            abs(temperature) <= AIR_TEMPERATURE_MOVED_K,
            f"The inlet air moved by {temperature:+.1f} K since the reading before.",
        ),
    )


def zero_shift(before_nm: float, after_nm: float, torque_nm: float) -> Check:
    """The load cell's zero shift as a share of the torque measured."""
    shift = after_nm - before_nm
    share = abs(shift) / abs(torque_nm) if torque_nm else float("inf")
    return Check(
        "zero-shift",
        100.0 * share,
        "%",
        100.0 * ZERO_SHARE,
        share <= ZERO_SHARE,
        f"The load cell's zero moved by {shift:+.2f} N·m, {100.0 * share:.2f} % of the torque.",
    )


def power_agrees(computed_kw: float, recorded_kw: float) -> Check:
    """Torque × speed against a recorded power channel, both averaged over the band."""
    share = computed_kw / recorded_kw - 1.0 if recorded_kw else float("inf")
    return Check(
        "power-agrees",
        100.0 * share,
        "%",
        100.0 * POWER_SHARE,
        abs(share) <= POWER_SHARE,
        f"Torque × speed differs from the recorded power by {100.0 * share:+.2f} % of the band"
        " average.",
    )


def factor_in_range(factor: float, low: float, high: float) -> Check:
    """How far a correction factor lies outside the range in which its standard stands."""
    outside = max(low - factor, factor - high, 0.0)
    return Check(
        "factor-range",
        outside,
        "1",
        0.0,
        outside == 0.0,
        f"The factor {factor:.4f} is {outside:.4f} outside the standard's {low:g}–{high:g}.",
    )
