"""Which timings may be advised in a session: its own pulls, and what earlier ones found out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logbook.cases.air_of_pulls import airs_of, state_of
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.pull import KNOCK_HEARD, KNOCK_NONE, KNOCK_UNKNOWN, Pull
from logbook.records.session import Session
from logbook.records.setup import TIMING, SetUp
from logbook.records.times import day_in
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.cases.bench import Bench
    from logbook.verdict.bounds import Bounds, TimedPull
    from logbook.verdict.conditions import Conditions

# Older than this an engine has been elsewhere; and the look back stays quick.
SESSIONS_LOOKED_BACK = 30


def knock_in_earlier_sessions(read: Reader, session: Session) -> tuple[TimedPull, ...]:
    """The pulls of the build's earlier sessions that somebody listened to, oldest first. What an
    excluded pull did not do is no proof; what it did is."""
    earlier = [
        other
        for other in read.where(Session, build_id=session.build_id, order="opened_at")
        if other.opened_at < session.opened_at
    ][-SESSIONS_LOOKED_BACK:]
    if not earlier:
        return ()
    zones = {cell.id: cell.time_zone for cell in read.where(Cell)}
    days = {other.id: day_in(other.opened_at, zones[other.cell_id]) for other in earlier}
    pulls = read.where(Pull, session_id=list(days), knock=[KNOCK_NONE, KNOCK_HEARD], order="at")
    set_ups = read.setups({pull.setup_id for pull in pulls})
    airs = airs_of(read, pulls)
    return tuple(
        timed(pull, set_ups[pull.setup_id], airs, session.build_id, day=days[pull.session_id])
        for pull in pulls
    )


def timed(
    pull: Pull,
    set_up: SetUp,
    airs: Mapping[str | None, AirReading],
    build_id: str,
    *,
    day: str = "",
) -> TimedPull:
    """A pull as the bounds see it. An excluded pull finds no timing clean: it may not have been
    loaded."""
    from logbook.verdict.bounds import TimedPull

    clean = pull.knock == KNOCK_NONE
    knock = KNOCK_UNKNOWN if clean and pull.excluded_reason is not None else pull.knock
    conditions = conditions_of(pull, set_up, pull.fuel_id or "", airs, build_id)
    return TimedPull(set_up.timing_deg, knock, conditions, pull.alarms, day)


def conditions_of(
    pull: Pull | None,
    set_up: SetUp,
    fuel_id: str,
    airs: Mapping[str | None, AirReading],
    build_id: str,
) -> Conditions:
    """What knock depends on beside timing: a set-up on this fuel, as warm and as lean as `pull`."""
    from logbook.verdict.conditions import Conditions

    air = airs.get(pull.air_id) if pull else None
    return Conditions(
        build=build_id,
        fuel_batch=fuel_id,
        rest_of_setup=set_up.with_levels({TIMING: None}).fingerprint,
        lambda_ratio=pull.lambda_ratio if pull else None,
        air_c=air.temperature_c if air else None,
        coolant_c=pull.coolant_c if pull else None,
        air_kpa=air.pressure_kpa if air else None,
        vapor_kpa=state_of(air).vapor_pressure_kpa if air else None,
    )


def bounds_now(bench: Bench, present_deg: float | None = None) -> Bounds:
    """The timings that may be pulled next, with everything else as it was last; `present_deg` is
    the timing the search started from, by default the first pulled."""
    counted = bench.line.counted
    last = counted[-1] if counted else None
    set_up = bench.set_ups[last.setup_id] if last else SetUp({})
    return bounds_for(bench, set_up, last.fuel_id or "" if last else "", present_deg)


def bounds_for(
    bench: Bench, set_up: SetUp, fuel_id: str, present_deg: float | None = None
) -> Bounds:
    """The timings that may be pulled next with a set-up and a fuel, in today's conditions."""
    from logbook.verdict.bounds import bounds

    counted = bench.line.counted
    last = counted[-1] if counted else None
    if present_deg is None:
        timings = [bench.set_ups[pull.setup_id].timing_deg for pull in bench.pulls]
        present_deg = next((timing for timing in timings if timing is not None), 0.0)
    return bounds(
        bench.timed,
        conditions_of(last, set_up, fuel_id, bench.airs, bench.build.id),
        present_deg=present_deg,
        limit_deg=bench.engine.limit_timing_deg,
        least_deg=bench.engine.least_timing_deg,
        pulls_taken=len(bench.pulls),
        budget=bench.session.pull_budget,
        earlier=bench.earlier,
    )


def why_not(bounds: Bounds, timing: float) -> str:
    """Why a pull at this timing may not be advised, as a sentence; ``""`` where it may."""
    if bounds.permits(timing):
        return ""
    if bounds.low_deg is None or bounds.high_deg is None:
        return bounds.stop
    if timing > bounds.high_deg:
        return f"{timing:g}° lies past {bounds.high_deg:g}°, as far as advice goes now."
    return f"{timing:g}° lies below {bounds.low_deg:g}°, as far back as advice goes."


def barred_set_ups(bench: Bench) -> dict[str, str]:
    """The set-ups pulled (fingerprints) that must not be advised again, and why."""
    found: dict[str, str] = {}
    known: dict[tuple[str, str], Bounds] = {}
    for setup_id, fuel_id in {pull.setup_id: pull.fuel_id or "" for pull in bench.pulls}.items():
        set_up = bench.set_ups[setup_id]
        if set_up.timing_deg is None:
            continue
        rest = set_up.with_levels({TIMING: None}).fingerprint, fuel_id
        if rest not in known:
            known[rest] = bounds_for(bench, set_up, fuel_id)
        if why := why_not(known[rest], set_up.timing_deg):
            found[set_up.fingerprint] = why
    return found


def permits(bench: Bench, set_up: SetUp) -> bool:
    """Whether a pull of a set-up nobody has pulled yet may be advised, on the fuel of the last."""
    if set_up.timing_deg is None:
        return True
    counted = bench.line.counted
    fuel_id = counted[-1].fuel_id or "" if counted else ""
    return bounds_for(bench, set_up, fuel_id).permits(set_up.timing_deg)
