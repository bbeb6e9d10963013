"""Naming another factor of the set-up."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets.field import TextEntry


class FactorForm(ShortForm["tuple[str, str]"]):
    """Answers with a factor's name and level; nothing is stored yet."""

    place = "factor"
    BINDINGS = bindings("factor")

    def __init__(self, known: Sequence[str]) -> None:
        super().__init__("", "Another factor of the set-up")
        self._known = known

    def entries(self) -> ComposeResult:
        """Name and level."""
        yield TextEntry("name", "Factor", suggestions=self._known, hint="→ completes a known one")
        yield TextEntry("level", "Level", hint="such as 82 or 0.3 mm")

    def action_save(self) -> None:
        """Give it to the form below."""
        typed = {key: text.strip() for key, text in self.touched().items()}
        if not typed.get("name") or not typed.get("level"):
            self.notice("A factor has a name and a level.", "error")
            return
        self.dismiss((typed["name"], typed["level"]))
