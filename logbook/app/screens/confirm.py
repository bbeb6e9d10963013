"""A question with yes and no, or a sentence that must be seen."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.app.keys import Key, bindings
from logbook.app.screens.dialog import Dialog
from logbook.app.widgets.ink import Line, wrap


class ConfirmScreen(Dialog[bool]):
    """Enter says yes, Esc says no."""

    place = "confirm"
    BINDINGS = bindings("confirm")
    AUTO_FOCUS = ""

    def __init__(self, title: str, text: str, *, yes: str = "yes", no: str = "no") -> None:
        super().__init__()
        self.title_words = title
        self._said = text
        self._yes, self._no = yes, no

    def body(self, width: int) -> Sequence[Line]:
        """The text."""
        return wrap(self._said, width)

    def key_words(self, key: Key) -> str | None:
        """The words of this question."""
        return {"confirm.yes": self._yes, "confirm.no": self._no}.get(key.id)

    def action_yes(self) -> None:
        """Do it."""
        self.dismiss(True)

    def action_back(self) -> None:
        """Leave it."""
        self.dismiss(False)
