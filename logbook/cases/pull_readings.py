"""What was read beside a pull's power: vacuums and blow-by, typed or off the trace."""

from __future__ import annotations

from logbook.cases.bench import Bench
from logbook.records.pull import Pull

# What is shown beside the answer: label, kind of quantity, pull attribute, trace quantity.
BESIDE_THE_ANSWER = (
    ("Manifold vacuum", "vacuum", "manifold_vacuum_kpa", "manifold vacuum"),
    ("Crankcase vacuum", "vacuum", "crankcase_vacuum_kpa", "crankcase vacuum"),
    ("Blow-by", "volume_flow", "blow_by_m3_h", "blow-by"),
)


def readings(bench: Bench, pull: Pull) -> tuple[tuple[str, str, float], ...]:
    """The vacuums and blow-by of a pull: typed, else read off the trace (manifold vacuum at
    peak power, the others averaged over the band)."""
    found = []
    for label, kind, attribute, quantity in BESIDE_THE_ANSWER:
        value = getattr(pull, attribute)
        if value is None:
            value = _from_trace(bench, pull, quantity)
        if value is not None:
            found.append((label, kind, value))
    return tuple(found)


def _from_trace(bench: Bench, pull: Pull, quantity: str) -> float | None:
    trace = bench.traces.get(pull.id)
    channel, speed = (trace.of(quantity), trace.of("engine speed")) if trace else (None, None)
    if trace is None or channel is None or speed is None:
        return None
    from logbook.engineering.readings import channel_at, channel_mean

    taken = slice(trace.first_sample, trace.last_sample + 1)
    score = bench.reckoned[pull.id].score
    peak_rpm = score.observed.peak_power_rpm or score.corrected.peak_power_rpm
    if quantity == "manifold vacuum" and peak_rpm is not None:
        return channel_at(speed.si()[taken], channel.si()[taken], peak_rpm)
    return channel_mean(speed.si()[taken], channel.si()[taken], bench.place.band)
