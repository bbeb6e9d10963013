"""What an engine's sessions read over the years, from what triggers keep of each session."""

from __future__ import annotations

from typing import NamedTuple

from logbook.records.times import day_in
from logbook.store.reader import Reader


class SessionBest(NamedTuple):
    """A session with its best: corrected kW under its standard, a band average or (only where
    there is none) a peak; ``None`` where nothing counted. The band is the session's, rpm, the
    zone its cell's."""

    id: str
    opened_at: str
    build_id: str
    build: str
    standard: str
    pulls: int
    best_power_kw: float | None
    best_is_band: bool
    band_low_rpm: float | None
    band_high_rpm: float | None
    time_zone: str

    @property
    def day(self) -> str:
        """The day it was opened, in its cell's zone."""
        return day_in(self.opened_at, self.time_zone)


class Readings(NamedTuple):
    """What was typed for a counted pull beside its trace, ``None`` where nothing was."""

    pull_id: str
    session_id: str
    blow_by_m3_h: float | None
    crankcase_vacuum_kpa: float | None


def sessions_of_engine(read: Reader, engine_id: str, *, limit: int) -> list[SessionBest]:
    """The engine's newest sessions, oldest of them first."""
    rows = read.rows(
        "SELECT s.id, s.opened_at, b.id, b.label, s.standard, coalesce(t.pulls, 0),"
        " t.best_power_kw, coalesce(t.best_is_band, 0), s.band_low_rpm, s.band_high_rpm,"
        " k.time_zone"
        " FROM sessions s JOIN builds b ON b.id = s.build_id JOIN cells k ON k.id = s.cell_id"
        " LEFT JOIN session_totals t ON t.session_id = s.id"
        " WHERE s.engine_id = ? AND s.withdrawn = 0 ORDER BY s.opened_at DESC, s.id DESC LIMIT ?",
        (engine_id, limit),
    )
    found = [SessionBest(*row)._replace(best_is_band=bool(row[7])) for row in rows]
    return found[::-1]


def counted_readings(read: Reader, engine_id: str, *, since: str) -> list[Readings]:
    """The counted pulls of the engine's sessions opened at a time or later, in order."""
    rows = read.rows(
        "SELECT p.id, p.session_id, p.blow_by_m3_h, p.crankcase_vacuum_kpa"
        " FROM sessions s JOIN pulls p ON p.session_id = s.id"
        " WHERE s.engine_id = ? AND s.opened_at >= ? AND s.withdrawn = 0 AND p.withdrawn = 0"
        " AND p.excluded_reason IS NULL ORDER BY s.opened_at, p.number",
        (engine_id, since),
    )
    return [Readings(*row) for row in rows]
