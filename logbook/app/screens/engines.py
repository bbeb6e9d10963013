"""The first screen: every engine, with its last session, pulls and best."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Answer, EnginesListed, Got, Ticket
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import BLANK, one
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.lists import EngineRow
    from logbook.store.glance import Glance


class EnginesScreen(BookScreen[None]):
    """The list of engines. Enter goes on with an open session or opens one."""

    place = "engines"
    BINDINGS = bindings("engines")

    def __init__(self) -> None:
        super().__init__()
        self._rows: dict[str, EngineRow] = {}
        self._read = False
        self._entered = ""

    def content(self) -> ComposeResult:
        """A heading and the list."""
        yield Text((("Engines", "strong"), ("  reading the book …", "quiet")), id="head")
        yield Rows(self.columns(), empty="No engine yet.", id="engines")

    def columns(self) -> tuple[Column, ...]:
        """The list's columns, in the units shown."""
        return (
            Column("Engine", 9),
            Column("Name", 0),
            Column("Family", 18, least=110),
            Column("Build", 10),
            Column("Last session", 12),
            Column("Sessions", 8, "right", least=100),
            Column("Pulls", 5, "right"),
            Column(f"Best, {quantities.display_unit('power', self.book.units)}", 9, "right"),
            Column("", 6),
        )

    def mounted(self) -> None:
        """The first time a glance into the file is enough, without opening the book."""
        glanced = self.book.glanced
        if glanced is None:
            super().mounted()
        elif glanced.done() and (found := glanced.result()) is not None:
            self._show(*found)
        else:
            self.refresh_keys()
            self.book.work.aside(self, "engines", glanced.result, _glanced)

    def reload(self) -> None:
        """Read the list."""
        self.ask("engines", _listed, lambda ticket, found: EnginesListed(ticket, *found))

    def got(self, lane: str, result: object) -> None:
        """There was nothing to see at a glance: the book has to be opened."""
        self.reload()

    def on_engines_listed(self, message: EnginesListed) -> None:
        """Show it; an empty book gets the first-run screen, once."""
        if not self.stale(message):
            self._show(message.rows, message.units, message.zone)

    def _show(self, found: Sequence[EngineRow], units: str, zone: str) -> None:
        self.book.units, self.book.zone = units, zone
        self._rows = {row.id: row for row in found}
        rows = self.query_one(Rows)
        rows.head(self.columns())
        entered = next((row.id for row in found if row.tag == self._entered), None)
        rows.put([self._row(row) for row in found], keep=entered)
        if entered:
            self._entered = ""
        pulls = sum(row.pulls for row in found)
        self.query_one("#head", Text).put(
            (
                ("Engines", "strong"),
                (f"  {showing.count(len(found), 'engine')}", "quiet"),
                (f" · {showing.count(pulls, 'pull')}", "quiet"),
            )
        )
        self.refresh_keys()
        self.call_after_refresh(self.book.work.begin)
        if not found and not self._read:
            self.book.first_run()
        self._read = True

    def _row(self, row: EngineRow) -> Row:
        return Row(
            row.id,
            (
                one(row.tag, "strong"),
                one(row.name),
                one(row.family, "quiet"),
                one(row.build),
                one(showing.day(row.last_session_at, self.book.zone)),
                one(str(row.sessions)),
                one(str(row.pulls)),
                one(
                    quantities.show(row.best_power_kw, "power", self.book.units, unit=False),
                    "strong",
                ),
                one("open", "accent") if row.open_session_id else BLANK,
            ),
        )

    @property
    def _chosen(self) -> EngineRow | None:
        row = self.query_one(Rows).current
        return self._rows.get(row.key) if row else None

    def key_words(self, key: Key) -> str | None:
        """Nothing to open, show or copy without an engine."""
        chosen = self._chosen
        if chosen is None and key.id in {"engines.open", "engines.sheet", "engines.copy"}:
            return None
        if key.id == "engines.open":
            assert chosen is not None
            return "session" if chosen.open_session_id else "open session"
        return key.words

    def on_rows_moved(self) -> None:
        """What Enter does depends on the engine."""
        self.refresh_keys()

    def on_rows_chosen(self) -> None:
        """A second click opens."""
        self.action_open()

    def action_open(self) -> None:
        """Go on with the open session, or open one."""
        if (chosen := self._chosen) is None:
            return
        if chosen.open_session_id:
            self.book.show_session(chosen.open_session_id)
        else:
            self.book.show_opening(chosen.tag)

    def action_sheet(self) -> None:
        """The engine's sheet."""
        if (chosen := self._chosen) is not None:
            self.book.show_sheet(chosen.tag)

    def action_add(self) -> None:
        """Enter an engine; it is then the one chosen."""
        from logbook.app.screens.engine_form import EngineForm

        self.app.push_screen(EngineForm(), self._choose)

    def _choose(self, tag: str | None) -> None:
        if tag:
            self._entered = tag
            self.reload()

    def action_copy(self) -> None:
        """Copy the chosen engine under another tag."""
        if (chosen := self._chosen) is not None:
            from logbook.app.screens.short_forms import CopyForm

            self.app.push_screen(CopyForm(chosen.tag), self._choose)

    def action_fuels(self) -> None:
        """The fuels on file."""
        from logbook.app.screens.fuels import FuelsScreen

        self.app.push_screen(FuelsScreen())

    def action_cell(self) -> None:
        """The cell: calibrations, safety list, standards, backups."""
        from logbook.app.screens.cell import CellScreen

        self.app.push_screen(CellScreen())


def _glanced(ticket: Ticket, found: Glance | None) -> Answer:
    return Got(ticket, None) if found is None else EnginesListed(ticket, *found)


def _listed(desk: Desk) -> tuple[list[EngineRow], str, str]:
    from logbook.cases.engines import list_engines
    from logbook.cases.labels import house_zone

    with desk.book.reading() as read:
        zone = house_zone(read)
    return list_engines(desk), desk.units, zone
