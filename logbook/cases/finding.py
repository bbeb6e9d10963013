"""Finding any pull again: the search box and `logbook find`."""

from __future__ import annotations

from logbook.cases.desk import Desk
from logbook.cases.labels import house_zone
from logbook.records.lists import FoundPull
from logbook.records.times import local
from logbook.store.query import Query, parse_query
from logbook.store.reader import Reader
from logbook.store.search import count as count_hits
from logbook.store.search import find as find_hits


def find(desk: Desk, text: str, *, limit: int = 200, offset: int = 0) -> list[FoundPull]:
    """Pulls that fit the query, newest first. `BadInput` explains a malformed query."""
    with desk.book.reading() as read:
        query = _query(desk, read, text)
        return find_hits(read, query, limit=limit, offset=offset)


def count(desk: Desk, text: str) -> int:
    """How many pulls fit the query."""
    with desk.book.reading() as read:
        return count_hits(read, _query(desk, read, text))


def _query(desk: Desk, read: Reader, text: str) -> Query:
    """The query as the person means it: bare numbers in the units shown, days as in the cell."""
    return parse_query(text, now=local(desk.timestamp(), house_zone(read)), units=desk.units)
