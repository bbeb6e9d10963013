"""The dyno-cell logbook: pulls, corrected power, honest verdicts, searchable history."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import os

    from logbook.notebook import OpenLogbook

__version__ = "0.1.0"


def open(path: str | os.PathLike[str] | None = None) -> OpenLogbook:
    """The book at `path` (default: the one the settings name) for a notebook, only to be read.

    Raises `logbook.refusals.BookTrouble` where it cannot be opened.
    """
    from logbook.notebook import open_logbook  # pandas and the rest only when asked for

    return open_logbook(path)
