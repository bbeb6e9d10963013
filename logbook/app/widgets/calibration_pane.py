"""The chosen calibration: its words, and what is left over, drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.app.widgets.ink import Line
from logbook.app.widgets.lines import Lines

if TYPE_CHECKING:
    from logbook.cases.calibration_view import CalibrationView


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
