"""A small box over the screen: a question, a choice, a short form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen

from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line
from logbook.app.widgets.keyrow import KeyRow
from logbook.app.widgets.lines import Lines, Text
from logbook.app.widgets.progress import Progress

T = TypeVar("T")


class _Body(Lines):
    """The dialog's own lines, wrapped to its width."""

    def __init__(self, dialog: Dialog[T]) -> None:
        super().__init__(id="body")
        self._dialog = dialog

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """What the dialog says."""
        return self._dialog.body(width)


class Dialog(BookScreen[T], ModalScreen[T]):
    """A box titled `title_words`. Subclasses give `body` lines, and may add `fields`."""

    title_words = ""
    DEFAULT_CSS = """
    Dialog { align: center middle; background: transparent;
             &:ansi { background: transparent; } }
    Dialog > Vertical {
        width: 72; max-width: 100%; height: auto; max-height: 100%;
        border: round $foreground; background: $background; padding: 0 1;
    }
    Dialog #notice, Dialog Progress { padding: 0; }
    """

    def compose(self) -> ComposeResult:
        """The box, with its notice line and key row inside."""
        with Vertical():
            yield Text(((self.title_words, "strong"),), (), id="heading")
            yield _Body(self)
            yield from self.fields()
            yield Progress()
            yield Text(id="notice")
            yield Text(())
            yield KeyRow()

    def body(self, width: int) -> Sequence[Line]:
        """The dialog's lines."""
        return []

    def fields(self) -> ComposeResult:
        """The dialog's widgets."""
        yield from ()
