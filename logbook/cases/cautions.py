"""What makes a pull's number doubtful, or an engine unsafe: said beside the answer."""

from __future__ import annotations

from statistics import median

from logbook.cases.bench import Bench
from logbook.cases.calibration_view import calibration_cautions
from logbook.cases.desk import spoken
from logbook.cases.entry import sea_level_caution
from logbook.cases.quality import quality_cautions
from logbook.cases.results import ReadyItem
from logbook.quantities import show
from logbook.records.caution import Caution
from logbook.records.engine import Engine
from logbook.records.pull import KNOCK_HEARD, Pull
from logbook.records.setup import SetUp
from logbook.records.times import moment_of

LOOK_FOR_A_CAUSE_PERCENT = 0.5  # scatter of repeats (common practice, no source)
SLIP_PERCENT = 25.0  # no change of a set-up is expected to move an engine so far (no source)
SLOWEST_PEAK_RPM = 700.0  # below it a peak is likelier a figure in the wrong place (no source)


def pull_cautions(bench: Bench, pull: Pull) -> tuple[Caution, ...]:
    """Everything to be said beside a pull, the engine's safety first. That its sheet has no limit
    is said once, by `missing_limit`: a mark at every pull would mark none."""
    engine, set_up = bench.engine, bench.set_ups[pull.setup_id]
    return (
        *_safety(engine, pull, set_up, _top_speed(bench, pull)),
        *_slips(bench, pull),
        *_repeats(bench, pull),
        *_air(bench, pull),
        *_ready(bench, pull),
        *calibration_cautions(
            bench.calibrations,
            bench.calibrations_after,
            pull,
            bench.recalibrations.get(pull.taken_through or ""),
        ),
        *bench.reckoned[pull.id].cautions,
        *quality_cautions(bench, pull),
    )


def set_up_cautions(engine: Engine, set_up: SetUp) -> tuple[Caution, ...]:
    """Cautions a set-up earns before it is pulled."""
    return (*_limits_passed(engine, set_up), *missing_limit(engine, set_up))


def missing_limit(engine: Engine, set_up: SetUp) -> tuple[Caution, ...]:
    """A timing that no limit on the sheet holds."""
    if set_up.timing_deg is None or engine.limit_timing_deg is not None:
        return ()
    return (Caution("no-timing-limit", "The engine's sheet has no timing limit: enter it"),)


def _limits_passed(engine: Engine, set_up: SetUp) -> tuple[Caution, ...]:
    timing, found = set_up.timing_deg, []
    limit, least = engine.limit_timing_deg, engine.least_timing_deg
    if timing is not None and limit is not None and timing > limit:
        found.append(
            Caution(
                "timing-above-limit",
                f"Timing {timing:g}° is past the engine's limit of {limit:g}°",
            )
        )
    if timing is not None and least is not None and timing < least:
        found.append(
            Caution(
                "timing-below-least",
                f"Timing {timing:g}° is later than the engine's least of {least:g}°: late timing"
                " burns valves and headers",
            )
        )
    return tuple(found)


def _safety(
    engine: Engine, pull: Pull, set_up: SetUp, top_speed_rpm: float | None
) -> list[Caution]:
    found = []
    if pull.knock == KNOCK_HEARD:
        found.append(Caution("knock-heard", "Knock was heard: back off the timing and stop"))
    found += [Caution("alarm", f"Alarm during the pull: {alarm}") for alarm in pull.alarms]
    found += _limits_passed(engine, set_up)
    limit = engine.limit_speed_rpm
    if limit is not None and top_speed_rpm is not None and top_speed_rpm > limit:
        found.append(
            Caution(
                "speed-above-limit",
                f"The pull went to {top_speed_rpm:.0f} rpm, past the engine's limit of"
                f" {limit:.0f} rpm",
            )
        )
    for label, value, high in (
        ("Oil", pull.oil_c, engine.limit_oil_c),
        ("Coolant", pull.coolant_c, engine.limit_coolant_c),
    ):
        if value is not None and high is not None and value > high:
            found.append(Caution("temperature-above-limit", f"{label} above the engine's limit"))
    vacuum, most = pull.crankcase_vacuum_kpa, engine.limit_crankcase_vacuum_kpa
    if vacuum is not None and most is not None and vacuum > most:
        found.append(
            Caution(
                "crankcase-vacuum-above-limit",
                "Crankcase vacuum is past the sheet's limit: it starves pins and oil pickup",
            )
        )
    return found


def _top_speed(bench: Bench, pull: Pull) -> float | None:
    trace = bench.traces.get(pull.id)
    speed = trace.of("engine speed") if trace else None
    if speed is not None:
        import numpy as np

        return float(np.nanmax(speed.si()))
    speeds = [rpm for rpm in (pull.peak_power_rpm, pull.peak_torque_rpm) if rpm is not None]
    return max(speeds) if speeds else None


def _slips(bench: Bench, pull: Pull) -> list[Caution]:
    """A figure so far from the session's others, or at so low a speed, that it may be a slip of
    the pen, a column taken for another, or a cell that was not zeroed."""
    found = [
        Caution("peak-speed-low", f"{what} at {rpm:.0f} rpm: look whether it stands in its place")
        for what, rpm in (
            ("Peak power", pull.peak_power_rpm),
            ("Peak torque", pull.peak_torque_rpm),
        )
        if rpm is not None and rpm < SLOWEST_PEAK_RPM
    ]
    group = bench.group_of(pull.id)
    others = [] if group is None else [v for key, v in group.scores.items() if key != pull.id]
    if group is None or not others:
        return found
    apart = 100.0 * (group.scores[pull.id] / median(others) - 1.0)
    if abs(apart) > SLIP_PERCENT:
        side = "above" if apart > 0 else "below"
        found.append(
            Caution(
                "far-from-session",
                f"{abs(apart):.0f} % {side} what the session's other pulls made: look for a slip"
                " in what was typed or read",
            )
        )
    return found


def _repeats(bench: Bench, pull: Pull) -> list[Caution]:
    """A pull that stands far from the others of its set-up: somebody should look before it
    counts. Consecutive pulls repeat within a standard deviation of 0.1–0.3 %, above 0.5 % one
    looks for a cause (common practice, no source); twice that is said."""
    group = bench.group_of(pull.id)
    if group is None:
        return []
    others = [
        p for p in group.pulls if p.id != pull.id and group.labels[p.id] == group.labels[pull.id]
    ]
    if not others:
        return []
    usual = median(group.scores[p.id] for p in others)
    apart = 100.0 * (group.scores[pull.id] / usual - 1.0) if usual > 0 else 0.0
    if abs(apart) <= 2.0 * LOOK_FOR_A_CAUSE_PERCENT or len(others) < 2:
        return []
    side = "above" if apart > 0 else "below"
    return [
        Caution(
            "repeat-apart",
            f"{abs(apart):.1f} % {side} the other pulls of the same set-up"
            f" ({', '.join(str(p.number) for p in others)}): look for a cause; exclude it only for"
            " a reason",
        )
    ]


def _air(bench: Bench, pull: Pull) -> list[Caution]:
    reading = bench.airs.get(pull.air_id)
    if reading is None:
        return []
    found = []
    age = (moment_of(pull.at) - moment_of(reading.read_at)).total_seconds() / 60
    if age > bench.cell.air_stale_after_min:
        found.append(
            Caution(
                "air-stale",
                f"The air was read {spoken(age)} before the pull; stale after"
                f" {bench.cell.air_stale_after_min:.0f} min",
            )
        )
    suspicion = sea_level_caution(reading, bench.cell)
    return [*found, suspicion] if suspicion else found


def _ready(bench: Bench, pull: Pull) -> list[Caution]:
    units = bench.cell.units
    found = []
    for item in ready_items(bench.engine, pull):
        if item.inside is False:
            found.append(
                Caution(
                    "not-ready",
                    f"{item.name.capitalize()} {show(item.value_c, 'temperature', units)} at the"
                    f" start is outside the ready window"
                    f" {show(item.low_c, 'temperature', units, unit=False)}–"
                    f"{show(item.high_c, 'temperature', units)}",
                )
            )
    return found


def ready_items(engine: Engine, pull: Pull | None) -> tuple[ReadyItem, ...]:
    """Oil and coolant of a pull against the ready window of the engine's sheet."""
    return tuple(
        _ready_item(name, value, low, high)
        for name, value, low, high in (
            ("oil", pull.oil_c if pull else None, engine.ready_oil_low_c, engine.ready_oil_high_c),
            (
                "coolant",
                pull.coolant_c if pull else None,
                engine.ready_coolant_low_c,
                engine.ready_coolant_high_c,
            ),
        )
    )


def _ready_item(name: str, value: float | None, low: float | None, high: float | None) -> ReadyItem:
    if value is None or (low is None and high is None):
        return ReadyItem(name, value, low, high, None)
    inside = (low is None or value >= low) and (high is None or value <= high)
    return ReadyItem(name, value, low, high, inside)
