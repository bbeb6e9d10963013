"""The answer as large as the terminal; on the wall it follows the session under way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.lines import Lines
from logbook.app.widgets.wall import wall_lines

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.running import Running

LOOK_EVERY_S = 1.0


class LargePane(Lines):
    """Draws what is shown as large as it fits."""

    DEFAULT_CSS = "LargePane { height: 1fr; padding: 0 2; }"

    def __init__(self) -> None:
        super().__init__(id="large")
        self._shown: Running | None = None
        self._read = False
        self._system = "us"

    def put(self, shown: Running | None, system: str) -> None:
        """Show this."""
        self._shown, self._system, self._read = shown, system, True
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The answer, or that there is none."""
        if self._shown is None:
            return [one("No session yet." if self._read else "Reading the book …", "quiet")]
        return wall_lines(self._shown.view, self._shown.answer, width, height, self._system)


class LargeScreen(BookScreen[None]):
    """One pull's answer; without a pull the newest that counts, without a session the one
    under way. Other programs' entries show within a second. Nothing can be changed here."""

    AUTO_FOCUS = ""
    place = "large"
    BINDINGS = bindings("large")

    def __init__(self, session_id: str | None = None, pull_id: str | None = None) -> None:
        super().__init__()
        self._session_id, self._pull_id = session_id, pull_id
        self._mark: tuple[str, int] | None = None

    def content(self) -> ComposeResult:
        """The pane."""
        yield LargePane()

    def mounted(self) -> None:
        """Read, and look every second for what others have entered."""
        super().mounted()
        self.set_interval(LOOK_EVERY_S, self._look)

    def _look(self) -> None:
        session_id = self._session_id

        def job(desk: Desk) -> object:
            from logbook.cases.running import running_mark

            return running_mark(desk, session_id)

        self.ask("look", job, Got)

    def reload(self) -> None:
        """The session and the answer."""
        session_id, pull_id = self._session_id, self._pull_id

        def job(desk: Desk) -> Running | None:
            from logbook.cases.running import running

            return running(desk, session_id, pull_id)

        self.ask("large", job, Got, "judging the session")

    def got(self, lane: str, result: object) -> None:
        """Show it; read anew where a look found something else than is shown."""
        self.notice("")  # whatever was wrong is over
        if lane == "look":
            if result != self._mark:
                self.reload()
            return
        shown = cast("Running | None", result)
        self._mark = shown.mark if shown else None
        if shown is not None:
            self.book.units = shown.units
        self.query_one(LargePane).put(shown, self.book.units)

    def key_words(self, key: Key) -> str | None:
        """On the wall there is nowhere to go back to."""
        return None if key.id == "large.back" and self.book.wall else key.words

    def action_back(self) -> None:
        """Back to the session."""
        if not self.book.wall:
            self.dismiss(None)
