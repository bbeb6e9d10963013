"""A form of a line or two, in a box."""

from __future__ import annotations

from typing import TypeVar

from textual.app import ComposeResult

from logbook.app.keys import Key, keys_of
from logbook.app.screens.dialog import Dialog
from logbook.app.screens.form import Form

R = TypeVar("R")


class ShortForm(Dialog[R], Form[R]):
    """Enter on the last line saves."""

    def __init__(self, draft_key: str, title: str) -> None:
        super().__init__(draft_key)
        self.title_words = title

    def fields(self) -> ComposeResult:
        """The entries, without a scroller."""
        yield from self.entries()

    def key_words(self, key: Key) -> str | None:
        """On the last line Enter saves."""
        if key.id == "form.save":
            return None
        if key.id == "form.enter":
            entries = self.all_entries()
            if len(entries) < 2 or self.place_of_focus(entries) == len(entries) - 1:
                return next(k.words for k in keys_of(self.place) if k.id == "form.save")
        return key.words
