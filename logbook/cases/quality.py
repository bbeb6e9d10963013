"""Pull quality: which named checks a pull fails, each with its number.

The checks are `logbook.verdict.quality`'s and `channel_quality`'s; this file finds what each is
held against. What already has a caution of its own (air age, ready window, band, disagreement
of power) is not said twice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.quantities import show
from logbook.records.caution import Caution
from logbook.records.pull import SWEEP, Pull

if TYPE_CHECKING:
    from logbook.engineering.trace import Array
    from logbook.verdict.quality import Check

_KINDS = {"K": "temperature_difference", "kPa": "pressure", "N·m": "torque"}
_FIGURE = re.compile(r"([+\-−]?)(\d+(?:\.\d+)?) (K|kPa|N·m)(?!\w)")

# Channels whose spikes, flat lines and holes move the number.
ESSENTIAL = ("torque", "power")


def quality_cautions(bench: Bench, pull: Pull) -> tuple[Caution, ...]:
    """A caution for every check that the pull does not pass."""
    return tuple(
        Caution(f"quality-{check.code}", in_units(check.text, bench.cell.units))
        for check in quality_checks(bench, pull)
        if not check.passed
    )


def in_units(sentence: str, units: str) -> str:
    """A check's sentence in the units of the cell."""

    def shown(found: re.Match[str]) -> str:
        sign = found[1].replace("-", "−")
        return f"{sign}{show(float(found[2]), _KINDS[found[3]], units)}"

    return _FIGURE.sub(shown, sentence.rstrip("."))


def quality_checks(bench: Bench, pull: Pull) -> tuple[Check, ...]:
    """Every check there is something to check by, passed or not."""
    return tuple(
        check
        for checks in (
            _trace_checks(bench, pull),
            _against_baseline(bench, pull),
            _air_checks(bench, pull),
            _zero_checks(bench, pull),
        )
        for check in checks
        if check is not None
    )


def _trace_checks(bench: Bench, pull: Pull) -> Iterable[Check | None]:
    trace = bench.traces.get(pull.id)
    speed_channel = trace.of("engine speed") if trace else None
    if trace is None or speed_channel is None:
        return
    from logbook.verdict import channel_quality

    taken = slice(trace.first_sample, trace.last_sample + 1)
    speed = speed_channel.si()[taken]
    if pull.kind == SWEEP:
        if pull.sweep_direction == "up":
            yield channel_quality.speed_steady(speed)
        yield channel_quality.gaps(speed)
    throttle = trace.of("throttle")
    if throttle is not None and bench.place.band is not None:
        yield channel_quality.throttle_open(throttle.si()[taken], speed, bench.place.band)
    for quantity in ESSENTIAL:
        channel = trace.of(quantity)
        if channel is None:
            continue
        values = channel.si()[taken]
        yield channel_quality.missing(channel.name, values)
        if pull.kind == SWEEP:
            yield channel_quality.spikes(channel.name, values)
            yield channel_quality.flat_line(channel.name, values)


def _against_baseline(bench: Bench, pull: Pull) -> Iterable[Check | None]:
    """Temperatures, rest and sweep rate against the mean of the baseline's pulls."""
    base = [p for p in bench.pulls if p.id in bench.baseline_pulls and p.id != pull.id]
    if pull.id in bench.baseline_pulls or not base:
        return
    from logbook.verdict import quality

    for name, attribute in (("oil", "oil_c"), ("coolant", "coolant_c")):
        value, usual = getattr(pull, attribute), _mean(getattr(p, attribute) for p in base)
        if value is not None and usual is not None:
            yield quality.near_baseline(name, value, usual)
    rate, usual_rate = sweep_rate(bench, pull), _mean(sweep_rate(bench, p) for p in base)
    torque = bench.reckoned[pull.id].score.observed.peak_torque_nm
    if rate is not None and usual_rate is not None and torque is not None:
        inertia = (bench.cell.inertia_kg_m2 or 0.0) + (bench.engine.inertia_kg_m2 or 0.0)
        yield quality.sweep_rate(
            rate,
            usual_rate,
            inertia_kg_m2=inertia or None,
            corrected_for_inertia=True,
            torque_nm=torque,
        )


def sweep_rate(bench: Bench, pull: Pull) -> float | None:
    """The pull's sweep rate, rpm/s: written down, else from its time and speed channels."""
    if pull.sweep_rate_rpm_s is not None:
        return pull.sweep_rate_rpm_s
    trace = bench.traces.get(pull.id)
    time, speed = (trace.of("time"), trace.of("engine speed")) if trace else (None, None)
    if trace is None or time is None or speed is None or pull.kind != SWEEP:
        return None
    return _rate(
        time.si()[trace.first_sample : trace.last_sample + 1],
        speed.si()[trace.first_sample : trace.last_sample + 1],
    )


def _rate(time: Array, speed: Array) -> float | None:
    import numpy as np

    known = np.isfinite(time) & np.isfinite(speed)
    if np.count_nonzero(known) < 2:
        return None
    seconds = float(np.ptp(time[known]))
    return float(speed[known][-1] - speed[known][0]) / seconds if seconds > 0 else None


def _air_checks(bench: Bench, pull: Pull) -> Iterable[Check | None]:
    """How far the air moved since the reading that the pull before went by."""
    here = bench.airs.get(pull.air_id)
    before = bench.before(pull)
    earlier = bench.airs.get(before.air_id) if before else None
    if here is None or earlier is None or here.id == earlier.id:
        return
    from logbook.verdict import quality

    yield from quality.air_moving(
        here.pressure_kpa, here.temperature_c, earlier.pressure_kpa, earlier.temperature_c
    )


def _zero_checks(bench: Bench, pull: Pull) -> Iterable[Check | None]:
    torque = bench.reckoned[pull.id].score.observed.peak_torque_nm
    if pull.zero_before_nm is None or pull.zero_after_nm is None or torque is None:
        return
    from logbook.verdict import quality

    yield quality.zero_shift(pull.zero_before_nm, pull.zero_after_nm, torque)


def _mean(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None
