"""Finding any pull again: one box, results as you type, newest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.widgets import Input

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import PullsFound
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.field import TypedInput
from logbook.app.widgets.ink import Line, Span, one
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.lists import FoundPull
    from logbook.refusals import Refusal

PAGE = 200
HINT = (
    'words  engine:RB-2  fuel:…  timing:>30  power:>200hp  date:2026-03..  "a phrase"  -leave out'
)


class HistoryScreen(BookScreen[None]):
    """Every pull of the book. The cursor moves while the box keeps the focus."""

    AUTO_FOCUS = "#box"
    place = "history"
    BINDINGS = bindings("history")
    DEFAULT_CSS = """
    HistoryScreen #box { margin: 0 1; width: 1fr; }
    HistoryScreen #hint { padding: 0 1; }
    """

    def __init__(self, start: str = "") -> None:
        super().__init__()
        self._text = start
        self._start = start
        self._answered: str | None = None  # the query that the list is of
        self._total = 0
        self._found: dict[str, FoundPull] = {}
        self._paging = False
        self._open_when_found = False

    def content(self) -> ComposeResult:
        """The box, what came of it, the pulls."""
        yield Text((("History", "strong"),), id="head")
        box = TypedInput(self._start, id="box", placeholder="Search every pull of this book")
        box.select_on_focus = False
        yield box
        yield Text(((HINT, "quiet"),), id="hint")
        yield Rows(
            self.columns(),
            empty="",
        )

    def columns(self) -> tuple[Column, ...]:
        """The list's columns, in the units shown."""
        unit = quantities.display_unit("power", self.book.units)
        return (
            Column("Engine", 10),
            Column("Day", 12),
            Column("Pull", 4, "right"),
            Column("Build", 10, least=100),
            Column("Timing", 7, "right"),
            Column("Fuel", 14, least=90),
            Column(f"Power, {unit}", 10, "right"),
            Column("Standard", 13, least=110),
            Column("Note", 0),
        )

    def mounted(self) -> None:
        """The list follows the box; only the box has the focus."""
        super().mounted()
        self.query_one(Rows).can_focus = False

    def reload(self) -> None:
        """Search anew."""
        self._search(0)

    def _search(self, offset: int) -> None:
        text = self._text

        def job(desk: Desk) -> tuple[list[FoundPull], int]:
            from logbook.cases.finding import count, find

            rows = find(desk, text, limit=PAGE, offset=offset)
            return rows, count(desk, text) if len(rows) == PAGE else offset + len(rows)

        self._paging = True
        self.ask("find", job, lambda t, got: PullsFound(t, *got, offset), "searching")

    def on_input_changed(self, event: Input.Changed) -> None:
        """Results as you type; an older search is dropped."""
        event.stop()
        if event.value != self._text:
            self._text = event.value
            self._search(0)

    def on_pulls_found(self, message: PullsFound) -> None:
        """Show a page."""
        if self.stale(message):
            return
        self._paging, self._total, self._answered = False, message.total, self._text
        rows = self.query_one(Rows)
        rows.fade(False)
        rows.empty = "Nothing fits."
        if not message.offset:
            self._found.clear()
        self._found.update({row.pull_id: row for row in message.rows})
        lines = [self._row(row) for row in message.rows]
        if message.offset:
            rows.more(lines)
        else:
            rows.put(lines)
        self._draw_head()
        self.notice("")
        self.refresh_keys()
        if self._open_when_found:
            self._open_when_found = False
            self.action_open()

    def _draw_head(self) -> None:
        rows = self.query_one(Rows)
        shown = f", {len(rows.rows):,} read" if len(rows.rows) < self._total else ""
        marks = f"  {len(rows.marked)} marked" if rows.marked else ""
        head: list[Span] = [("History  ", "strong")]
        if self._text == self._answered:
            head.append((showing.count(self._total, "pull") + shown, "quiet"))
        else:
            before = ""
            if self._answered is not None:
                query = self._answered.strip()
                before = f"; below still the pulls of {f'“{query}”' if query else 'no query'}"
            head.append((f"⚠ not searched{before}", "caution"))
        self.query_one("#head", Text).put((*head, (marks, "changed")))

    def refused(self, lane: str, refusal: Refusal) -> None:
        """A query that cannot be read is explained; the last results stay, and say whose they
        are."""
        self._paging = self._open_when_found = False
        super().refused(lane, refusal)
        self.query_one(Rows).fade(True)
        self._draw_head()

    def _row(self, row: FoundPull) -> Row:
        timing = "" if row.timing_deg is None else f"{row.timing_deg:g}°"
        power: Line = one(quantities.show(row.power_kw, "power", self.book.units, unit=False))
        if row.power_kw is not None and not row.power_is_band:
            power = (("peak ", "quiet"), *power)
        note = row.note.replace("\n", " ")
        return Row(
            row.pull_id,
            (
                one(row.engine_tag, "strong"),
                one(showing.day(row.at, self.book.zone)),
                one(str(row.number)),
                one(row.build, "quiet"),
                one(timing),
                one(row.fuel),
                power,
                one(row.standard, "quiet"),
                (("excluded ", "caution"), (note, "quiet")) if row.excluded else one(note),
            ),
        )

    def on_rows_moved(self, message: Rows.Moved) -> None:
        """The next page, when the end is near."""
        rows = message.rows
        near = message.index >= len(rows.rows) - 20
        if near and not self._paging and len(rows.rows) < self._total:
            self._search(len(rows.rows))

    def key_words(self, key: Key) -> str | None:
        """Two marks can be compared."""
        rows = self.query(Rows)
        marked = len(rows.first().marked) if rows else 0
        if key.id == "history.compare" and marked != 2:
            return None
        if key.id in {"history.open", "history.mark"} and not self._found:
            return None
        return key.words

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter in the box opens the pull chosen."""
        event.stop()
        self.action_open()

    def on_rows_chosen(self) -> None:
        """A second click opens."""
        self.action_open()

    def action_open(self) -> None:
        """The pull in its session."""
        if self._paging:  # what is typed has not been answered yet: open what it finds
            self._open_when_found = True
            return
        row = self.query_one(Rows).current
        if row is not None and row.key in self._found:
            self.book.show_session(self._found[row.key].session_id, row.key)

    def action_mark(self) -> None:
        """Mark a pull, or take the mark away; more than two cannot be compared."""
        rows = self.query_one(Rows)
        row = rows.current
        if row is None:
            return
        if len(rows.marked) == 2 and row.key not in rows.marked:
            self.notice("Two pulls are marked already: F3 compares them.", "quiet")
            return
        rows.mark(row.key)
        rows.action_move(1)
        self._draw_head()
        self.refresh_keys()

    def action_compare(self) -> None:
        """The two marked pulls, the older one beneath."""
        marked = sorted(self.query_one(Rows).marked)
        if len(marked) == 2:
            self.book.show_compare(marked[0], marked[1])

    def action_clear(self) -> None:
        """Empty the box."""
        self.query_one(TypedInput).value = ""
