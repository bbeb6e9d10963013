"""The desk: what every use-case works on — the book, who works, and the time."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from logbook.store.book import Book


@dataclass(slots=True)
class Desk:
    """An open book with the person at it.

    `now` returns an aware UTC time (injected in tests and by the demo's story). `units` is the
    display system, ``"us"`` or ``"metric"``. `judged` caches judgements by session, `learned` what
    a cell had learned before a session, both with what they rest on. `backups_kept` is how many
    automatic backups stay; 0: none is made when a session closes.
    """

    book: Book
    who: str
    now: Callable[[], datetime]
    units: str = "us"
    judged: dict[str, tuple[Any, Any]] = field(default_factory=dict)
    learned: dict[str, tuple[Any, Any]] = field(default_factory=dict)
    backups_kept: int = 0

    def timestamp(self) -> str:
        """The present time as it is stored: UTC, ISO 8601, seconds, ``Z``."""
        return stamp_of(self.now())

    def close(self) -> None:
        """Close the book."""
        self.book.close()


def open_desk(
    path: Path | None = None,
    *,
    create: bool = True,
    who: str | None = None,
    units: str | None = None,
    now: Callable[[], datetime] | None = None,
) -> Desk:
    """Open the book at `path` (default: the one the settings name).

    Raises `BookTrouble` with what to do where it cannot be opened.
    """
    from logbook.settings import load_settings

    settings = load_settings(os.environ)
    clock = now or _utc_now
    book = Book.open(path or settings.book_path, create=create, now=lambda: stamp_of(clock()))
    return Desk(
        book=book,
        who=who or settings.who,
        now=clock,
        units=units or settings.units or _cell_units(book),
        backups_kept=settings.backups_kept,
    )


def _cell_units(book: Book) -> str:
    from logbook.records.cell import Cell

    with book.reading() as read:
        cells = read.where(Cell, limit=1)
    return cells[0].units if cells else "us"


def _utc_now() -> datetime:
    return datetime.now(UTC)


def spoken(minutes: float) -> str:
    """An age for people: ``9 min``, ``5 h``, ``11 days``."""
    if minutes < 180:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.0f} h" if minutes < 4320 else f"{minutes / 1440:.0f} days"


def stamp_of(moment: datetime) -> str:
    """An aware time as stored text: ``2026-03-01T14:05:00Z``."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
