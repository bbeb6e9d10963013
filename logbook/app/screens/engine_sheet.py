"""An engine's sheet: what it is, its limits, its builds, its sessions."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got, SessionsListed
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import one
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.app.widgets.sheet_words import filed_lines, sheet_lines
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.due import DueState
    from logbook.cases.inspections import InspectionView
    from logbook.cases.sides_offered import Offer
    from logbook.records.engine import Build, Engine
    from logbook.records.lists import SessionRow

    Sheet = tuple[Engine, list[Build], list[DueState], InspectionView | None]

PAGE = 200


class SheetScreen(BookScreen[None]):
    """The sheet above, the sessions below, newest first."""

    place = "sheet"
    BINDINGS = bindings("sheet")
    DEFAULT_CSS = """
    SheetScreen #sheet { padding: 0 1; border-bottom: solid $foreground; }
    """

    def __init__(self, tag: str) -> None:
        super().__init__()
        self._tag = tag
        self._engine: Engine | None = None
        self._builds: list[Build] = []
        self._full = False

    @property
    def search_start(self) -> str:
        """A search begins within this engine."""
        return f'engine:"{self._tag}" '

    def content(self) -> ComposeResult:
        """Heading, sheet, sessions."""
        yield Text(((self._tag, "strong"),), id="head")
        yield Text(id="sheet")
        yield Rows(
            self.columns(),
            empty="No session yet: n opens the first.",
        )

    def columns(self) -> tuple[Column, ...]:
        """The list's columns, in the units shown."""
        unit = quantities.display_unit("power", self.book.units)
        return (
            Column("Session", 12),
            Column("Build", 12),
            Column("Purpose", 0),
            Column("Operator", 9, least=90),
            Column("Standard", 14, least=100),
            Column("Pulls", 5, "right"),
            Column(f"Best, {unit}", 9, "right"),
            Column("", 6),
        )

    def reload(self) -> None:
        """Read sheet, builds and sessions."""
        tag = self._tag

        def job(desk: Desk) -> Sheet:
            from logbook.cases.builds import list_builds
            from logbook.cases.due import list_due
            from logbook.cases.engines import engine_by_tag
            from logbook.cases.inspections import list_inspections

            looked = list_inspections(desk, tag, limit=1)
            return (
                engine_by_tag(desk, tag), list_builds(desk, tag), list_due(desk, tag),
                looked[0] if looked else None,
            )  # fmt: skip

        self.ask("sheet", job, Got)
        self._page(0)

    def _page(self, offset: int) -> None:
        tag = self._tag

        def job(desk: Desk) -> list[SessionRow]:
            from logbook.cases.sessions import list_sessions

            return list_sessions(desk, tag, limit=PAGE, offset=offset)

        self.ask("sessions", job, lambda ticket, rows: SessionsListed(ticket, rows, offset))

    def got(self, lane: str, result: object) -> None:
        """The sheet, or what can be laid over each other."""
        if lane == "offers":
            self._offer(cast("list[Offer]", result))
            return
        self._engine, self._builds, due, looked = cast("Sheet", result)
        engine, width = self._engine, max(20, self.size.width - 2)
        name = f"{engine.tag} {engine.name}".strip()
        owner = f"  of {engine.owner}" if engine.owner else ""
        self.query_one("#head", Text).put(
            ((name, "strong"), (owner, "quiet"),
             (f"  family {engine.family}" if engine.family else "", "quiet"))
        )  # fmt: skip
        units = self.book.units
        self.query_one("#sheet", Text).put(
            *sheet_lines(engine, self._builds, width, units),
            *filed_lines(due, looked, width, units),
        )

    def on_sessions_listed(self, message: SessionsListed) -> None:
        """The sessions, a page at a time."""
        if self.stale(message):
            return
        rows = self.query_one(Rows)
        self._full = len(message.rows) == PAGE
        lines = [self._row(row) for row in message.rows]
        if message.offset:
            rows.more(lines)
        else:
            rows.put(lines)
        self.refresh_keys()

    def _row(self, row: SessionRow) -> Row:
        return Row(
            row.id,
            (
                one(showing.day(row.opened_at, self.book.zone), "strong"),
                one(row.build),
                one(row.purpose),
                one(row.operator, "quiet"),
                one(row.standard, "quiet"),
                one(str(row.pulls)),
                one(quantities.show(row.best_power_kw, "power", self.book.units, unit=False)),
                one("open", "accent") if row.status == "open" else one(""),
            ),
        )

    def on_rows_moved(self, message: Rows.Moved) -> None:
        """The next page, when the end is near."""
        if self._full and message.index >= len(message.rows.rows) - 10:
            self._full = False
            self._page(len(message.rows.rows))

    def on_rows_chosen(self) -> None:
        """A second click opens."""
        self.action_open()

    def key_words(self, key: Key) -> str | None:
        """Nothing to open without a session."""
        if key.id == "sheet.open" and self.query_one(Rows).current is None:
            return None
        return key.words

    def action_open(self) -> None:
        """Open the session chosen."""
        if (row := self.query_one(Rows).current) is not None:
            self.book.show_session(row.key)

    def action_compare(self) -> None:
        """Which builds, sessions or sisters to lay over each other."""
        tag, row = self._tag, self.query_one(Rows).current
        session_id = row.key if row is not None else None

        def job(desk: Desk) -> list[Offer]:
            from logbook.cases.sides_offered import offered

            return offered(desk, tag, session_id)

        self.ask("offers", job, Got)

    def _offer(self, offers: list[Offer]) -> None:
        if not offers:
            self.notice("There is nothing to compare yet: it takes two sessions.", "quiet")
            return
        from logbook.app.screens.offers import choose, offer_lines

        choose(self.book, self._tag, offer_lines(offers))

    def action_new_session(self) -> None:
        """Open a session."""
        self.book.show_opening(self._tag)

    def action_edit(self) -> None:
        """Correct the sheet."""
        if self._engine is not None:
            from logbook.app.screens.engine_form import EngineForm

            self.app.push_screen(EngineForm(self._engine))

    def action_checks(self) -> None:
        """The newest build's measures."""
        from logbook.app.screens.checks import ChecksScreen

        self.app.push_screen(ChecksScreen(self._tag))

    def action_years(self) -> None:
        """The engine over the years."""
        from logbook.app.screens.years import YearsScreen

        self.app.push_screen(YearsScreen(self._tag))

    def action_attached(self) -> None:
        """Files attached to the engine and to what belongs to it."""
        from logbook.app.screens.attached import AttachedScreen
        from logbook.cases.attachments import Owner

        self.app.push_screen(AttachedScreen(self._tag, Owner(self._tag), "the engine"))

    def action_parts(self) -> None:
        """What is in the builds."""
        from logbook.app.screens.build_sheet import BuildScreen

        self.app.push_screen(BuildScreen(self._tag))

    def action_inspections(self) -> None:
        """The engine's inspections."""
        from logbook.app.screens.inspections import InspectionsScreen

        self.app.push_screen(InspectionsScreen(self._tag))

    def action_due(self) -> None:
        """What is due on the engine."""
        from logbook.app.screens.due import DueScreen

        self.app.push_screen(DueScreen(self._tag))

    def action_new_build(self) -> None:
        """Enter the next build."""
        from logbook.app.screens.short_forms import BuildForm

        self.app.push_screen(BuildForm(self._tag, f"build {len(self._builds) + 1}"))
