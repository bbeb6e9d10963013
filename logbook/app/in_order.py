"""Keys act one after the other, each where the one before it has led.

Textual hands a key to whatever has the focus when it comes in, and what no widget takes comes back
to the app later, as a key of the screen that is in front by then. On a busy machine a hand is
quicker: of ``/`` and ``u``, typed to find something, the ``u`` went to the list in front and took
the last entry back. Here a key waits until the one before it has been worked off, and until the
screen that it led to is there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Awaitable, Callable
from time import monotonic
from typing import TYPE_CHECKING

from textual.events import Event, Key
from textual.message import Message

from logbook.app.screens.base import BookScreen

if TYPE_CHECKING:
    from textual.screen import Screen

    from logbook.app.host import Host

AT_ANY_TIME = frozenset({"escape", "f1", "question_mark", "ctrl+q"})
LOOK_S = 0.005
LOST_S = 0.5  # a key that has not been seen again for so long went with its screen


class Passed(Message, bubble=True):
    """Follows a key on its way: when this is back, the key has been worked off."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


class InOrder:
    """The keys of `app` that have not acted yet. `act` hands one of them on."""

    def __init__(self, app: Host, act: Callable[[Event], Awaitable[None]]) -> None:
        self._app, self._act = app, act
        self._keys: deque[Event] = deque()
        self._number = 0
        self._under_way: int | None = None
        self._since = 0.0
        self._looking = False

    async def take(self, event: Event) -> None:
        """A key or a paste has come in."""
        if self._passes(event):
            self._keys.clear()  # they were meant for what is being left
            await self._hand_on(event)
            return
        self._keys.append(event)
        await self._go_on()

    async def passed(self, number: int | None = None) -> None:
        """A key has been worked off: that of the number, or the one that has come back unused."""
        if number is None or number == self._under_way:
            self._under_way = None
            await self._go_on()

    async def _go_on(self) -> None:
        while self._keys and not self._busy() and self._is_there():
            await self._hand_on(self._keys.popleft())
        if self._keys and not self._looking:
            self._looking = True
            self._app.set_timer(LOOK_S, self._look)

    async def _look(self) -> None:
        self._looking = False
        await self._go_on()

    async def _hand_on(self, event: Event) -> None:
        self._number += 1
        self._under_way, self._since = self._number, monotonic()
        goes_to = self._app.focused or self._app.screen
        await self._act(event)
        # An action that comes before all others has not handed it on.
        if not event.is_forwarded or not goes_to.post_message(Passed(self._number)):
            self._under_way = None

    def _busy(self) -> bool:
        return self._under_way is not None and monotonic() - self._since < LOST_S

    def _is_there(self) -> bool:
        """Whether the screen in front is there to be typed at."""
        if not self._app.screen_stack:
            return False
        screen: Screen[object] = self._app.screen
        if isinstance(screen, BookScreen):
            return screen.ready
        wants_focus = screen.AUTO_FOCUS != ""  # Textual's own, such as the palette
        return screen.is_mounted and (not wants_focus or screen.focused is not None)

    def _passes(self, event: Event) -> bool:
        """Whether a key acts at once on a screen that is still waiting for the book."""
        return (
            isinstance(event, Key)
            and bool(self._app.screen_stack)
            and isinstance(screen := self._app.screen, BookScreen)
            and screen.in_front
            and not screen.ready
            and event.key in AT_ANY_TIME
        )
