"""A pane of lines: text that is laid out for the size it gets, drawn line by line."""

from __future__ import annotations

from collections.abc import Sequence

from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from logbook.app.widgets.ink import BLANK, Line, strip


class Lines(Widget):
    """Draws what `lines(width, height)` returns. Call `redraw` when that has changed."""

    DEFAULT_CSS = """
    Lines { height: auto; }
    """

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._laid: tuple[Size, Sequence[Line]] | None = None

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The lines for a pane of this size; more than `height` are not shown."""
        raise NotImplementedError

    def redraw(self, *, layout: bool = False) -> None:
        """Lay the lines out again and draw them."""
        self._laid = None
        self.refresh(layout=layout)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows as there are lines."""
        return len(self.lines(width, container.height))

    def render_line(self, y: int) -> Strip:
        """One line as a strip."""
        size = self.size
        if self._laid is None or self._laid[0] != size:
            self._laid = (size, self.lines(size.width, size.height))
        laid = self._laid[1]
        return strip(self.app, laid[y] if y < len(laid) else BLANK, size.width, self.rich_style)


class Text(Lines):
    """Lines that are given from outside."""

    def __init__(self, *lines: Line, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._given: Sequence[Line] = lines

    def put(self, *lines: Line) -> None:
        """Show these lines instead."""
        layout = len(lines) != len(self._given)
        self._given = lines
        self.redraw(layout=layout)

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """What was given."""
        return self._given
