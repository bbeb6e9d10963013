"""An empty book: what this is, how it works, and two ways to begin."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.dialog import Dialog
from logbook.app.widgets.ink import BLANK, Line, one, wrap
from logbook.app.widgets.lines import Lines

if TYPE_CHECKING:
    from logbook.refusals import Refusal


PAGES = 3
KEY_ROOM = 7


class FirstRunScreen(Dialog[None]):
    """Offered once, on an empty book."""

    place = "first run"
    BINDINGS = bindings("first run")
    AUTO_FOCUS = ""
    title_words = "A logbook for the dynamometer cell"

    def __init__(self) -> None:
        super().__init__()
        self._building = False
        self._page = 0

    def body(self, width: int) -> Sequence[Line]:
        """The page that is open."""
        page = (self._job, self._loop, self._begin)[self._page](width)
        return [*page, BLANK, one(f"page {self._page + 1} of {PAGES}", "quiet")]

    def _job(self, width: int) -> list[Line]:
        return [
            BLANK,
            *wrap("Every pull goes in with what can move its number. The logbook corrects it to a"
                  " standard atmosphere, measures it from the session's baseline, and says whether"
                  " a change was a gain, a loss, nothing worth having, or not settled yet.", width),
            BLANK,
            *wrap("It neither controls nor protects. The emergency stop and every shut-down work"
                  " without it; local codes, the data sheets and licensed practice come first."
                  " Put the engine's limits on its sheet: advice never passes them.", width,
                  "caution"),
        ]  # fmt: skip

    def _loop(self, width: int) -> list[Line]:
        told = (
            ("Enter", "logs the next pull: the trace that landed, or typed peaks"),
            ("+ −", "a degree more or less timing for it; f another fuel; p everything else"),
            ("a", "a new air reading; x leaves a pull out; u takes the last entry back"),
            ("t", "which timing next; l what each step was worth; / finds any pull again"),
            ("?", "says more wherever you are; in a form F1"),
        )
        lines: list[Line] = [BLANK, *wrap("In the cell one hand is enough:", width)]
        for key, words in told:
            first, *rest = wrap(words, width - KEY_ROOM)
            lines.append(((f"{key:<{KEY_ROOM}}", "strong"), *first))
            lines.extend(((" " * KEY_ROOM, ""), *line) for line in rest)
        return lines

    def _begin(self, width: int) -> list[Line]:
        lines: list[Line] = []
        if self.book.demo is not None:
            words = "An invented workshop's book: boats, tractors, hill-climb cars; years of pulls."
            lines += [BLANK, one("d  Look at the demo", "strong"), *wrap(words, width, "quiet")]
        words = "A tag is enough to begin; the rest of its sheet can wait."
        lines += [BLANK, one("n  Enter the first engine", "strong"), *wrap(words, width, "quiet")]
        return lines

    def key_words(self, key: Key) -> str | None:
        """No demo where nobody can build one, or while it is being built; no page beyond."""
        if key.id == "first.demo" and (self.book.demo is None or self._building):
            return None
        if key.id == "first.next" and self._page == PAGES - 1:
            return None
        if key.id == "first.before" and self._page == 0:
            return None
        return key.words

    def action_turn(self, by: int) -> None:
        """To another page."""
        self._page = min(max(self._page + by, 0), PAGES - 1)
        self.query_one("#body", Lines).redraw(layout=True)
        self.refresh_keys()

    def action_demo(self) -> None:
        """Build the demo, away from the screen, and go over to it."""
        make = self.book.demo
        if make is None or self._building:
            return
        self._building = True
        self.refresh_keys()
        self.book.work.aside(self, "demo", make, Got, "building the demo logbook")

    def got(self, lane: str, result: object) -> None:
        """It is built."""
        if lane == "demo":
            self.dismiss(None)
            self.book.go_over(cast(Path, result))

    def refused(self, lane: str, refusal: Refusal) -> None:
        """It could not be built."""
        self._building = False
        super().refused(lane, refusal)
        self.refresh_keys()

    def action_engine(self) -> None:
        """The first engine."""
        self.dismiss(None)
        self.book.enter_engine()
