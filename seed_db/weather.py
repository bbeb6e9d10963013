"""The air of the story: what it was, and what the operator of each cell wrote down."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import psychrolib

from logbook.engineering.air import AirState, air_state, station_from_sea_level
from logbook.quantities import from_stored
from seed_db.shop import CellSpec, si
from seed_db.story import StorySession


def true_air(session: StorySession, minute: float) -> AirState:
    """The air at the inlet `minute` minutes after the session was opened."""
    at = [reading.minute for reading in session.weather]

    def now(values: list[float]) -> float:
        return float(np.interp(minute, at, values))

    return air_state(
        now([si(reading.pressure, "pressure") for reading in session.weather]),
        now([si(reading.temperature, "temperature") for reading in session.weather]),
        "dew point",
        now([si(reading.dew_point, "temperature") for reading in session.weather]),
    )


def as_read(cell: CellSpec, air: AirState, *, sea_level: bool = False) -> Mapping[str, str]:
    """The reading as typed in this cell: its instruments, its units, its digits.

    With `sea_level` the pressure is the weather service's, reduced to sea level.
    """
    pressure_kpa = air.pressure_kpa
    if sea_level:
        station = station_from_sea_level(pressure_kpa, si(cell.sheet["altitude"], "altitude"))
        pressure_kpa *= pressure_kpa / station  # the reduction is one ratio
    key, unit, digits = cell.humidity
    return {
        "pressure": _typed(pressure_kpa, "pressure", *cell.pressure),
        "temperature": _typed(air.temperature_c, "temperature", *cell.temperature),
        key: _typed(*_HUMIDITY[key](air), unit, digits),
    }


def _typed(value: float, kind: str, unit: str, digits: int) -> str:
    return f"{from_stored(value, unit, kind):.{digits}f} {unit}"


_HUMIDITY: Mapping[str, Callable[[AirState], tuple[float, str]]] = {
    "rh": lambda air: (air.relative_humidity, "fraction"),
    "wet-bulb": lambda air: (_wet_bulb_c(air), "temperature"),
    "dew-point": lambda air: (_dew_point_c(air), "temperature"),
}


def _wet_bulb_c(air: AirState) -> float:
    psychrolib.SetUnitSystem(psychrolib.SI)
    pascal = air.pressure_kpa * 1000
    return float(psychrolib.GetTWetBulbFromRelHum(air.temperature_c, air.relative_humidity, pascal))


def _dew_point_c(air: AirState) -> float:
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetTDewPointFromRelHum(air.temperature_c, air.relative_humidity))
