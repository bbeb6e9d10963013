"""The session that is under way, for a view that follows it."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.cases.desk import Desk
from logbook.cases.judge import answer, session_view
from logbook.cases.results import AnswerView, SessionView
from logbook.records.session import OPEN, Session
from logbook.store.reader import Reader


@dataclass(frozen=True, slots=True, eq=False)
class Running:
    """A session with the answer for one of its pulls (``None`` before the first); `mark` is the
    one of `running_mark` that it was read under, `units` the display system."""

    view: SessionView
    answer: AnswerView | None
    mark: tuple[str, int]
    units: str


def running_mark(desk: Desk, session_id: str | None) -> tuple[str, int] | None:
    """Which session is shown and how far its inputs have come; cheap enough for every second.

    Without `session_id` it is the newest open session, else the newest; ``None`` in a book
    without any.
    """
    with desk.book.reading() as read:
        found = session_id or _newest(read)
        return None if found is None else (found, read.stamp(found))


def running(desk: Desk, session_id: str | None, pull_id: str | None) -> Running | None:
    """The session as `running_mark` finds it, and the answer for the pull, else the newest that
    counts."""
    with desk.book.reading():
        mark = running_mark(desk, session_id)
        if mark is None:
            return None
        view = session_view(desk, mark[0])
        counted = [row.pull.id for row in view.rows if row.pull.excluded_reason is None]
        held = [row.pull.id for row in view.rows if row.pull.id == pull_id]
        chosen = (held or counted)[:1]
        return Running(view, answer(desk, mark[0], chosen[0]) if chosen else None, mark, desk.units)


def _newest(read: Reader) -> str | None:
    opened = read.where(Session, status=OPEN, order="opened_at", descending=True, limit=1)
    found = opened or read.where(Session, order="opened_at", descending=True, limit=1)
    return found[0].id if found else None
