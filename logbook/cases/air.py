"""The air: a reading with everything that follows from it, for the screens and `logbook air`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.air_of_pulls import state_of
from logbook.cases.entry import read_air, sea_level_caution
from logbook.cases.field_lists import CELL_FIELDS, by_key
from logbook.cases.fields import read as read_field
from logbook.cases.results import AirView
from logbook.records.air import AirReading
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.session import Session
from logbook.records.times import moment_of
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.engineering.air import AirState
    from logbook.engineering.correction import Correction


@dataclass(frozen=True, slots=True)
class AirReport:
    """A reading, its state, and every standard's factor by key, with all cautions."""

    reading: AirReading
    state: AirState
    corrections: Mapping[str, Correction]
    cautions: tuple[Caution, ...]


def air_from_typed(
    fields: Mapping[str, str],
    *,
    units: str | None,
    altitude: str | None = None,
    sea_level: bool = False,
) -> AirReport:
    """Everything about a reading that was typed, without a book."""
    from logbook.engineering.correction import STANDARDS, correct

    height = (
        read_field(by_key(CELL_FIELDS)["altitude"], altitude, units).value if altitude else None
    )
    cell = Cell(
        id="",
        name="",
        altitude_m=float(height) if isinstance(height, (int, float)) else None,
        units=units or "us",
    )
    reading = read_air(
        fields, cell=cell, read_at="", session_id=None, before=None, units=units,
        sea_level=sea_level,
    )  # fmt: skip
    state = state_of(reading)
    corrections = {key: correct(key, state) for key in STANDARDS}
    suspicion = sea_level_caution(reading, cell)
    return AirReport(
        reading,
        state,
        corrections,
        (
            *([suspicion] if suspicion else []),
            *(caution for one in corrections.values() for caution in one.cautions),
        ),
    )


def latest_air(read: Reader, session_id: str) -> AirReading | None:
    """The session's newest reading, or ``None``."""
    readings: list[AirReading] = read.where(
        AirReading, session_id=session_id, order="read_at", descending=True, limit=1
    )
    return readings[0] if readings else None


def view_air(reading: AirReading, session: Session, cell: Cell, at: str) -> AirView:
    """A reading as it stands at a moment: its age, whether stale, and the session's factor."""
    from logbook.engineering.correction import correct

    state = state_of(reading)
    correction = correct(session.standard, state)
    age = (moment_of(at) - moment_of(reading.read_at)).total_seconds() / 60
    return AirView(
        reading=reading,
        state=state,
        age_minutes=age,
        stale=age > cell.air_stale_after_min,
        factor=correction.factor,
        factor_in_range=correction.in_range,
    )
