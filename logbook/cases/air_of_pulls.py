"""The air that pulls breathed: their readings, and the moist-air state of one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from logbook.records.air import AirReading
from logbook.records.pull import Pull

if TYPE_CHECKING:
    from logbook.engineering.air import AirState
    from logbook.store.reader import Reader


def airs_of(read: Reader, pulls: Iterable[Pull]) -> Mapping[str | None, AirReading]:
    """The air readings of the pulls by id."""
    wanted = {pull.air_id for pull in pulls if pull.air_id}
    return {air_id: read.get(AirReading, air_id) for air_id in wanted}


def state_of(reading: AirReading) -> AirState:
    """The moist-air state of a reading."""
    return _state(
        reading.pressure_kpa, reading.temperature_c, reading.humidity_kind, reading.humidity
    )


@lru_cache(maxsize=64)  # the pulls of a session share a few readings
def _state(pressure_kpa: float, temperature_c: float, kind: str, humidity: float) -> AirState:
    from logbook.engineering.air import air_state

    return air_state(pressure_kpa, temperature_c, kind, humidity)
