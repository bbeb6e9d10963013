"""The calibrations of the cell's instruments; beneath the list the one chosen, drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.lines import Lines, Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.calibration_view import CalibrationView
    from logbook.cases.desk import Desk


class CalibrationPane(Lines):
    """The chosen calibration, drawn for the room it gets."""

    def __init__(self) -> None:
        super().__init__(id="chosen")
        self._view: CalibrationView | None = None
        self._picture = 0

    def put(self, view: CalibrationView | None) -> None:
        """Show this one."""
        self._view = view
        self.redraw()

    def turn(self) -> None:
        """Go over to the next picture."""
        self._picture += 1
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """Its words and its picture."""
        if self._view is None:
            return []
        from logbook.app.widgets.calibration_words import PICTURES, calibration_lines

        picture = PICTURES[self._picture % len(PICTURES)]
        return calibration_lines(self._view, picture, width, height)


class CalibrationsScreen(BookScreen[None]):
    """Newest first, of every cell of the book."""

    place = "calibrations"
    BINDINGS = bindings("calibrations")
    DEFAULT_CSS = """
    CalibrationsScreen Rows { height: 5; }
    CalibrationsScreen #chosen { height: 1fr; padding: 0 1; border-top: solid $foreground; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._found: list[CalibrationView] = []

    def content(self) -> ComposeResult:
        """Heading, list, the one chosen."""
        yield Text((("Calibrations of the instruments", "strong"),), id="head")
        yield Rows(
            (
                Column("Date", 11),
                Column("Instrument", 0),
                Column("Worst", 9, "right"),
                Column("Tolerance", 9, "right"),
                Column("Verdict", 20),
                Column("Due", 12),
                Column("Cell", 10, least=100),
            ),
            empty="Reading the calibrations …",
        )
        yield CalibrationPane()

    def reload(self) -> None:
        """Read them."""

        def job(desk: Desk) -> list[CalibrationView]:
            from logbook.cases.calibrations import list_calibrations

            return list_calibrations(desk)

        self.ask("calibrations", job, Got)

    def got(self, lane: str, result: object) -> None:
        """Show them."""
        self._found = cast("list[CalibrationView]", result)
        rows = self.query_one(Rows)
        rows.empty = "No instrument was calibrated yet: n takes a calibration down."
        rows.put([self._row(view) for view in self._found])
        self._show_chosen()
        self.refresh_keys()

    def _row(self, view: CalibrationView) -> Row:
        from logbook.app.widgets.calibration_words import verdict_role
        from logbook.cases.calibration_view import instrument_name
        from logbook.reports.calibration_tables import VERDICT_SIGNS, percent_of_span

        tolerance = view.tolerance_percent
        role = verdict_role(view)
        return Row(
            view.calibration.id,
            (
                one(showing.day(view.calibration.calibrated_at, self.book.zone), "strong"),
                one(instrument_name(view.calibration)),
                one(percent_of_span(view.figures.worst_percent)),
                one("" if tolerance is None else f"{tolerance:.2f} %", "quiet"),
                one(f"{VERDICT_SIGNS[view.verdict]} {view.verdict}", role),
                one(("⚠ " if view.overdue else "") + (view.calibration.due_on or ""), role),
                one(view.cell.name, "quiet"),
            ),
        )

    def key_words(self, key: Key) -> str | None:
        """Nothing to draw without a calibration."""
        if key.id == "calibrations.picture" and not self._found:
            return None
        return key.words

    def on_rows_moved(self, message: Rows.Moved) -> None:
        """Another one is chosen."""
        self._show_chosen()

    def _show_chosen(self) -> None:
        row = self.query_one(Rows).current
        key = row.key if row is not None else None
        chosen = next((view for view in self._found if view.calibration.id == key), None)
        self.query_one(CalibrationPane).put(chosen)

    def action_picture(self) -> None:
        """What is left over of the line, of the parabola, of the reference."""
        self.query_one(CalibrationPane).turn()

    def action_add(self) -> None:
        """Take a calibration down."""
        from logbook.app.screens.calibration_form import CalibrationForm

        self.app.push_screen(CalibrationForm())
