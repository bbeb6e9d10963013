"""A pane whose lines a function draws for the room there is."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.lines import Lines

Draw = Callable[[int, int], Sequence[Line]]


class Drawn(Lines):
    """Shows `waiting` until it is given what to draw."""

    def __init__(self, waiting: str = "", *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._waiting = waiting
        self._draw: Draw | None = None

    def put(self, draw: Draw, *, layout: bool = False) -> None:
        """Draw with this from now on; `layout`: its height may be another."""
        self._draw = draw
        self.redraw(layout=layout)

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """What the function draws."""
        if self._draw is None:
            return [one(self._waiting, "quiet")] if self._waiting else []
        return self._draw(width, height)
