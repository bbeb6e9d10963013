"""The cell's sheet: altitude, time zone, standard, units."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from logbook.app.keys import bindings
from logbook.app.messages import Got
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.entries import Entries
from logbook.app.widgets.field import TextEntry
from logbook.app.widgets.lines import Text
from logbook.cases.field_lists import CELL_FIELDS

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.cell import Cell

NAME, STANDARD = "name", "standard"


class CellForm(RecordForm[None]):
    """A cell of the book, the first where none is named; a new one where there is none, or with
    `new`."""

    place = "cell"
    BINDINGS = bindings("cell")
    record_fields = CELL_FIELDS
    title_words = "The cell"

    def __init__(self, name: str | None = None, *, new: bool = False) -> None:
        super().__init__(f"cell-{'new' if new else name or 'first'}")
        self._name, self._new = name, new
        self._cell: Cell | None = None

    def begin(self) -> None:
        """Read the cell first."""
        name, new = self._name, self._new

        def job(desk: Desk) -> Cell | None:
            from logbook.cases.engines import list_cells

            cells = [] if new else list_cells(desk)
            named = [cell for cell in cells if cell.name == name]
            return next(iter(named or cells), None)

        self.ask("start", job, Got)

    def got(self, lane: str, result: object) -> None:
        """The form can be laid out."""
        if lane == "start":
            self._lay_out(cast("Cell | None", result))
        else:
            super().got(lane, result)

    def _lay_out(self, cell: Cell | None) -> None:
        from logbook.engineering.correction import STANDARDS

        self._cell = cell
        entries = filled(CELL_FIELDS, cell, self.book.units)
        standard = ChoiceEntry(
            STANDARD, "Standard", tuple(STANDARDS), cell.standard if cell else "sae-j1349",
            words=[one.name for one in STANDARDS.values()],
        )  # fmt: skip
        if cell is None:
            entries.insert(0, TextEntry(NAME, "Name", "Cell 1"))
        else:
            self.query_one("#head", Text).put((("Sheet of ", "strong"), (cell.name, "strong")))
        self.query_one("#entries", Entries).mount_all([*entries, standard])
        super().begin()

    def save_job(self) -> Callable[[Desk], str] | None:
        """Enter or correct it."""
        touched = self.touched()
        standard = touched.pop(STANDARD, None)
        name = touched.pop(NAME, "Cell 1")
        cell, units = self._cell, self.book.units

        def job(desk: Desk) -> str:
            from logbook.cases.engines import add_cell, change_cell

            if cell is None:
                return add_cell(desk, name, touched, standard=standard, units=units).name
            return change_cell(desk, cell.name, touched, standard=standard, units=units).name

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"Sheet of {result} saved. u takes it back.")
