"""The answer for one pull: the figure first, then words, cautions, pictures.

Laid out for the room there is. Cautions are never left away: peaks and pictures give way to
them, and a sign says where something did.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook.app.widgets import answer_words as words
from logbook.app.widgets.curve import SMALLEST as SMALLEST_PICTURE
from logbook.app.widgets.curve import difference_picture, overlay_picture
from logbook.app.widgets.figures import SMALLEST
from logbook.app.widgets.ink import BLANK, Line, one, wrap
from logbook.app.widgets.lines import Lines
from logbook.cases.results import AnswerView, SessionView

BOTH, DIFFERENCE, OVERLAY = "both", "difference", "curves"
TALLEST = 10
_MORE = "… v: the curves"
_WORDS = "… v: the rest in words"


class AnswerPane(Lines):
    """Draws the answer for the chosen pull of a session."""

    DEFAULT_CSS = "AnswerPane { width: 1fr; height: 1fr; padding: 0 1; }"

    def __init__(self) -> None:
        super().__init__(id="answer")
        self._answer: AnswerView | None = None
        self._session: SessionView | None = None
        self._system = "us"
        self.pictures = BOTH

    def put(self, session: SessionView | None, answer: AnswerView | None, system: str) -> None:
        """Show this answer."""
        self._session, self._answer, self._system = session, answer, system
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The answer, or what to do first."""
        if self._session is None:
            return [BLANK, one("Reading the session …", "quiet")]
        if self._answer is None:
            return _nothing_yet(width) if not self._session.rows else []
        return answer_lines(self._answer, self._session, width, height, self._system, self.pictures)


def _nothing_yet(width: int) -> list[Line]:
    return [
        BLANK,
        one("No pull yet", "strong"),
        *wrap(
            "Enter types a pull's peaks, o takes a trace file, a takes down the air. The first"
            " set-up's pulls are the baseline until b names others.",
            width,
            "quiet",
        ),
    ]


def answer_lines(
    view: AnswerView, session: SessionView, width: int, height: int, system: str, pictures: str
) -> list[Line]:
    """The answer in `width` × `height` cells.

    From what must stay to what may go: figure, verdict, cautions; the change from before and
    the readings; the difference curve; peaks and what changed; why the verdict is open; the curves
    over each other.
    """
    must = words.verdict_lines(view, session, width, system)
    cautions = words.caution_lines(view.row.cautions, width)
    alone = pictures != BOTH
    previous = [] if alone else words.previous_lines(view, width, system)
    said, repeat = (previous, []) if view.from_previous is not None else ([], previous)
    readings = [] if alone else words.reading_lines(view, width, system)
    extra = [] if alone else [
        *repeat, *words.changed_lines(view, width), *words.peak_lines(view, width, system)
    ]  # fmt: skip
    taken = sum(map(len, (must, cautions, said, readings, extra)))
    tall = min(TALLEST, max(SMALLEST, (height - taken) // 3))
    figure = words.figure_lines(view, width, tall, system)
    room = height - len(figure) - taken
    picture_first = view.difference is not None and pictures == BOTH
    if extra and (room < 0 or (picture_first and room < SMALLEST_PICTURE <= room + len(extra))):
        room, extra = room + len(extra), []
    why = [] if alone else words.why_lines(view, width)
    if room - len(why) < (SMALLEST_PICTURE if picture_first else 0):
        why = []
    room -= len(why)
    lines = [*figure, *must, *why, *said, *extra, *readings, *cautions]
    drawn = _pictures(view, session, width, room, system, pictures)
    lines += drawn
    hidden = (not drawn and view.curve is not None) or (not extra and not alone)
    if len(lines) > height or (hidden and len(lines) < height):
        lines = [*lines[: height - 1], one(_WORDS if alone else _MORE, "quiet")]
    return lines


def _pictures(
    view: AnswerView, session: SessionView, width: int, room: int, system: str, pictures: str
) -> list[Line]:
    low, high = session.session.band_low_rpm, session.session.band_high_rpm
    band = (low, high) if low is not None and high is not None else None
    lines: list[Line] = []
    overlaid = view.curve is not None and view.reference is not None
    if view.difference is not None and pictures != OVERLAY:
        by_itself = pictures == DIFFERENCE or not overlaid or room < 16
        share = room if by_itself else max(7, room // 2)
        lines += difference_picture(
            view.difference, width, share, system,
            names=(f"pull {view.row.pull.number}", "baseline"), band=band,
        )  # fmt: skip
    left = room - len(lines)
    wanted = pictures != DIFFERENCE and (left >= 7 or pictures == OVERLAY)
    if wanted and view.curve is not None:
        lines += overlay_picture(view.curve, view.reference, width, left, system, band=band)
    return lines
