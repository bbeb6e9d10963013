"""What the lists show, a page at a time, cheap at fifty thousand pulls.

Counts and best powers of a session are kept by triggers (`session_totals`), so that no list
ever visits the pulls.
"""

from __future__ import annotations

from dataclasses import dataclass

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


# A bare column beside max() comes from the row that holds the maximum (SQLite's own rule).
_ENGINES = """
WITH used AS (
  SELECT s.engine_id, count(*) AS sessions, sum(t.pulls) AS pulls,
    max(s.opened_at) AS last_session_at,
    max(CASE WHEN s.status = 'open' THEN s.id END) AS open_session_id
  FROM sessions s JOIN session_totals t ON t.session_id = s.id
  WHERE s.withdrawn = 0 GROUP BY s.engine_id
), best AS (
  SELECT s.engine_id, max(t.best_power_kw) AS power_kw, s.standard
  FROM sessions s JOIN session_totals t ON t.session_id = s.id
  WHERE s.withdrawn = 0 AND t.best_power_kw IS NOT NULL GROUP BY s.engine_id
), newest AS (
  SELECT engine_id, max(id) AS id, label FROM builds WHERE withdrawn = 0 GROUP BY engine_id
)
SELECT e.id, e.tag, e.name, e.family, coalesce(n.label, ''),
  coalesce(u.sessions, 0), coalesce(u.pulls, 0), u.last_session_at, u.open_session_id,
  b.power_kw, b.standard
FROM engines e
LEFT JOIN used u ON u.engine_id = e.id
LEFT JOIN best b ON b.engine_id = e.id
LEFT JOIN newest n ON n.engine_id = e.id
WHERE e.withdrawn = 0
ORDER BY u.last_session_at IS NOT NULL, u.last_session_at DESC, e.tag
LIMIT ? OFFSET ?
"""

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
    return [EngineLine(*row) for row in read.rows(_ENGINES, (limit, offset))]


def session_rows(
    read: Reader, engine_id: str | None = None, *, limit: int = PAGE, offset: int = 0
) -> list[SessionLine]:
    """Sessions of one engine, or of all, newest first."""
    if engine_id is None:
        sql, parameters = _SESSIONS.format(of_engine=""), (limit, offset)
        return [SessionLine(*row) for row in read.rows(sql, parameters)]
    sql = _SESSIONS.format(of_engine="AND s.engine_id = ?")
    return [SessionLine(*row) for row in read.rows(sql, (engine_id, limit, offset))]
