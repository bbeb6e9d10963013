"""How people name records."""

from __future__ import annotations

from logbook.cases.desk import Desk
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.times import day_in
from logbook.store.reader import Reader


def label_of(read: Reader, pull: Pull) -> str:
    """How people name a pull: ``RB-2/2026-03-14/7`` (the day in the cell's zone)."""
    return f"{session_label(read, read.get(Session, pull.session_id))}/{pull.number}"


def session_label(read: Reader, session: Session) -> str:
    """How people name a session: ``RB-2/2026-03-14``."""
    return f"{read.get(Engine, session.engine_id).tag}/{local_day(read, session)}"


def local_day(read: Reader, session: Session) -> str:
    """The day a session was opened, in its cell's zone: ``2026-03-14``."""
    return day_in(session.opened_at, read.get(Cell, session.cell_id).time_zone)


def house_zone(read: Reader) -> str:
    """The time zone of what belongs to no cell: that of the book's first cell."""
    cells = read.where(Cell, limit=1)
    return cells[0].time_zone if cells else "UTC"


def today(desk: Desk, read: Reader) -> str:
    """The day it is in the house."""
    return day_in(desk.timestamp(), house_zone(read))


def pulls_words(numbers: list[int]) -> str:
    """``[1, 2, 3, 7]`` → ``"pulls 1–3, 7"``."""
    return f"pull{'s' if len(numbers) > 1 else ''} {spans(numbers)}"


def spans(numbers: list[int]) -> str:
    """``[1, 2, 3, 7]`` → ``"1–3, 7"``."""
    parts: list[list[int]] = []
    for number in sorted(numbers):
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in parts)
