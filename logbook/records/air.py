"""The weather as the engine breathed it, as read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

TYPED = "typed"
HUMIDITY_KINDS = ("relative", "wet bulb", "dew point", "vapor pressure", "mixing ratio")


@dataclass(frozen=True, slots=True)
class AirReading:
    """One reading of station pressure, inlet temperature and humidity.

    `humidity` is in the unit of its kind: relative 0–1, wet bulb and dew point °C, vapor
    pressure kPa, mixing ratio kg/kg of dry air. `read_at` is UTC, ISO 8601 with ``Z``.
    `pressure_typed_as` is ``"station"``, or ``"sea level"`` when a reduced pressure was given
    and `pressure_kpa` was computed back from it (the typed value stays in `typed`). `instrument`
    is `TYPED`, or what told it by itself: such a reading is nobody's change, so that undo passes
    it over and takes it back with its session.
    """

    id: str
    read_at: str
    pressure_kpa: float
    temperature_c: float
    humidity_kind: str
    humidity: float
    session_id: str | None = None
    pressure_typed_as: str = "station"
    instrument: str = TYPED
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
