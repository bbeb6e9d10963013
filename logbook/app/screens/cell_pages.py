"""The cell's other lists: safety, standards and limits, backups."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from logbook.app.keys import Key, bindings
from logbook.app.messages import Drawn, Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.detail import DetailScreen
from logbook.app.screens.engineer import JudgedPane
from logbook.app.widgets.ink import Draw, Line, one, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.cell_view import CellView
    from logbook.cases.desk import Desk


class OfCell(DetailScreen[None]):
    """A list of one cell, the one that was used last where none is named."""

    def __init__(self, cell_name: str | None = None) -> None:
        super().__init__()
        self._cell_name = cell_name
        self._view: CellView | None = None

    def reload(self) -> None:
        """Read the cell."""
        name = self._cell_name

        def job(desk: Desk) -> CellView:
            from logbook.cases.cell_view import cell_view

            return cell_view(desk, name)

        self.ask("cell", job, Got)

    def got(self, lane: str, result: object) -> None:
        """Show it, or say what was done."""
        if lane != "cell":
            self.notice(str(result))
            return
        self._view = cast("CellView", result)
        self._cell_name = self._view.cell.name
        self.put_cell(self._view)

    def put_cell(self, view: CellView) -> None:
        """Fill heading and list."""
        raise NotImplementedError


class SafetyScreen(OfCell):
    """The list to tick off before the first loaded pull, for the cell's open session."""

    place = "safety"
    BINDINGS = bindings("safety")
    heading = "Safety list"

    def columns(self) -> Sequence[Column]:
        """A box and the sentence."""
        return (Column("", 1), Column("", 0))

    def put_cell(self, view: CellView) -> None:
        """The list with its ticks."""
        ticked = sum(done for _, _, done in view.safety)
        self.query_one("#head", Text).put(
            ((f"Safety list of {view.cell.name}", "strong"),
             (f"  {ticked} of {len(view.safety)} checked{self._whose(view)}", "quiet"))
        )  # fmt: skip
        self.query_one(Rows).put(
            [
                Row(key, (one("☑" if done else "☐", "gain" if done else "caution"), one(sentence)))
                for key, sentence, done in view.safety
            ]
        )
        self.show_chosen()

    def _whose(self, view: CellView) -> str:
        if view.session is None:
            return ", no session yet"
        day = showing.day(view.session.opened_at, view.cell.time_zone)
        state = "" if view.can_tick else ", closed"
        return f" for {view.engine_tag}, {day}{state}"

    def detail(self, key: str | None, width: int) -> Sequence[Line]:
        """The whole sentence, and what the logbook does not do."""
        from logbook.cases.sessions import SAFETY_PREFACE

        view = self._view
        if view is None:
            return ()
        sentence = next((words for name, words, _ in view.safety if name == key), "")
        lines = wrap(sentence, width, "strong")
        if not view.can_tick:
            lines += wrap("The list is for an open session: open one first.", width, "quiet")
        return [*lines, (), *wrap(SAFETY_PREFACE, width, "caution")]

    def key_words(self, key: Key) -> str | None:
        """Only an open session's list can be ticked."""
        if key.id in ("safety.tick", "safety.all") and not (self._view and self._view.can_tick):
            return None
        return key.words

    def action_open(self) -> None:
        """Tick the line chosen, or take its tick away."""
        if (view := self._view) is not None and self.chosen is not None:
            now = {key for key, _, done in view.safety if done} ^ {self.chosen}
            self._tick(view, now)

    def action_all(self) -> None:
        """Tick everything: each was looked at."""
        if (view := self._view) is not None:
            self._tick(view, {key for key, _, _ in view.safety})

    def _tick(self, view: CellView, keys: set[str]) -> None:
        if not view.can_tick or view.session is None:
            return
        session_id = view.session.id

        def job(desk: Desk) -> str:
            from logbook.cases.sessions import check_safety

            done = len(check_safety(desk, session_id, keys).safety_checked)
            return f"{done} of {len(view.safety)} checked."

        self.write(job)


class PageScreen(BookScreen[None]):
    """Lines to scroll through that are read from the book or known anyway."""

    AUTO_FOCUS = ""
    title_words: ClassVar[str]
    DEFAULT_CSS = """
    PageScreen #middle { height: 1fr; border-top: solid $foreground; padding: 0 1; }
    """

    def content(self) -> ComposeResult:
        """Heading and the lines."""
        yield Text(((self.title_words, "strong"),), id="head")
        with VerticalScroll(id="middle", can_focus=False):
            yield JudgedPane("Reading …")

    def drawing(self, units: str) -> Callable[[Desk], Draw]:
        """The job that reads, and says how that is drawn."""
        raise NotImplementedError

    def reload(self) -> None:
        """Read."""
        self.ask("page", self.drawing(self.book.units), Drawn)

    def on_drawn(self, message: Drawn) -> None:
        """Show it."""
        if not self.stale(message):
            self.query_one(JudgedPane).put(message.draw)

    def action_scroll(self, by: int) -> None:
        """Up and down."""
        self.query_one("#middle", VerticalScroll).scroll_relative(y=by, animate=False)


class StandardsScreen(PageScreen):
    """Every standard with its reference air, formula and range, and what is refused."""

    place = "standards"
    BINDINGS = bindings("standards")
    title_words = "Standards and limits"

    def drawing(self, units: str) -> Callable[[Desk], Draw]:
        """Nothing of it stands in the book."""

        def job(desk: Desk) -> Draw:
            from logbook.app.widgets.cell_words import standards_lines

            return lambda width: standards_lines(width, units)

        return job


class BackupsScreen(PageScreen):
    """The automatic backups of the book."""

    place = "backups"
    BINDINGS = bindings("backups")
    title_words = "Backups"

    def drawing(self, units: str) -> Callable[[Desk], Draw]:
        """Look into their folder."""

        def job(desk: Desk) -> Draw:
            from logbook.app.widgets.cell_words import backup_lines
            from logbook.cases.cell_view import backups_of

            found = backups_of(desk)
            return lambda width: backup_lines(found, width)

        return job
