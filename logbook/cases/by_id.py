"""A record by its id, or by as much of the beginning as a list shows."""

from __future__ import annotations

from typing import TypeVar

from logbook.refusals import NotFound
from logbook.store.lookups import starting
from logbook.store.reader import Reader
from logbook.store.tables import Identified, table_of

R = TypeVar("R", bound=Identified)


def by_id(read: Reader, record: type[R], text: str, *, listed_by: str) -> R:
    """The only record whose id begins so; `listed_by` is the command that lists them.

    Raises `NotFound` where there is none, or several.
    """
    found = starting(read, record, text.strip()) if text.strip() else []
    if len(found) == 1:
        return found[0]
    noun = table_of(record).noun
    says = "fits several ids" if found else "begins no id"
    raise NotFound(
        f"{text[:40]!r} {says} of {'an' if noun[0] in 'aeiou' else 'a'} {noun}",
        where=noun.capitalize(),
        wanted=f"an id that `logbook {listed_by}` shows",
    )
