"""A pull as it is entered: what was touched, read and checked, before anything is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.cases.field_lists import (
    AIR_FIELDS,
    HUMIDITY_KIND,
    PEAK_FIELDS,
    READING_FIELDS,
    by_key,
)
from logbook.cases.fields import read_level
from logbook.cases.typed import attributes, nearest
from logbook.quantities import show
from logbook.records.air import AirReading
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.ids import new_id
from logbook.records.pull import PEAKS, Pull
from logbook.records.setup import Level
from logbook.records.times import moment_of
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.intake import ReadFile
    from logbook.records.trace import Trace

_AIR_KEYS = frozenset(by_key(AIR_FIELDS))
_PULL_FIELDS = PEAK_FIELDS + READING_FIELDS


@dataclass(frozen=True, slots=True)
class PullEntry:
    """What a person or a script gives for one pull; everything else is carried forward.

    `set_up` holds only the touched factors (``None`` takes one away); `fields` the touched keys
    of `AIR_FIELDS`, `PEAK_FIELDS` and `READING_FIELDS`. `steady_points` is a short table, a
    line per point; `landing_id` a file that has landed and waits, in place of `trace`. Of
    a log with several pulls `part` (from 1) is taken, or the `samples` given, such as
    ``601-1210``; else the longest rise. `columns` says which column is which quantity, where the
    header does not (``{"torque": "TQ [lb-ft]"}``), and `torque_state` whether the file's torque
    is ``"observed"`` or already corrected (a standard's key); both are remembered for such
    files. Without `session_id` the engine's open session takes
    the pull, or a new one with `band` and `standard`. `units` as in `fields.read`.
    """

    session_id: str | None = None
    engine_tag: str | None = None
    new_session: bool = False
    band: str | None = None
    standard: str | None = None
    set_up: Mapping[str, str | None] = field(default_factory=dict)
    fields: Mapping[str, str] = field(default_factory=dict)
    trace: Path | None = None
    landing_id: str | None = None
    part: int | None = None
    samples: str | None = None
    steady_points: str | None = None
    torque_state: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    at: str | None = None
    units: str | None = None
    sea_level: bool = False


@dataclass(frozen=True, slots=True)
class ReadEntry:
    """A `PullEntry` read: values in stored units, the file parsed. Nothing is written yet."""

    values: Mapping[str, Any]
    typed: Mapping[str, str]
    levels: Mapping[str, Level | None]
    air: Mapping[str, str]
    file: ReadFile | None
    trace: Trace | None
    kind: str
    cautions: tuple[Caution, ...]


def read_entry(entry: PullEntry, file: ReadFile | None) -> ReadEntry:
    """Read everything that was given; raises a `Refusal` for the first thing that is wrong.

    `file` is the entry's trace or typed table, as `files.file_of` has read it.
    """
    known = {*_AIR_KEYS, *by_key(_PULL_FIELDS)}
    for key in entry.fields:
        if key not in known:
            raise BadInput(f"there is no field {key!r}", wanted=nearest(key, known))
    air = {key: text for key, text in entry.fields.items() if key in _AIR_KEYS and text.strip()}
    rest = {key: text for key, text in entry.fields.items() if key not in _AIR_KEYS}
    values, typed = attributes(Pull, _PULL_FIELDS, rest, entry.units)
    levels = {
        name: None if text is None or not text.strip() else read_level(name, text)
        for name, text in entry.set_up.items()
    }
    if file is None:
        _check_peaks(values)
    elif any(values.get(name.attribute) is not None for name in PEAK_FIELDS):
        raise BadInput("peaks were typed and a trace was given", where="Pull",
                       wanted="one of them: the peaks of a trace are read off it")  # fmt: skip
    return ReadEntry(
        values=values,
        typed=typed,
        levels=levels,
        air=air,
        file=file,
        trace=file.trace if file else None,
        kind=file.kind_hint if file else PEAKS,
        cautions=file.cautions if file else (),
    )


def _check_peaks(values: Mapping[str, Any]) -> None:
    power, torque = values.get("peak_power_kw"), values.get("peak_torque_nm")
    if power is None and torque is None:
        raise BadInput(
            "neither a trace nor a peak was given",
            where="Pull",
            wanted="a trace file, or peak torque or peak power with its speed",
        )
    for name, peak, at in (
        ("Peak power", power, values.get("peak_power_rpm")),
        ("Peak torque", torque, values.get("peak_torque_rpm")),
    ):
        if peak is not None and at is None:
            raise BadInput("its speed is missing", where=name, wanted="the speed it was read at")
        if peak is None and at is not None:
            raise BadInput(f"a speed of {at:.0f} rpm was given without it", where=name,
                           wanted="the peak that was read at this speed")  # fmt: skip
    if power is not None and torque is not None:
        _check_agreement(power, values["peak_power_rpm"], torque, values["peak_torque_rpm"])


def _check_agreement(power_kw: float, power_rpm: float, torque_nm: float, rpm: float) -> None:
    """Peaks that contradict torque × speed are a slip of the pen, and refused."""
    from logbook.engineering.engine import power_kw as power_of
    from logbook.engineering.engine import torque_nm as torque_of

    slack = 1.01
    if power_of(torque_nm, rpm) > power_kw * slack:
        raise BadInput(
            "torque × speed at the torque peak is more than the peak power",
            where="Peak power and torque",
            wanted="figures and speeds that agree",
        )
    if torque_of(power_kw, power_rpm) > torque_nm * slack:
        raise BadInput(
            "the peak power means more torque at its speed than the peak torque",
            where="Peak power and torque",
            wanted="figures and speeds that agree",
        )


def read_air(
    given: Mapping[str, str],
    *,
    cell: Cell,
    read_at: str,
    session_id: str | None,
    before: AirReading | None,
    units: str | None,
    sea_level: bool,
) -> AirReading:
    """A reading from what was typed; what was not is taken from the reading before, unless that is
    stale: an old pressure must not pass for one just read.

    Raises `BadInput` where a part is missing, two humidities are given, or the state is
    impossible. Sea-level-reduced pressure is taken back to station pressure by the cell's
    altitude, which must then be known.
    """
    humidities = [key for key in given if key in HUMIDITY_KIND]
    if len(humidities) > 1:
        raise BadInput("two humidities were given", where="Humidity", wanted="one of them")
    values, typed = attributes(AirReading, AIR_FIELDS, given, units)
    if humidities:
        values["humidity_kind"] = HUMIDITY_KIND[humidities[0]]
    if "pressure_kpa" in values:
        values["pressure_typed_as"] = "sea level" if sea_level else "station"
        if sea_level:
            values["pressure_kpa"] = _station_pressure(values["pressure_kpa"], cell)
    if before is not None and carries(before, read_at, cell):
        kept = {
            name: getattr(before, name)
            for name in ("pressure_kpa", "temperature_c", "humidity_kind", "humidity")
        }
        typed = {**before.typed, **typed}
        values = {**kept, "pressure_typed_as": before.pressure_typed_as, **values}
    for name, label in (
        ("pressure_kpa", "Station pressure"),
        ("temperature_c", "Inlet air temperature"),
        ("humidity_kind", "Humidity"),
    ):
        if values.get(name) is None:
            earlier = "there is no earlier reading" if before is None else "the last one is stale"
            raise BadInput(f"it was not given and {earlier}", where=label,
                           wanted="pressure, temperature and one humidity")  # fmt: skip
    reading = AirReading(id=new_id(), read_at=read_at, session_id=session_id, typed=typed, **values)
    from logbook.cases.air_of_pulls import state_of

    state_of(reading)
    return reading


def carries(before: AirReading, at: str, cell: Cell) -> bool:
    """Whether parts of a reading may still stand in for what was not read at a moment."""
    age = moment_of(at) - moment_of(before.read_at)
    return age.total_seconds() / 60 <= cell.air_stale_after_min


def _station_pressure(sea_level_kpa: float, cell: Cell) -> float:
    from logbook.engineering.air import station_from_sea_level

    if cell.altitude_m is None:
        raise BadInput(
            "a sea-level pressure needs the cell's altitude",
            where="Station pressure",
            wanted="the cell's altitude on its sheet, or the station's own reading",
        )
    return station_from_sea_level(sea_level_kpa, cell.altitude_m)


def sea_level_caution(reading: AirReading, cell: Cell) -> Caution | None:
    """The commonest error of the trade: a pressure reduced to sea level taken for the station's."""
    from logbook.engineering.air import sea_level_suspicion

    if cell.altitude_m is None or reading.pressure_typed_as != "station":
        return None
    implied = sea_level_suspicion(reading.pressure_kpa, cell.altitude_m)
    if implied is None:
        return None
    return Caution(
        "sea-level-pressure",
        f"{show(reading.pressure_kpa, 'pressure', cell.units)} fits this cell's altitude only as a"
        " pressure reduced to sea level; the station pressure would be about"
        f" {show(implied, 'pressure', cell.units)}",
    )
