"""What the lists show, a page at a time, cheap at fifty thousand pulls.

Counts and best powers of a session are kept by triggers (`session_totals`), so that no list
ever visits the pulls.
"""

from __future__ import annotations

from logbook.records.lists import EngineRow, SessionRow
from logbook.store.glance import ENGINES
from logbook.store.reader import Reader

PAGE = 200


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


def engine_rows(read: Reader, *, limit: int = PAGE, offset: int = 0) -> list[EngineRow]:
    """Engines, those never run first, then by their last session, newest first."""
    return [EngineRow(*row) for row in read.rows(ENGINES, (limit, offset))]


def session_rows(
    read: Reader, engine_id: str | None = None, *, limit: int = PAGE, offset: int = 0
) -> list[SessionRow]:
    """Sessions of one engine, or of all, newest first."""
    if engine_id is None:
        sql, parameters = _SESSIONS.format(of_engine=""), (limit, offset)
        return [SessionRow(*row) for row in read.rows(sql, parameters)]
    sql = _SESSIONS.format(of_engine="AND s.engine_id = ?")
    return [SessionRow(*row) for row in read.rows(sql, (engine_id, limit, offset))]
