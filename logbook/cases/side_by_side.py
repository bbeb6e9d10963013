"""Builds, sessions and sister engines over each other, and what a rebuild was worth by itself."""

from __future__ import annotations

from logbook.cases.desk import Desk
from logbook.cases.references import resolve
from logbook.cases.sides import sides_of
from logbook.cases.sides_laid import Assumptions, lay
from logbook.cases.sides_results import SidesView
from logbook.cases.sides_table import sides_view


def compare_sides(
    desk: Desk,
    left: str,
    right: str,
    *,
    standard: str | None = None,
    assumed: Assumptions | None = None,
) -> SidesView:
    """Right − left of two builds, sessions, engines or pulls (see `references`).

    `assumed` gives the least and the most, in percent, that a change which nothing is known of
    is taken to be worth, by factor. Raises `NotFound`, `Conflict` or `BadInput` in words.
    """
    with desk.book.reading() as read:
        sides = sides_of(desk, read, resolve(read, left), resolve(read, right), standard=standard)
        return sides_view(read, lay(desk, read, sides, assumed or {}), desk.units)
