"""Finding any pull again: the search box and `logbook find`."""

from __future__ import annotations

from logbook.cases.desk import Desk
from logbook.cases.results import FoundPull
from logbook.store.query import parse_query
from logbook.store.search import count as count_hits
from logbook.store.search import find as find_hits


def find(desk: Desk, text: str, *, limit: int = 200, offset: int = 0) -> list[FoundPull]:
    """Pulls that fit the query, newest first. `BadInput` explains a malformed query."""
    query = parse_query(text, now=desk.now())
    with desk.book.reading() as read:
        return [
            FoundPull(
                pull_id=hit.pull_id,
                session_id=hit.session_id,
                engine_tag=hit.engine_tag,
                build=hit.build,
                at=hit.at,
                number=hit.number,
                timing_deg=hit.timing_deg,
                fuel=hit.fuel,
                power_kw=hit.power_kw,
                power_is_band=hit.power_is_band,
                standard=hit.standard,
                excluded=hit.excluded,
                note=hit.note,
            )
            for hit in find_hits(read, query, limit=limit, offset=offset)
        ]


def count(desk: Desk, text: str) -> int:
    """How many pulls fit the query."""
    query = parse_query(text, now=desk.now())
    with desk.book.reading() as read:
        return count_hits(read, query)
