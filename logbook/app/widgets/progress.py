"""The row that says what is under way, how far it is, and how it is stopped."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len

from logbook.app.widgets.ink import Line, fit_line
from logbook.app.widgets.lines import Lines
from logbook.plain import capital, plain

if TYPE_CHECKING:
    from logbook.underway import Course

LOOK_ON_EVERY_S = 0.25
_BAR = 16  # cells
STOPS, WRITTEN = "Esc stops it", "being written, cannot be stopped"


class Progress(Lines):
    """One row for the first of `courses`; none where nothing takes long."""

    DEFAULT_CSS = """
    Progress { height: 1; display: none; padding: 0 1; }
    """

    def __init__(self) -> None:
        super().__init__(id="progress")
        self.courses: Sequence[Course] = ()

    def put(self, courses: Sequence[Course]) -> None:
        """Show how far these are."""
        if courses or self.courses:
            self.courses = courses
            self.display = bool(courses)
            self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The row."""
        return [progress_line(course, width, time.monotonic()) for course in self.courses[:1]]


def progress_line(course: Course, width: int, now: float) -> Line:
    """What is done, how far it is, how long it has taken, and what Esc does about it."""
    seconds = f"{max(0.0, now - course.began):.0f} s"
    ends = WRITTEN if course.sealed else STOPS if course.free else ""
    total, done = course.total, course.done
    far: Line = ((f" … {seconds}", "quiet"),)
    if total > 1:
        full = _BAR * done // total
        bar = ((" " + "█" * full, "accent"), ("░" * (_BAR - full), "quiet"))
        far = (*bar, (f" {done} of {total}, {seconds}", "quiet"))
    beside: Line = (*far, (f"  {ends}" if ends else "", "strong"))
    room = width - sum(cell_len(text) for text, _ in beside)
    return (*fit_line(((capital(plain(course.doing)), ""),), max(8, room)), *beside)
