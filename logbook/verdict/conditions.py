"""What knock depends on beside timing, and when a timing found clean says nothing any more."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.verdict import words

LAMBDA_SAME = 0.02
AIR_HOTTER_K = 3.0
COOLANT_HOTTER_K = 3.0
"""What a lambda meter and thermometers scatter; anything beyond is another condition."""

AIR_HIGHER_KPA = 1.0
AIR_DRIER_KPA = 0.3
"""From day to day the barometer and the humidity move too, and denser or drier air knocks
earlier (common practice, no source); within a session they are left alone."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What knock depends on beside timing. `rest_of_setup` identifies every factor but timing
    (jets among them). ``None`` is not known, and not known is not taken for the same."""

    build: str
    fuel_batch: str
    rest_of_setup: str
    lambda_ratio: float | None = None
    air_c: float | None = None
    coolant_c: float | None = None
    air_kpa: float | None = None
    vapor_kpa: float | None = None


def lapsed(then: Conditions, now: Conditions) -> str:
    """Why a timing found clean under `then` says nothing about `now`; ``""`` where it holds."""
    reasons = []
    if then.build != now.build:
        reasons.append("another build")
    if then.fuel_batch != now.fuel_batch:
        reasons.append("another fuel batch")
    if then.rest_of_setup != now.rest_of_setup:
        reasons.append("another set-up")
    reasons += [
        _compared("lambda", then.lambda_ratio, now.lambda_ratio, LAMBDA_SAME, both_ways=True),
        _compared("air", then.air_c, now.air_c, AIR_HOTTER_K, both_ways=False),
        _compared("coolant", then.coolant_c, now.coolant_c, COOLANT_HOTTER_K, both_ways=False),
    ]
    return words.listed([reason for reason in reasons if reason])


def lapsed_since(then: Conditions, now: Conditions) -> str:
    """The same for an earlier session. From day to day more changes than from pull to pull, so
    everything must be known on both days, air and coolant may be no hotter at all, and the
    barometer and the humidity count too, beyond `AIR_HIGHER_KPA` and `AIR_DRIER_KPA`."""
    reasons = [lapsed(then, now)]
    reasons += [
        f"{name} not known"
        for name, known in (
            ("fuel batch", then.fuel_batch),
            ("lambda", then.lambda_ratio),
            ("air", then.air_c),
            ("coolant", then.coolant_c),
        )
        if known in (None, "")
    ]
    reasons += [
        f"{name} not known"
        for name, readings in (
            ("air pressure", (then.air_kpa, now.air_kpa)),
            ("humidity", (then.vapor_kpa, now.vapor_kpa)),
        )
        if None in readings
    ]
    for name, before, today, slack in (
        ("hotter air", then.air_c, now.air_c, 0.0),
        ("hotter coolant", then.coolant_c, now.coolant_c, 0.0),
        ("higher air pressure", then.air_kpa, now.air_kpa, AIR_HIGHER_KPA),
        ("drier air", now.vapor_kpa, then.vapor_kpa, AIR_DRIER_KPA),
    ):
        if before is not None and today is not None and today - before > slack:
            reasons.append(name)
    return words.listed(list(dict.fromkeys(reason for reason in reasons if reason)))


def _compared(
    name: str, then: float | None, now: float | None, same: float, *, both_ways: bool
) -> str:
    """Why a reading is not what it was, ``""`` where it is, or where nobody ever reads it."""
    if then is None and now is None:
        return ""
    if then is None or now is None:
        return f"{name} read only once"
    if both_ways:
        return f"another {name}" if abs(now - then) > same else ""
    return f"hotter {name}" if now - then > same else ""
