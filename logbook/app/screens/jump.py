"""Jumping: a letter beside everything that can be chosen; typing it goes there."""

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


class JumpScreen(ModalScreen[None]):
    """The letters, over the screen they belong to. Any other key leaves."""

    BINDINGS = bindings("jump")
    DEFAULT_CSS = """
    JumpScreen { background: transparent; &:ansi { background: transparent; } }
    JumpScreen > Static {
        position: absolute; width: 2; height: 1; text-style: bold reverse; color: $warning;
    }
    """

    def __init__(self, targets: Sequence[Target]) -> None:
        super().__init__()
        self._targets = dict(zip(LETTERS, targets, strict=False))

    def compose(self) -> ComposeResult:
        """A letter at each place."""
        for letter, target in self._targets.items():
            sign = Static(f"{letter} ", markup=False)
            sign.styles.offset = (target.x, target.y)
            yield sign

    def on_key(self, event: events.Key) -> None:
        """Go there, or leave."""
        event.stop()
        event.prevent_default()
        target = self._targets.get(event.character or "")
        self.dismiss(None)
        if target is not None:
            target.go()

    def action_back(self) -> None:
        """Leave."""
        self.dismiss(None)
