"""An empty book: look at the demo, or enter the first engine."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.dialog import Dialog
from logbook.app.widgets.ink import BLANK, Line, one, wrap

if TYPE_CHECKING:
    from logbook.refusals import Refusal


class FirstRunScreen(Dialog[None]):
    """Offered once, on an empty book."""

    place = "first run"
    BINDINGS = bindings("first run")
    AUTO_FOCUS = ""
    title_words = "This logbook is empty"

    def __init__(self) -> None:
        super().__init__()
        self._building = False

    def body(self, width: int) -> Sequence[Line]:
        """The two ways to begin."""
        lines: list[Line] = []
        if self.book.demo is not None:
            words = "An invented workshop's book: boats, tractors, hill-climb cars; years of pulls."
            lines += [BLANK, one("d  Look at the demo", "strong"), *wrap(words, width, "quiet")]
        words = "A tag is enough to begin; the rest of its sheet can wait."
        lines += [BLANK, one("n  Enter the first engine", "strong"), *wrap(words, width, "quiet")]
        return lines

    def key_words(self, key: Key) -> str | None:
        """No demo where nobody can build one, or while it is being built."""
        if key.id == "first.demo" and (self.book.demo is None or self._building):
            return None
        return key.words

    def action_demo(self) -> None:
        """Build the demo, away from the screen, and go over to it."""
        make = self.book.demo
        if make is None or self._building:
            return
        self._building = True
        self.notice("Building the demo logbook, some seconds …", "quiet")
        self.refresh_keys()
        self.book.work.aside(self, "demo", make, Got)

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
