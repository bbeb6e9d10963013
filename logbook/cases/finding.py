"""Finding any pull again: the search box and `logbook find`."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from logbook.cases.desk import Desk
from logbook.records.cell import Cell
from logbook.records.lists import FoundPull
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
    cells = read.where(Cell, limit=1)
    zone = ZoneInfo(cells[0].time_zone if cells else "UTC")
    return parse_query(text, now=desk.now().astimezone(zone), units=desk.units)
