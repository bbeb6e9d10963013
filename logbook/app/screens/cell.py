"""The cell: calibrations with their verdict, instruments, and the ways to its other lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.screens.cell_pages import OfCell
from logbook.app.screens.confirm import ConfirmScreen
from logbook.app.widgets.calibration_pane import CalibrationPane
from logbook.app.widgets.cell_words import cell_lines
from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.calibration_view import CalibrationView
    from logbook.cases.cell_view import CellView
    from logbook.cases.desk import Desk

EMPTY = "No calibration yet: n takes the first down."


class CellScreen(OfCell):
    """The calibrations of one cell; ← and → go to the other cells."""

    place = "cell sheet"
    BINDINGS = bindings("cell sheet")
    DEFAULT_CSS = """
    CellScreen Rows { height: 6; }
    CellScreen #chosen { height: 1fr; max-height: 100%; border-top: solid $foreground; }
    """
    heading = "Cell"

    def content(self) -> ComposeResult:
        """Heading, calibrations, the one chosen drawn."""
        yield Text(((self.heading, "strong"),), id="head")
        yield Rows(self.columns(), empty="Reading the book …")
        yield CalibrationPane()

    def columns(self) -> Sequence[Column]:
        """What was calibrated, when, and the verdict."""
        return (
            Column("Date", 12),
            Column("Instrument", 0),
            Column("Worst", 15, "right", least=70),
            Column("Tolerance", 15, "right", least=110),
            Column("Verdict", 19),
            Column("Due", 11, least=96),
            Column("", 9, least=60),
        )

    def put_cell(self, view: CellView) -> None:
        """The cell's sheet and its calibrations."""
        width = max(20, self.size.width - 2)
        beside = f"  {view.names.index(view.cell.name) + 1} of {len(view.names)}"
        self.query_one("#head", Text).put(
            ((view.cell.name, "strong"), (beside if len(view.names) > 1 else "", "quiet")),
            *cell_lines(view.cell, width, self.book.units),
            *self._watch_words(view),
        )
        rows = self.query_one(Rows)
        rows.empty = EMPTY
        rows.put([self._row(found) for found in view.calibrations])
        self.show_chosen()

    def _watch_words(self, view: CellView) -> list[Line]:
        """What of the instruments and the list needs somebody."""
        from logbook.cases.calibration_view import OUT_OF_TOLERANCE, instrument_name

        said: list[Line] = []
        for found in view.standing:
            name = instrument_name(found.calibration)
            if found.verdict == OUT_OF_TOLERANCE:
                said.append(one(f"⚠ {name} out of tolerance", "caution"))
            if found.overdue:
                due_on = showing.date_words(found.calibration.due_on)
                said.append(one(f"⚠ {name} overdue since {due_on}", "caution"))
        ticked = sum(done for _, _, done in view.safety)
        if view.can_tick and ticked < len(view.safety):
            said.append(one(f"⚠ safety list {ticked} of {len(view.safety)} checked", "caution"))
        return said

    def _row(self, view: CalibrationView) -> Row:
        from logbook.app.widgets.calibration_words import verdict_role
        from logbook.cases.calibration_view import instrument_name, off_words, tolerance_words
        from logbook.reports.calibration_tables import VERDICT_SIGNS

        found = view.calibration
        state = "overdue" if view.overdue else "" if view.superseded else "stands"
        return Row(
            found.id,
            (
                one(showing.day(found.calibrated_at, view.cell.time_zone), "strong"),
                one(instrument_name(found)),
                one(off_words(view, view.figures.worst_percent, signed=True)),
                one(tolerance_words(view), "quiet"),
                one(f"{VERDICT_SIGNS[view.verdict]} {view.verdict}", verdict_role(view)),
                one(found.due_on or "", "quiet"),
                one(f"⚠ {state}" if view.overdue else state,
                    "caution" if view.overdue else "quiet"),
            ),
        )  # fmt: skip

    def _chosen_view(self) -> CalibrationView | None:
        if self._view is None:
            return None
        return next((v for v in self._view.calibrations if v.calibration.id == self.chosen), None)

    def show_chosen(self) -> None:
        """The calibration's figures and what is left over."""
        self.query_one(CalibrationPane).put(self._chosen_view())
        self.refresh_keys()

    def action_picture(self) -> None:
        """What is left over of the line, of the parabola, of the reference."""
        self.query_one(CalibrationPane).turn()

    def key_words(self, key: Key) -> str | None:
        """No other cell, nothing to correct: no words."""
        if key.id in ("cell.before", "cell.after"):
            return key.words if self._view and len(self._view.names) > 1 else None
        if key.id in ("cell.change", "cell.drop", "cell.picture") and self._chosen_view() is None:
            return None
        return key.words

    def action_cell(self, by: int) -> None:
        """The cell before or after, around."""
        if (view := self._view) is not None:
            place = view.names.index(view.cell.name) + by
            self._cell_name = view.names[place % len(view.names)]
            self.reload()

    def action_open(self) -> None:
        """Correct what was said of the calibration chosen."""
        if (view := self._chosen_view()) is not None:
            from logbook.app.screens.calibration_form import CalibrationCorrection

            self.app.push_screen(CalibrationCorrection(view))

    def action_new(self) -> None:
        """Take a calibration down."""
        if (view := self._view) is not None:
            from logbook.app.screens.calibration_form import CalibrationForm

            self.app.push_screen(CalibrationForm(view.cell.name))

    def action_drop(self) -> None:
        """Take the calibration chosen out, once that was meant."""
        view = self._chosen_view()
        if view is None:
            return
        found = view.calibration

        def job(desk: Desk) -> str:
            from logbook.cases.calibrations import drop_calibration

            drop_calibration(desk, found.id)
            return "Calibration taken out. u brings it back."

        def meant(yes: bool | None) -> None:
            if yes:
                self.write(job)

        on = showing.day(found.calibrated_at, self.book.zone)
        words = f"{found.instrument} of {on}: it will not count any more."
        self.app.push_screen(
            ConfirmScreen("Take the calibration out", words, yes="take out"), meant
        )

    def action_safety(self) -> None:
        """The safety list."""
        from logbook.app.screens.cell_pages import SafetyScreen

        self.app.push_screen(SafetyScreen(self._cell_name))

    def action_standards(self) -> None:
        """Standards and limits."""
        from logbook.app.screens.cell_pages import StandardsScreen

        self.app.push_screen(StandardsScreen())

    def action_backups(self) -> None:
        """The automatic backups."""
        from logbook.app.screens.cell_pages import BackupsScreen

        self.app.push_screen(BackupsScreen())

    def action_edit(self) -> None:
        """Correct the cell's sheet."""
        from logbook.app.screens.cell_form import CellForm

        self.app.push_screen(CellForm(self._cell_name))

    def action_add(self) -> None:
        """Enter another cell."""
        from logbook.app.screens.cell_form import CellForm

        self.app.push_screen(CellForm(new=True))
