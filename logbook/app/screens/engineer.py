"""The engineer's screens: which timing next, and what each step was worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from logbook.app.keys import bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.lines import Lines, Text

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.ledger import LedgerView
    from logbook.cases.timing import TimingView


class JudgedPane(Lines):
    """Draws a timing or a ledger for the width it gets."""

    def __init__(self) -> None:
        super().__init__(id="judged")
        self._view: TimingView | LedgerView | None = None
        self._system = "us"

    def put(self, view: TimingView | LedgerView, system: str) -> None:
        """Show this one."""
        self._view, self._system = view, system
        self.redraw(layout=True)

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The lines of what is shown."""
        view = self._view
        if view is None:
            return [one("Judging the pulls …", "quiet")]
        from logbook.cases.timing import TimingView

        if isinstance(view, TimingView):
            from logbook.app.widgets.timing_words import timing_lines

            return timing_lines(view, width)
        from logbook.app.widgets.ledger_words import ledger_lines

        return ledger_lines(view, width, self._system)


class JudgedScreen(BookScreen[None]):
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

    def got(self, lane: str, result: object) -> None:
        """Show the judgement."""
        pane = self.query_one(JudgedPane)
        pane.put(result, self.book.units)  # type: ignore[arg-type]

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

    def reload(self) -> None:
        """Judge the timings."""
        session_id = self.session_id

        def job(desk: Desk) -> TimingView:
            from logbook.cases.timing import timing_view

            return timing_view(desk, session_id)

        self.ask("judged", job, Got)


class LedgerScreen(JudgedScreen):
    """What each step was worth."""

    place = "ledger"
    title_words = "Ledger"
    BINDINGS = bindings("ledger")

    def reload(self) -> None:
        """Write the ledger."""
        session_id = self.session_id

        def job(desk: Desk) -> LedgerView:
            from logbook.cases.ledger import ledger_view

            return ledger_view(desk, session_id)

        self.ask("judged", job, Got)
