"""How people name records."""

from __future__ import annotations

from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.store.reader import Reader


def label_of(read: Reader, pull: Pull) -> str:
    """How people name a pull: ``RB-2/2026-03-14/7`` (the day in the cell's zone)."""
    return f"{session_label(read, read.get(Session, pull.session_id))}/{pull.number}"


def session_label(read: Reader, session: Session) -> str:
    """How people name a session: ``RB-2/2026-03-14``."""
    return f"{read.get(Engine, session.engine_id).tag}/{local_day(read, session)}"


def local_day(read: Reader, session: Session) -> str:
    """The day a session was opened, in its cell's zone: ``2026-03-14``."""
    from zoneinfo import ZoneInfo

    from logbook.cases.desk import moment_of

    zone = ZoneInfo(read.get(Cell, session.cell_id).time_zone)
    return moment_of(session.opened_at).astimezone(zone).date().isoformat()
