"""What keeps a plan within the bounds: timings that are refused, timings that need care."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.desk import Desk
from logbook.cases.engines import match_fuel
from logbook.cases.grouping import barred
from logbook.cases.permitted import bounds_for
from logbook.records.session import CLOSED
from logbook.records.setup import FUEL, SetUp

if TYPE_CHECKING:
    from logbook.verdict.bounds import Bounds


@dataclass(frozen=True, slots=True)
class Allowed:
    """What stands against a planned set-up: `forbidden` as a sentence with what would be right
    in `wanted`, or a `caution`; ``""`` where nothing does."""

    forbidden: str = ""
    wanted: str = ""
    caution: str = ""


def why_barred(bench: Bench) -> str:
    """Why no further pull may be planned, as a sentence, or ``""``."""
    if bench.session.status == CLOSED:
        return "This session is closed."
    return barred(bench.session, bench.pulls)


def allowed(desk: Desk, bench: Bench, start: SetUp, planned: SetUp) -> Allowed:
    """Whether a set-up may be planned for this session: its timing against the engine's sheet,
    knock heard, and the timings found clean under its conditions."""
    timing = planned.timing_deg
    if timing is None:
        return Allowed()
    limit, least = bench.engine.limit_timing_deg, bench.engine.least_timing_deg
    if limit is not None and timing > limit:
        return Allowed(f"timing {timing:g}° is past the engine's limit of {limit:g}°",
                       f"at most {limit:g}°")  # fmt: skip
    if least is not None and timing < least:
        return Allowed(f"timing {timing:g}° is later than the engine's least of {least:g}°",
                       f"at least {least:g}°")  # fmt: skip
    bounds = _bounds(desk, bench, start, planned)
    if timing > bounds.ceiling_deg:
        return Allowed(
            f"timing {timing:g}° is too near to where knock was heard in this session",
            f"at most {bounds.ceiling_deg:g}°",
        )
    if start.timing_deg is not None and timing == start.timing_deg:
        return Allowed()  # the engine runs there already: nothing is advanced
    return Allowed(caution=_caution(timing, bounds))


def _caution(timing: float, bounds: Bounds) -> str:
    if bounds.low_deg is None or bounds.high_deg is None:
        return f"Timing {timing:g}°: {bounds.stop} Go there in small steps and check for knock."
    if timing > bounds.high_deg:
        return (
            f"Timing {timing:g}° is past {bounds.high_deg:g}°, as far as advice goes now."
            f" {bounds.about_clean}"
        ).strip()
    if timing < bounds.low_deg:
        return (
            f"Timing {timing:g}° is later than {bounds.low_deg:g}°, as far back as advice goes:"
            " late timing burns valves and headers."
        )
    return ""


def _bounds(desk: Desk, bench: Bench, start: SetUp, planned: SetUp) -> Bounds:
    """The bounds under the conditions the planned set-up would be pulled in."""
    with desk.book.reading() as read:
        level = planned.level(FUEL)
        fuel = match_fuel(read, level.text) if level else None
    present = start.timing_deg if start.timing_deg is not None else planned.timing_deg
    return bounds_for(bench, planned, fuel.id if fuel else "", present)
