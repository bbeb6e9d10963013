"""A list that draws only the lines that are seen: columns, a cursor, marks, a heading row.

It takes tens of thousands of rows without measuring them. Cells are text with a role; a cell
that is too wide ends in ``…``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar, NamedTuple

from rich.style import Style
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from logbook.app.widgets.ink import Line, Span, fit_line, pad, strip, width_of

_POINTER, _MARKED = "▶", "●"


class Column(NamedTuple):
    """One column. `width` 0 shares what is left; `least` is the narrowest terminal pane (in
    cells) that still shows it, so that a small one leaves out what matters least."""

    title: str
    width: int
    align: str = "left"
    least: int = 0


class Row(NamedTuple):
    """One line: its key and its cells, a cell for each column."""

    key: str
    cells: tuple[Line, ...]


class Rows(ScrollView, can_focus=True):
    """The list. `cursor` is the chosen index."""

    DEFAULT_CSS = """
    Rows { height: 1fr; width: 1fr; overflow-x: hidden; scrollbar-size-vertical: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "Up", show=False),
        Binding("down", "move(1)", "Down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("home", "to(0)", "First", show=False),
        Binding("end", "to(-1)", "Last", show=False),
    ]

    cursor: reactive[int] = reactive(0, init=False)

    @dataclass(eq=False, repr=False)
    class Moved(Message):
        """Another row is chosen."""

        rows: Rows
        index: int
        key: str

    @dataclass(eq=False, repr=False)
    class Chosen(Message):
        """The chosen row was clicked once more."""

        rows: Rows
        index: int
        key: str

    def __init__(
        self, columns: Sequence[Column], *, empty: str = "", id: str | None = None
    ) -> None:
        super().__init__(id=id)
        self.columns = tuple(columns)
        self.rows: Sequence[Row] = ()
        self.empty = empty
        self.marked: set[str] = set()
        self._faded = False

    @property
    def current(self) -> Row | None:
        """The chosen row."""
        return self.rows[self.cursor] if self.cursor < len(self.rows) else None

    def put(self, rows: Sequence[Row], *, keep: str | None = None) -> None:
        """Show these rows; the cursor stays on the row with the key `keep` (default: the one
        it was on), else goes to the first."""
        before = self.current
        wanted = keep if keep is not None else before.key if before else None
        self.rows = rows
        index = next((i for i, row in enumerate(rows) if row.key == wanted), 0)
        self.virtual_size = Size(self.size.width, len(rows) + 1)
        self.set_reactive(Rows.cursor, index)
        self._show_cursor()
        self.refresh()

    def fade(self, faded: bool) -> None:
        """Draw all rows quietly: they do not answer what is asked just now."""
        if faded != self._faded:
            self._faded = faded
            self.refresh()

    def seen(self) -> Iterator[tuple[int, int, int]]:
        """Each row that is seen: its index, and the column and row of the terminal it stands at."""
        place, top = self.region, self.scroll_offset.y
        for y in range(1, place.height):
            if top + y - 1 < len(self.rows):
                yield top + y - 1, place.x, place.y + y

    def head(self, columns: Sequence[Column]) -> None:
        """Other column heads, the same number of columns."""
        self.columns = tuple(columns)
        self.refresh()

    def more(self, rows: Sequence[Row]) -> None:
        """Add rows at the end."""
        self.rows = [*self.rows, *rows]
        self.virtual_size = Size(self.size.width, len(self.rows) + 1)
        self.refresh()

    def mark(self, key: str) -> bool:
        """Mark a row or take its mark away; whether it is marked now."""
        self.marked ^= {key}
        self.refresh()
        return key in self.marked

    def on_resize(self) -> None:
        """Keep the cursor in sight."""
        self.virtual_size = Size(self.size.width, len(self.rows) + 1)
        self._show_cursor()

    def validate_cursor(self, index: int) -> int:
        """Within the rows."""
        return max(0, min(index, len(self.rows) - 1))

    def watch_cursor(self, before: int, now: int) -> None:
        """Draw the two lines anew and say so."""
        for index in (before, now):
            self.refresh(Region(0, index + 1 - self.scroll_offset.y, self.size.width, 1))
        self._show_cursor()
        if (row := self.current) is not None:
            self.post_message(self.Moved(self, now, row.key))

    def action_move(self, by: int) -> None:
        """One up or down."""
        self.cursor += by

    def action_page(self, by: int) -> None:
        """A page up or down."""
        self.cursor += by * max(1, self.size.height - 2)

    def action_to(self, index: int) -> None:
        """To the first (0) or last (-1) row."""
        self.cursor = index if index >= 0 else len(self.rows) - 1

    def on_click(self, event: events.Click) -> None:
        """Choose a row; a second click on it opens it."""
        index = event.y - 1 + self.scroll_offset.y
        if not (event.y >= 1 and index < len(self.rows)):
            return
        if index == self.cursor:
            self.post_message(self.Chosen(self, index, self.rows[index].key))
        else:
            self.cursor = index

    def _show_cursor(self) -> None:
        """Scroll as little as needed; the heading row covers the first line of the pane."""
        height = max(1, self.size.height - 1)
        top = self.scroll_offset.y
        if self.cursor < top:
            self.scroll_to(y=self.cursor, animate=False, force=True)
        elif self.cursor >= top + height:
            self.scroll_to(y=self.cursor - height + 1, animate=False, force=True)

    def render_line(self, y: int) -> Strip:
        """The heading, a row, or nothing."""
        width, base = self.size.width, self.rich_style
        widths = self._widths(width)
        if y == 0:
            cells: Line = tuple(
                (pad(column.title, w, column.align) + " ", "quiet")
                for column, w in zip(self.columns, widths, strict=True)
                if w
            )
            return strip(self.app, (("  ", ""), *cells), width, base)
        index = y - 1 + self.scroll_offset.y
        if index >= len(self.rows):
            text = self.empty if not self.rows and y == 2 else ""
            return strip(self.app, ((f"  {text}", "quiet"),), width, base)
        row = self.rows[index]
        chosen = index == self.cursor
        lead = _POINTER if chosen else " "
        mark = _MARKED if row.key in self.marked else " "
        line: list[Span] = [(lead + mark, "changed" if row.key in self.marked else "strong")]
        for cell, w, column in zip(row.cells, widths, self.columns, strict=True):
            if w:
                line.extend((*_cell(cell, w, column.align), (" ", "")))
        if self._faded:
            line = [(text, "quiet") for text, _ in line]
        over = Style(reverse=True) if chosen and self.has_focus else None
        return strip(self.app, tuple(line), width, base, over=over)

    def _widths(self, width: int) -> list[int]:
        """The width of each column, 0 where it is left out."""
        fixed = [c.width if width >= c.least else 0 for c in self.columns]
        shares = [i for i, c in enumerate(self.columns) if not c.width and width >= c.least]
        left = width - 2 - sum(fixed) - sum(1 for w in fixed if w) - len(shares)
        for place, index in enumerate(shares):
            fixed[index] = max(3, (left + place) // len(shares))
        return fixed


def _cell(cell: Line, width: int, align: str) -> Line:
    spans = fit_line(cell, width)
    gap = (" " * (width - width_of(spans)), "")
    return (gap, *spans) if align == "right" else (*spans, gap)
