"""What an engine has run since a moment: pulls, and the time that was recorded of them."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.store.reader import Reader


@dataclass(frozen=True, slots=True)
class Run:
    """Pulls, excluded ones too, with their recorded seconds; `untimed` have none recorded."""

    pulls: int
    seconds: float
    untimed: int


# A sample of the time channel, decoded as the view trace_points does it.
_AT = """coalesce(
  (c.base + nullif(CAST(substr(c.digits, {place} * c.width + 1, c.width) AS INTEGER), 0))
    / CAST('1e' || c.decimals AS REAL),
  json_extract(c.listed, '$[' || {place} || ']')) * c.si_factor"""
_FIRST = _AT.format(place="coalesce(p.first_sample, t.first_sample)")
_LAST = _AT.format(place="coalesce(p.last_sample, t.last_sample)")

_RUN = f"""
SELECT count(*), coalesce(sum(seconds), 0.0), count(*) - count(seconds) FROM (
  SELECT (SELECT {_LAST} - {_FIRST} FROM traces t JOIN channels c ON c.pull_id = t.pull_id
    WHERE t.pull_id = p.id AND c.quantity = 'time' ORDER BY c.position LIMIT 1) AS seconds
  FROM sessions s JOIN pulls p ON p.session_id = s.id
  WHERE s.engine_id = ?1 AND (?2 IS NULL OR s.build_id = ?2) AND p.at >= ?3
  AND p.withdrawn = 0 AND s.withdrawn = 0
)
"""


def run_since(read: Reader, engine_id: str, build_id: str | None, since_at: str) -> Run:
    """What an engine (or one build of it) has run from a stored time on."""
    pulls, seconds, untimed = next(read.rows(_RUN, (engine_id, build_id, since_at)))
    return Run(int(pulls), float(seconds), int(untimed))
