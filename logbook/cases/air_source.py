"""Air told by an instrument goes into the open sessions, as often as it is worth keeping."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from functools import partial
from typing import Any

from logbook.cases.air import latest_air
from logbook.cases.air_of_pulls import state_of
from logbook.cases.desk import Desk, stamp_of
from logbook.cases.entry import read_air
from logbook.cases.pulls import new_air
from logbook.intake.instruments import Instrument, instrument
from logbook.intake.instruments.told import Told
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.session import OPEN, Session
from logbook.records.times import moment_of
from logbook.refusals import InstrumentTrouble

KEEP_AT_LEAST = timedelta(minutes=5)
CHANGED_KPA, CHANGED_C, CHANGED_VAPOR_KPA = 0.02, 0.2, 0.03
"""A reading that moved by less than this since the one before is kept only every `KEEP_AT_LEAST`:
pressure, temperature, and the vapor's pressure whatever the humidity was told as. Each moves power
by some 0.02 to 0.04 % (SAE J1349's factor); the vapor's is 1 % of relative humidity at 25 °C. The
steps themselves are chosen, no source."""


class AirFeed:
    """One source of air. Open it in the thread that polls it, and close it there.

    Raises `BadInput` for an address or register map that is none, `InstrumentTrouble` where
    the instrument cannot be reached.
    """

    def __init__(self, address: str, registers: Mapping[str, Mapping[str, Any]]) -> None:
        self._open = partial(instrument, address, registers)
        self._instrument: Instrument | None = self._open()

    def close(self) -> None:
        """Let go of it."""
        if self._instrument is not None:
            self._instrument.close()
            self._instrument = None

    def poll(self, seconds: float) -> Told | None:
        """Listen for a reading, at most so long. After trouble the instrument is opened anew: a
        cable may have been plugged in again."""
        try:
            self._instrument = self._instrument or self._open()
            return self._instrument.poll(seconds)
        except InstrumentTrouble:
            self.close()
            raise


def news(desk: Desk, told: Told) -> tuple[str, ...]:
    """The open sessions in which the reading would be news. Only reads; raises `BadInput` for a
    reading that cannot be."""
    with desk.book.reading() as read:
        sessions: list[Session] = read.where(Session, status=OPEN)
        return tuple(
            session.id
            for session in sessions
            if _is_news(
                latest_air(read, session.id),
                read_air(
                    told.texts, cell=read.get(Cell, session.cell_id), read_at=_read_at(desk, told),
                    session_id=session.id, before=None, units=None, sea_level=False,
                ),
                told.source,
            )
        )  # fmt: skip


def keep(desk: Desk, told: Told) -> int:
    """Write the reading down in every open session where it is news; in how many that was."""
    sessions, at = news(desk, told), _read_at(desk, told)
    for session_id in sessions:
        new_air(desk, session_id, told.texts, units=None, instrument=told.source, read_at=at)
    return len(sessions)


def _read_at(desk: Desk, told: Told) -> str:
    return stamp_of(desk.now() - timedelta(seconds=told.age_s))


def _is_news(before: AirReading | None, now: AirReading, source: str) -> bool:
    if before is None:
        return True
    if moment_of(now.read_at) <= moment_of(before.read_at):
        return False  # somebody has typed a later one, or it is the same line again
    if before.instrument != source or before.humidity_kind != now.humidity_kind:
        return True
    if moment_of(now.read_at) - moment_of(before.read_at) >= KEEP_AT_LEAST:
        return True
    return (
        abs(now.pressure_kpa - before.pressure_kpa) >= CHANGED_KPA
        or abs(now.temperature_c - before.temperature_c) >= CHANGED_C
        or abs(_vapor_kpa(now) - _vapor_kpa(before)) >= CHANGED_VAPOR_KPA
    )


def _vapor_kpa(reading: AirReading) -> float:
    return state_of(reading).vapor_pressure_kpa
