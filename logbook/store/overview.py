"""What the lists show, a page at a time, cheap at fifty thousand pulls.

Counts and best powers of a session are kept by triggers (`session_totals`), so that no list
ever visits the pulls.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.store.glance import ENGINES
from logbook.store.reader import Reader

PAGE = 200


@dataclass(frozen=True, slots=True)
class EngineLine:
    """One engine with its last session; `build` is the label of its newest build, "" for none.

    `best_power_kw` is the best corrected band average (peak where there is none) of any counted
    pull, under `best_standard`. Times are UTC, ISO 8601.
    """

    id: str
    tag: str
    name: str
    family: str
    build: str
    sessions: int
    pulls: int
    last_session_at: str | None
    open_session_id: str | None
    best_power_kw: float | None
    best_standard: str | None


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One session with the number of its pulls and its best corrected power, kW."""

    id: str
    engine_tag: str
    build: str
    opened_at: str
    status: str
    purpose: str
    operator: str
    pulls: int
    standard: str
    best_power_kw: float | None


_SESSIONS = """
SELECT s.id, e.tag, b.label, s.opened_at, s.status, s.purpose, s.operator,
  coalesce(t.pulls, 0), s.standard, t.best_power_kw
FROM sessions s
JOIN engines e ON e.id = s.engine_id
JOIN builds b ON b.id = s.build_id
LEFT JOIN session_totals t ON t.session_id = s.id
WHERE s.withdrawn = 0 {of_engine}
ORDER BY s.opened_at DESC, s.id DESC LIMIT ? OFFSET ?
"""


def engine_rows(read: Reader, *, limit: int = PAGE, offset: int = 0) -> list[EngineLine]:
    """Engines, those never run first, then by their last session, newest first."""
    return [EngineLine(*row) for row in read.rows(ENGINES, (limit, offset))]


def session_rows(
    read: Reader, engine_id: str | None = None, *, limit: int = PAGE, offset: int = 0
) -> list[SessionLine]:
    """Sessions of one engine, or of all, newest first."""
    if engine_id is None:
        sql, parameters = _SESSIONS.format(of_engine=""), (limit, offset)
        return [SessionLine(*row) for row in read.rows(sql, parameters)]
    sql = _SESSIONS.format(of_engine="AND s.engine_id = ?")
    return [SessionLine(*row) for row in read.rows(sql, (engine_id, limit, offset))]
