"""The first screen's list, read before the book is opened: sqlite3 and one look at the version.

Opening a book loads the whole store; a list of engines needs none of it. Whatever is unusual
about the file (none there, another version, locked, damaged) is left to `Book.open`, which
says so in words.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import NamedTuple

from logbook.records.lists import EngineRow

# The number of steps in `migrations.MIGRATIONS`, known here without loading them.
VERSION = 9
MOST = 200

# A bare column beside max() comes from the row that holds the maximum (SQLite's own rule).
ENGINES = """
WITH used AS (
  SELECT s.engine_id, count(*) AS sessions, sum(t.pulls) AS pulls,
    max(s.opened_at) AS last_session_at,
    max(CASE WHEN s.status = 'open' THEN s.id END) AS open_session_id
  FROM sessions s JOIN session_totals t ON t.session_id = s.id
  WHERE s.withdrawn = 0 GROUP BY s.engine_id
), scored AS (
  SELECT s.engine_id, s.standard, s.opened_at, t.best_power_kw, t.best_is_band
  FROM sessions s JOIN session_totals t ON t.session_id = s.id
  WHERE s.withdrawn = 0 AND t.best_power_kw IS NOT NULL
), present AS (
  SELECT engine_id, max(opened_at), standard FROM scored GROUP BY engine_id
), best AS (
  -- Like with like: under the standard the engine runs under now, a peak only without averages.
  SELECT * FROM (
    SELECT c.engine_id, c.best_power_kw AS power_kw, c.standard, row_number() OVER (
      PARTITION BY c.engine_id ORDER BY c.best_is_band DESC, c.best_power_kw DESC) AS place
    FROM scored c JOIN present p ON p.engine_id = c.engine_id AND p.standard = c.standard
  ) WHERE place = 1
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


class Glance(NamedTuple):
    """What the first screen shows: engines, units and time zone of the book's first cell."""

    engines: list[EngineRow]
    units: str
    zone: str


def glance(path: Path, *, units: str | None = None) -> Glance | None:
    """Look into the book at `path`; ``None`` where it has to be opened to say anything.

    `units` is the display system where one is set; else the first cell's.
    """
    try:
        db = sqlite3.connect(f"{path.expanduser().absolute().as_uri()}?mode=rw", uri=True)
    except sqlite3.Error:
        return None  # opening it properly tells why
    try:
        if db.execute("PRAGMA user_version").fetchone() != (VERSION,):
            return None
        db.execute("PRAGMA query_only = ON")
        engines = [EngineRow(*row) for row in db.execute(ENGINES, (MOST, 0))]
        cell = db.execute(
            "SELECT units, time_zone FROM cells WHERE withdrawn = 0 ORDER BY id LIMIT 1"
        ).fetchone()
    except sqlite3.Error:
        return None  # as above
    finally:
        db.close()
    own_units, zone = cell or ("us", "UTC")
    return Glance(engines, units or own_units, zone)
