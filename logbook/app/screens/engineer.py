"""The engineer's screens: which timing next, and what each step was worth."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from logbook.app.keys import bindings
from logbook.app.messages import Drawn
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Draw, Line, one, wrap
from logbook.app.widgets.lines import Lines, Text

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.refusals import Refusal


class JudgedPane(Lines):
    """Draws a judgement for the width it gets."""

    def __init__(self, waiting: str = "Judging the pulls …", *, id: str = "judged") -> None:
        super().__init__(id=id)
        self._draw: Draw = lambda _: [one(waiting, "quiet")]

    def put(self, draw: Draw) -> None:
        """Show what this draws."""
        self._draw = draw
        self.redraw(layout=True)

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The lines of what is shown."""
        return self._draw(width)


class JudgedScreen(BookScreen[bool]):
    """A judgement of one session to scroll through."""

    AUTO_FOCUS = ""
    title_words: ClassVar[str]
    DEFAULT_CSS = """
    JudgedScreen #middle { height: 1fr; border-top: solid $foreground; padding: 0 1; }
    """

    def __init__(self, session_id: str, tag: str) -> None:
        super().__init__()
        self.session_id, self._tag = session_id, tag

    def content(self) -> ComposeResult:
        """Heading and the lines."""
        yield Text(((f"{self.title_words}  ", "strong"), (self._tag, "strong")), id="head")
        with VerticalScroll(id="middle", can_focus=False):
            yield JudgedPane()

    def judging(self, units: str) -> Callable[[Desk], Draw]:
        """The job that judges the session and says how that is drawn."""
        raise NotImplementedError

    def reload(self) -> None:
        """Judge the session."""
        self.ask("judged", self.judging(self.book.units), Drawn, "judging the session")

    def on_drawn(self, message: Drawn) -> None:
        """Show the judgement."""
        if not self.stale(message):
            self.query_one(JudgedPane).put(message.draw)

    def refused(self, lane: str, refusal: Refusal) -> None:
        """Why there is nothing to show stands in its place."""
        if lane == "judged":
            self.query_one(JudgedPane).put(lambda width: wrap(refusal.sentence, width, "strong"))
        else:
            super().refused(lane, refusal)

    def copied(self) -> str:
        """The lines as they stand, however far they reach."""
        lines = self.query_one(JudgedPane).lines(self.size.width - 2, self.size.height)
        return "\n".join("".join(text for text, _ in line).rstrip() for line in lines)

    def action_scroll(self, by: int) -> None:
        """Up and down."""
        self.query_one("#middle", VerticalScroll).scroll_relative(y=by, animate=False)


class TimingScreen(JudgedScreen):
    """Which timing next, within the engine's limit."""

    place = "timing"
    title_words = "Timing"
    BINDINGS = bindings("timing")

    def judging(self, units: str) -> Callable[[Desk], Draw]:
        """Judge the timings."""
        session_id = self.session_id

        def job(desk: Desk) -> Draw:
            from logbook.app.widgets.timing_words import timing_lines
            from logbook.cases.timing import timing_view

            view = timing_view(desk, session_id)
            return lambda width: timing_lines(view, width)

        return job


class LedgerScreen(JudgedScreen):
    """What each step was worth."""

    place = "ledger"
    title_words = "Ledger"
    BINDINGS = bindings("ledger")

    def judging(self, units: str) -> Callable[[Desk], Draw]:
        """Write the ledger."""
        session_id = self.session_id

        def job(desk: Desk) -> Draw:
            from logbook.app.widgets.ledger_words import ledger_lines
            from logbook.cases.ledger import ledger_view

            view = ledger_view(desk, session_id)
            return lambda width: ledger_lines(view, width, units)

        return job
