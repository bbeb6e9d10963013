"""Help for the thing in focus, with every key that works there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen

from logbook.app.help_texts import PLACES, WIDGETS
from logbook.app.keys import Key, bindings
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.field import Entry
from logbook.app.widgets.ink import BLANK, Line, one, pad, wrap
from logbook.app.widgets.lines import Lines, Text

if TYPE_CHECKING:
    from collections.abc import Sequence


class _Page(Lines):
    """The help, wrapped to its width."""

    def __init__(self, place: str, focused: str, keys: Sequence[Key]) -> None:
        super().__init__(id="page")
        self._place, self._focused, self._keys = place, focused, keys

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The words about the thing, then its keys."""
        lines: list[Line] = []
        for text in (self._focused, PLACES.get(self._place, "")):
            if text:
                lines += [*wrap(text, width), BLANK]
        lines.append(one("Keys", "accent"))
        for key in self._keys:
            first, *rest = wrap(key.tooltip, width - 14)
            lines.append(((pad(key.face, 12) + "  ", "strong"), *first))
            lines.extend(((" " * 14, ""), *line) for line in rest)
        return lines


class HelpScreen(BookScreen[None]):
    """Esc closes it."""

    AUTO_FOCUS = "#scroll"
    place = "help"
    BINDINGS = bindings("help")
    DEFAULT_CSS = """
    HelpScreen #scroll { height: 1fr; padding: 0 1; scrollbar-size-vertical: 1; }
    """

    def __init__(self, place: str, focused: str) -> None:
        super().__init__()
        self._place, self._focused = place, focused

    @classmethod
    def about(cls, screen: Screen[object]) -> HelpScreen:
        """The help for what has the focus on `screen`."""
        focused, said = screen.focused, ""
        entry = focused if isinstance(focused, Entry) else getattr(focused, "parent", None)
        if isinstance(entry, Entry):
            said = f"{entry.label}: {WIDGETS['entry']}"
            if entry.unit:
                said += f" A bare number is taken in {entry.unit}."
        elif focused is not None:
            said = WIDGETS.get(focused.id or "", "")
        return cls(getattr(screen, "place", "engines"), said)

    def content(self) -> ComposeResult:
        """The page, which scrolls."""
        yield Text(((f"Help: {self._place}", "strong"),), id="head")
        with VerticalScroll(id="scroll"):
            yield _Page(self._place, self._focused, self.book.keymap.of(self._place))
