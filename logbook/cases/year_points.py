"""What was measured on an engine over the years: one value a session or an inspection.

A session counts with the median of its pulls: those stand too close together to say how a year
differs from the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from logbook import underway
from logbook.cases.place import band_of
from logbook.records.engine import Build, Engine
from logbook.records.inspection import Inspection
from logbook.store.over_years import Readings, SessionBest, counted_readings

if TYPE_CHECKING:
    from logbook.records.trace import Trace
    from logbook.store.reader import Reader

UP, DOWN = "up", "down"

POWER = "power"
CHANNELS = ("blow-by", "crankcase vacuum", "oil pressure")
_SPEED = "engine speed"


@dataclass(frozen=True, slots=True)
class Measure:
    """What is followed. `kind` is a kind of `logbook.quantities`; `worse` the way that speaks
    for wear, ``""`` where neither does by itself; `signed` what may lie below zero."""

    key: str
    label: str
    kind: str
    worse: str
    signed: bool = False


MEASURES = (
    Measure(POWER, "Best band power of a session", "power", DOWN),
    Measure("blow-by", "Blow-by, mean over the band", "volume_flow", UP),
    Measure("crankcase vacuum", "Crankcase vacuum, mean over the band", "vacuum", "", signed=True),
    Measure("oil pressure", "Oil pressure, mean over the band", "cylinder_pressure", DOWN),
    Measure("leak-down", "Leak-down, worst cylinder", "percent", UP),
    Measure("cranking", "Cranking compression, lowest cylinder", "cylinder_pressure", DOWN),
)


@dataclass(frozen=True, slots=True)
class Point:
    """One value, stored unit; of a session or an inspection (its id), at a stored time, on a day
    of the cell's calendar."""

    at: str
    day: str
    build: str
    record_id: str
    value: float


def points_of(
    read: Reader,
    engine: Engine,
    sessions: Sequence[SessionBest],
    standard: str,
    band: tuple[float, float] | None,
) -> dict[str, list[Point]]:
    """Every measure's values of an engine, oldest first, over one band; powers under one standard
    only, and only of sessions that were judged on that band."""
    found: dict[str, list[Point]] = {measure.key: [] for measure in MEASURES}
    for session in sessions:
        alike = session.standard == standard and band_of(session, engine) == band
        if session.best_is_band and alike and session.best_power_kw:
            found[POWER].append(_point(session, session.best_power_kw))
    if sessions:
        _add_channels(found, read, engine, sessions, band)
    labels = {build.id: build.label for build in read.where(Build, engine_id=engine.id)}
    for one in read.where(Inspection, engine_id=engine.id, order="inspected_on"):
        for key, values, pick in (
            ("leak-down", one.leak_down_percent, max),
            ("cranking", one.cranking_kpa, min),
        ):
            known = [value for value in values if value is not None]
            if known:
                build = labels.get(one.build_id or "", "")
                found[key].append(
                    Point(
                        f"{one.inspected_on}T00:00:00Z",
                        one.inspected_on,
                        build,
                        one.id,
                        pick(known),
                    )
                )
    return found


def _point(session: SessionBest, value: float) -> Point:
    return Point(session.opened_at, session.day, session.build, session.id, value)


def _add_channels(
    found: dict[str, list[Point]],
    read: Reader,
    engine: Engine,
    sessions: Sequence[SessionBest],
    band: tuple[float, float] | None,
) -> None:
    pulls = counted_readings(read, engine.id, since=sessions[0].opened_at)
    traces = read.traces([pull.pull_id for pull in pulls], only=(_SPEED, *CHANNELS))
    by_session: dict[str, list[Readings]] = {}
    for pull in pulls:
        by_session.setdefault(pull.session_id, []).append(pull)
    for session in underway.each(sessions):
        for channel in CHANNELS:
            values = [
                value
                for pull in by_session.get(session.id, [])
                if (value := _reading(channel, pull, traces.get(pull.pull_id), band)) is not None
            ]
            if values:
                found[channel].append(_point(session, median(values)))


def _reading(
    channel: str, pull: Readings, trace: Trace | None, band: tuple[float, float] | None
) -> float | None:
    """A pull's recorded channel over the band, or what was typed for it."""
    from logbook.engineering.readings import channel_mean

    speed = trace.of(_SPEED) if trace else None
    recorded = trace.of(channel) if trace else None
    if trace and speed and recorded and speed.si_unit and recorded.si_unit:
        taken = slice(trace.first_sample, trace.last_sample + 1)
        mean = channel_mean(speed.si()[taken], recorded.si()[taken], band)
        if mean is not None:
            return mean
    typed = {"blow-by": pull.blow_by_m3_h, "crankcase vacuum": pull.crankcase_vacuum_kpa}
    return typed.get(channel)
