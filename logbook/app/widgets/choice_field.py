"""Lines of a form that are chosen or ticked: by arrows, + and −, or the number of the choice."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events

from logbook.app.widgets.field import LABEL, Entry
from logbook.app.widgets.ink import Line, wrap


class ChoiceEntry(Entry, can_focus=True):
    """A line with a few choices; the one taken is marked. ``""`` is a choice not yet made."""

    def __init__(
        self,
        key: str,
        label: str,
        choices: Sequence[str],
        value: str = "",
        *,
        hint: str = "",
        words: Sequence[str] = (),
    ) -> None:
        super().__init__(key, label, value, hint=hint)
        self._choices = tuple(choices)
        self._words = tuple(words) or self._choices
        self._chosen = value

    @property
    def value(self) -> str:
        """The choice taken."""
        return self._chosen

    def set_value(self, text: str) -> None:
        """Take a choice."""
        if text != self._chosen:
            self._chosen = text
            self.redraw(layout=True)
            self.post_message(self.Edited(self))

    def on_key(self, event: events.Key) -> None:
        """Arrows, blank, + and − go round; a number takes its choice."""
        by = {"right": 1, "space": 1, "plus": 1, "left": -1, "minus": -1}.get(event.key)
        if by:
            at = self._choices.index(self._chosen) if self._chosen in self._choices else -(by > 0)
            self.set_value(self._choices[(at + by) % len(self._choices)])
        elif event.key.isdigit() and 1 <= int(event.key) <= len(self._choices):
            self.set_value(self._choices[int(event.key) - 1])
        else:
            return
        event.stop()
        event.prevent_default()

    def on_click(self) -> None:
        """The next choice."""
        self.focus()

    def watch_has_focus(self, focused: bool) -> None:
        """The cursor is drawn in the line itself."""
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The choices in a row; where they do not fit, the one taken and how many there are."""
        (label, _), _ = self._head(width)
        room = width - LABEL
        spans: list[tuple[str, str]] = []
        for number, (choice, words) in enumerate(zip(self._choices, self._words, strict=True), 1):
            taken = choice == self._chosen
            role = ("key" if self.has_focus else "strong") if taken else "quiet"
            spans += [(f"{'●' if taken else '○'} {number} {words}", role), ("  ", "")]
        if sum(len(text) for text, _ in spans) > room:
            at = self._choices.index(self._chosen) + 1 if self._chosen in self._choices else 0
            words = self._words[at - 1] if at else "not chosen"
            role = "key" if self.has_focus else "strong"
            spans = [(f"‹ {words} ›", role), (f"  {at} of {len(self._choices)}", "quiet")]
        said = f"✗ {self._error}" if self._error else self._mark or self.hint
        role = "error" if self._error else "changed" if self._mark else "quiet"
        below = wrap(said, max(10, room - 1), role) if said else []
        return [(label, *spans), *(((" " * LABEL, ""), *line) for line in below)]


class TickEntry(Entry, can_focus=True):
    """A sentence to be ticked off with the space bar; it runs over as many rows as it needs."""

    def __init__(self, key: str, sentence: str, ticked: bool = False) -> None:
        super().__init__(key, sentence, "yes" if ticked else "")
        self._ticked = ticked

    @property
    def value(self) -> str:
        """``"yes"`` when ticked."""
        return "yes" if self._ticked else ""

    def set_value(self, text: str) -> None:
        """Tick it or take the tick away."""
        self._ticked = text == "yes"
        self.redraw()
        self.post_message(self.Edited(self))

    def on_key(self, event: events.Key) -> None:
        """Space, + or 1 tick; − or a second space takes it away."""
        if event.key in ("space", "plus", "minus", "1"):
            event.stop()
            self.set_value("" if self._ticked else "yes")

    def on_click(self) -> None:
        """Tick."""
        self.focus()
        self.set_value("" if self._ticked else "yes")

    def watch_has_focus(self, focused: bool) -> None:
        """The cursor is drawn in the line itself."""
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The box and the sentence."""
        box = "[✓] " if self._ticked else "[ ] "
        role = "key" if self.has_focus else "gain" if self._ticked else "caution"
        rows = wrap(self.label, max(10, width - 4), "" if self._ticked else "strong")
        return [((box, role), *rows[0]), *((("    ", ""), *row) for row in rows[1:])]
