"""What all comparisons share: pictures at the left, a table to scroll at the right."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll

from logbook.app.keys import Key
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.drawn import Drawn
from logbook.app.widgets.lines import Text


class LaidOverScreen(BookScreen[None]):
    """The right one measured from the left one. Subclasses read it in `reload` and show it in
    `draw`; `PICTURES` are what the key for the curves goes through."""

    AUTO_FOCUS = ""
    PICTURES: ClassVar[tuple[str, ...]]
    DEFAULT_CSS = """
    LaidOverScreen #middle { height: 1fr; border-top: solid $foreground; }
    LaidOverScreen #pictures { width: 1fr; height: 1fr; padding: 0 1; }
    LaidOverScreen #table {
        width: 40%; border-left: solid $foreground; padding: 0 1; scrollbar-size-vertical: 1;
    }
    """

    def __init__(self, left: str, right: str, standard: str | None = None) -> None:
        super().__init__()
        self.left, self.right, self.standard = left, right, standard
        self.pictures = self.PICTURES[0]

    def content(self) -> ComposeResult:
        """Heading, pictures, table."""
        yield Text((("Compare", "strong"),), (), id="head")
        with Horizontal(id="middle"):
            yield Drawn("Reading the pulls …", id="pictures")
            with VerticalScroll(id="table", can_focus=False):
                yield Drawn(id="differing")

    def draw(self) -> None:
        """Show what was read, for the pictures chosen."""
        raise NotImplementedError

    @property
    def next_pictures(self) -> str:
        """What the key for the curves goes on to."""
        at = self.PICTURES.index(self.pictures)
        return self.PICTURES[(at + 1) % len(self.PICTURES)]

    def key_words(self, key: Key) -> str | None:
        """The curves' key names what comes next."""
        return self.next_pictures if key.id.endswith(".curve") else key.words

    def action_swap(self) -> None:
        """Measure the other way round."""
        self.left, self.right = self.right, self.left
        self.reload()

    def action_standard(self) -> None:
        """Reconcile both to the next standard."""
        from logbook.engineering.correction import STANDARDS

        keys = list(STANDARDS)
        at = keys.index(self.standard) if self.standard in keys else -1
        self.standard = keys[(at + 1) % len(keys)]
        self.reload()

    def action_curve(self) -> None:
        """The next pictures."""
        self.pictures = self.next_pictures
        self.draw()
        self.refresh_keys()

    def action_scroll(self, by: int) -> None:
        """Up and down in the table."""
        self.query_one("#table", VerticalScroll).scroll_relative(y=by, animate=False)
