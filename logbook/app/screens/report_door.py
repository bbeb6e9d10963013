"""The way out to paper: which report of a session is written, and whether it is opened."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from logbook.app.messages import Got
from logbook.app.opener import open_file
from logbook.app.screens.chooser import Chooser
from logbook.app.widgets.ink import Line, one
from logbook.reports.issue import HTML, MARKDOWN, session_file

if TYPE_CHECKING:
    from logbook.app.screens.base import BookScreen
    from logbook.cases.desk import Desk

_OPENED = "opened"
_REPORTS: list[tuple[str, Line]] = [
    (_OPENED, one("HTML page to print or hand over, and open it")),
    (HTML, one("HTML page, only written")),
    (MARKDOWN, one("Markdown text, only written")),
]


def offer_report(screen: BookScreen[None], session_id: str) -> None:
    """Ask which report, then have it written; the app says where it is."""

    def taken(wanted: str | None) -> None:
        if wanted is not None:
            book = screen.book  # it is written also where the session is left in the meantime
            job = partial(_written, session_id, wanted)
            book.work.read(book, "report", job, Got, "writing the report")

    screen.app.push_screen(Chooser("Report of this session", _REPORTS), taken)


def _written(session_id: str, wanted: str, desk: Desk) -> str:
    path = session_file(desk, session_id, MARKDOWN if wanted == MARKDOWN else HTML)
    if wanted != _OPENED:
        return f"Report written: {path}"
    if open_file(path):
        return f"Report written and opened: {path}"
    return f"Report written; there is no desktop here to open it on: {path}"
