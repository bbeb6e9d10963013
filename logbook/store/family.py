"""What comparisons across years ask of the book: everything that some engines were run with."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from logbook.store.reader import Reader, chunks


class Run(NamedTuple):
    """A set-up that was pulled in a session and counts there."""

    session_id: str
    engine_id: str
    build_id: str
    setup_id: str
    pulls: int


def runs_of(read: Reader, engine_ids: Iterable[str]) -> list[Run]:
    """Everything these engines were pulled with, newest session first."""
    found: list[tuple[Any, ...]] = []
    for marks, ids in chunks(engine_ids):
        found += read.rows(
            "SELECT s.id, s.engine_id, s.build_id, p.setup_id, count(*) FROM sessions s"
            " JOIN pulls p ON p.session_id = s.id"
            f" WHERE s.engine_id IN ({marks}) AND s.withdrawn = 0 AND p.withdrawn = 0"
            " AND p.excluded_reason IS NULL GROUP BY s.id, p.setup_id"
            " ORDER BY s.opened_at DESC, s.id, p.setup_id",
            ids,
        )
    return [Run(*row) for row in found]
