"""Jumping: a letter beside everything that can be chosen; typing it goes there.

Where there are more places than letters, the last of them have two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen
from textual.widgets import Static

from logbook.app.keys import bindings

LETTERS = "asdfghjklqwertyuiopzxcvbnm1234567890"


class Target(NamedTuple):
    """Where a letter stands, and what typing it does."""

    x: int
    y: int
    go: Callable[[], object]


def labels(count: int) -> list[str]:
    """So many labels, none the beginning of another, as many as can be of one letter.

    There are at most 36 × 36 of them.
    """
    firsts = max(0, -(-(count - len(LETTERS)) // (len(LETTERS) - 1)))
    alone, before = LETTERS[: len(LETTERS) - firsts], LETTERS[len(LETTERS) - firsts :]
    return [*alone, *(first + second for first in before for second in LETTERS)][:count]


class JumpScreen(ModalScreen[None]):
    """The letters, over the screen they belong to. Any other key leaves."""

    AUTO_FOCUS = ""
    BINDINGS = bindings("jump")
    DEFAULT_CSS = """
    JumpScreen { background: transparent; &:ansi { background: transparent; } }
    JumpScreen > Static {
        position: absolute; width: 2; height: 1; text-style: bold reverse; color: $warning;
    }
    """

    def __init__(self, targets: Sequence[Target]) -> None:
        super().__init__()
        self._targets = dict(zip(labels(len(targets)), targets, strict=True))
        self._typed = ""

    def compose(self) -> ComposeResult:
        """A label at each place."""
        for label, target in self._targets.items():
            sign = Static(f"{label:<2}", markup=False, name=label)
            sign.styles.offset = (target.x, target.y)
            yield sign

    def on_key(self, event: events.Key) -> None:
        """Go there, wait for a second letter, or leave."""
        event.stop()
        event.prevent_default()
        self._typed += event.character or " "
        target = self._targets.get(self._typed)
        if target is None and any(label.startswith(self._typed) for label in self._targets):
            for sign in self.query(Static):
                sign.display = (sign.name or "").startswith(self._typed)
            return
        self.dismiss(None)
        if target is not None:
            target.go()

    def action_back(self) -> None:
        """Leave."""
        self.dismiss(None)
