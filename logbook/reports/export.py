"""Pulls going out as rows: one a pull, or one a sample; every column names its unit.

Without a unit system the values stand in SI, in full; with one they are converted, in full.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from logbook.quantities import display_unit, from_stored, stored_unit
from logbook.records.setup import TIMING, factor_key
from logbook.reports.csv_file import Cell

if TYPE_CHECKING:
    from logbook.cases.results import PullStory
    from logbook.records.score import Figures
    from logbook.records.trace import Channel, Trace

Row = dict[str, Cell]

_FIGURES = (
    ("peak power", "power", "peak_power_kw"),
    ("peak power at", "speed", "peak_power_rpm"),
    ("peak torque", "torque", "peak_torque_nm"),
    ("peak torque at", "speed", "peak_torque_rpm"),
    ("band power", "power", "band_power_kw"),
    ("band torque", "torque", "band_torque_nm"),
)
_AIR = (
    ("Station pressure", "pressure", "pressure_kpa"),
    ("Inlet air temperature", "temperature", "temperature_c"),
    ("Relative humidity", "percent", "relative_humidity"),
    ("Vapor pressure", "pressure", "vapor_pressure_kpa"),
    ("Dry pressure", "pressure", "dry_pressure_kpa"),
    ("Air density", "density", "density_kg_m3"),
    ("Density altitude", "altitude", "density_altitude_m"),
)
_READINGS = (
    ("Manifold vacuum", "vacuum", "manifold_vacuum_kpa"),
    ("Crankcase vacuum", "vacuum", "crankcase_vacuum_kpa"),
    ("Blow-by", "volume_flow", "blow_by_m3_h"),
    ("Oil temperature", "temperature", "oil_c"),
    ("Coolant temperature", "temperature", "coolant_c"),
    ("Fuel temperature", "temperature", "fuel_c"),
    ("Air flow", "mass_flow", "air_flow_kg_h"),
    ("Fuel flow", "mass_flow", "fuel_flow_kg_h"),
    ("Lambda", "ratio", "lambda_ratio"),
)
# Names of a trace's stored units as people write them.
_TRACE_UNITS = {
    "nm": "N·m", "kw": "kW", "kg_h": "kg/h", "m3_h": "m³/h", "kpa": "kPa", "c": "°C",
    "percent": "%", "ratio": "", "deg": "°",
}  # fmt: skip


def pull_row(story: PullStory, system: str | None) -> Row:
    """One pull as named cells; the set-up's factors are the last columns."""
    pull, score, session = story.row.pull, story.row.score, story.session
    row: Row = {
        "Engine": story.engine.tag,
        "Build": story.build.label,
        "Session opened, UTC": session.opened_at,
        "Pull": pull.number,
        "At, UTC": pull.at,
        "Kind": pull.kind,
        "Excluded": pull.excluded_reason,
        "Baseline": story.row.is_baseline,
        "Standard": session.standard,
        "Correction factor": score.factor if score else None,
        "Band from, rpm": session.band_low_rpm,
        "Band to, rpm": session.band_high_rpm,
    }
    for side in ("observed", "corrected"):
        figures: Figures | None = getattr(score, side) if score else None
        for name, kind, attribute in _FIGURES:
            value = getattr(figures, attribute) if figures else None
            _put(row, f"{side.capitalize()} {name}", value, kind, system)
    _put_worth(row, story, system)
    for name, kind, attribute in _AIR:
        value = getattr(story.air.state, attribute) if story.air else None
        if kind == "percent" and value is not None:
            value *= 100.0  # the state's share, as the column's per cent
        _put(row, name, value, kind, system)
    row["Age of the air, min"] = story.air.age_minutes if story.air else None
    for name, kind, attribute in _READINGS:
        _put(row, name, getattr(pull, attribute), kind, system)
    row |= {
        "Knock check": pull.knock,
        "Alarms": ", ".join(pull.alarms),
        "Seen and heard": pull.observations,
        "Note": pull.notes,
        "File": story.source_name,
        "Pull id": pull.id,
        "Session id": session.id,
    }
    for name, level in story.row.setup.levels.items():
        if factor_key(name) == TIMING and level.number is not None:
            row["Set-up: timing, °"] = level.number
        else:
            row[f"Set-up: {factor_key(name)}"] = level.text
    return row


def _put_worth(row: Row, story: PullStory, system: str | None) -> None:
    worth = story.worth
    low, high = worth.interval_kw if worth else (None, None)
    _put(row, "Against baseline", worth.difference_kw if worth else None, "power", system)
    _put(row, "Interval from", low, "power", system)
    _put(row, "Interval to", high, "power", system)
    row["Against baseline, %"] = worth.percent if worth else None
    row["Judged on"] = worth.quantity if worth else None
    row["Verdict"] = worth.verdict if worth else None
    row["Noise, %"] = worth.noise.percent if worth else None
    row["Noise from"] = worth.noise.source if worth else None


def _put(row: Row, label: str, value: float | None, kind: str, system: str | None) -> None:
    unit = display_unit(kind, system) if system else stored_unit(kind)
    shown = None if value is None else from_stored(value, unit, kind) if unit else value
    row[f"{label}, {unit}" if unit else label] = shown


def trace_rows(story: PullStory, trace: Trace) -> Iterator[Row]:
    """One row a sample, of every channel, in SI where its unit is known.

    The first channel of a known quantity stands under that quantity's name, so that pulls of
    different sources share columns; all others keep the names of their source.
    """
    heads = _heads(trace)
    values = [channel.si().tolist() for channel in trace.channels]
    for sample in range(len(values[0]) if values else 0):
        row: Row = {
            "Engine": story.engine.tag,
            "Session opened, UTC": story.session.opened_at,
            "Pull": story.row.pull.number,
            "Pull id": story.row.pull.id,
            "Sample": sample + 1,
            "Counts": trace.first_sample <= sample <= trace.last_sample,
        }
        row.update((head, column[sample]) for head, column in zip(heads, values, strict=True))
        yield row


def _heads(trace: Trace) -> list[str]:
    heads: list[str] = []
    for channel in trace.channels:
        first = channel.quantity is not None and trace.of(channel.quantity) is channel
        name = channel.quantity.capitalize() if first and channel.quantity else channel.name
        heads.append(_unique(_with_unit(name, channel), heads))
    return heads


def _with_unit(name: str, channel: Channel) -> str:
    unit = channel.unit if channel.si_unit is None else channel.si_unit
    shown = _TRACE_UNITS.get(unit, unit)
    return f"{name}, {shown}" if shown else name


def _unique(head: str, taken: Iterable[str]) -> str:
    known, number, candidate = set(taken), 2, head
    while candidate in known:
        candidate = f"{head} ({number})"
        number += 1
    return candidate
