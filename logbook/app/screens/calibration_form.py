"""Taking a calibration down: pairs as they were read, weights or references, tolerance, due."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import bindings
from logbook.app.messages import Got
from logbook.app.screens.form import Form
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.entries import Entries, SectionLine
from logbook.app.widgets.field import Entry, TextEntry
from logbook.app.widgets.lines import Text
from logbook.cases.calibration_view import calibration_day
from logbook.records.calibration import INSTRUMENTS, LOAD_CELL

if TYPE_CHECKING:
    from logbook.cases.calibration_view import CalibrationView
    from logbook.cases.calibrations import CalibrationEntry
    from logbook.cases.desk import Desk
    from logbook.records.cell import Cell

_UNIT_KINDS = {LOAD_CELL: "torque", "barometer": "pressure", "thermometer": "temperature",
               "fuel meter": "mass_flow"}  # fmt: skip
_WEIGHTS = ("", "kg", "lb")


class CalibrationForm(Form[str]):
    """A calibration of an instrument of a cell, the one named to begin with; what the pairs come
    to stands at the foot as they are typed."""

    place = "calibration"
    BINDINGS = bindings("calibration")
    title_words = "A calibration"

    def __init__(self, cell_name: str | None = None) -> None:
        super().__init__(f"calibration-{cell_name or 'any'}")
        self._cell_name = cell_name

    def content(self) -> ComposeResult:
        """The form, and what it comes to."""
        yield from super().content()
        yield Text(id="verdict")

    def begin(self) -> None:
        """Read the cells first."""

        def job(desk: Desk) -> list[Cell]:
            from logbook.cases.engines import list_cells

            return list_cells(desk)

        self.ask("start", job, Got)

    def got(self, lane: str, result: object) -> None:
        """The form can be laid out."""
        if lane == "start":
            self._lay_out(cast("list[Cell]", result))
        elif lane == "check":
            errors, words = cast("tuple[dict[str, str], str]", result)
            self.show_errors(errors)
            self.query_one("#verdict", Text).put(((f" {words}", "strong"),))
        else:
            super().got(lane, result)

    def _lay_out(self, cells: list[Cell]) -> None:
        if not cells:
            self.dismiss(None)
            self.book.say("A calibration belongs to a cell: enter the cell first.", "caution")
            return
        names = [cell.name for cell in cells]
        unit = quantities.display_unit(_UNIT_KINDS[LOAD_CELL], self.book.units)
        entries: list[Entry | SectionLine] = [
            ChoiceEntry("instrument", "Instrument", INSTRUMENTS, LOAD_CELL),
            TextEntry("which", "Which of its kind", hint="where there are several"),
            TextEntry("unit", "Unit it reads in", unit),
            SectionLine("Reference and reading, pair by pair, in the order they were taken"),
            TextEntry("pairs", "Pairs", wide=True, hint="0:0.1 100:100.2 200:200.3 100:100.1"),
            ChoiceEntry("weights", "References are", _WEIGHTS, "",
                        words=("in that unit", "kg on the arm", "lb on the arm")),
            TextEntry("arm", "Arm of the weights", hint="else the cell's, such as 1000 mm"),
            TextEntry("latitude", "Latitude of the cell", unit="°",
                      hint="gravity is computed from it and the altitude"),
            TextEntry("gravity", "Gravity, surveyed", hint="in m/s², goes before the latitude"),
            TextEntry("zero-before", "Zero before", hint="reading with nothing on"),
            TextEntry("zero-after", "Zero after"),
            SectionLine("What is asked of it"),
            TextEntry("tolerance", "Tolerance", hint="0.2 % of span, or in the unit"),
            TextEntry("due", "Due again", hint="a date, 6 months, 1 year"),
            TextEntry("at", "Taken on", hint="such as 2026-03-01; now if empty"),
            TextEntry("who", "By", hint="you if empty"),
            TextEntry("note", "Note", wide=True),
        ]  # fmt: skip
        wanted = self._cell_name if self._cell_name in names else names[0]
        cell = ChoiceEntry("cell", "Cell", names, wanted)
        self.query_one("#entries", Entries).mount_all([cell, *entries])
        super().begin()

    def edited(self, entry: Entry) -> None:
        """Another instrument reads in another unit."""
        unit = self.entry("unit")
        if entry.key == "instrument" and unit is not None:
            usual = {quantities.display_unit(k, self.book.units) for k in _UNIT_KINDS.values()}
            if unit.value in usual:
                kind = _UNIT_KINDS[entry.value]
                unit.set_value(quantities.display_unit(kind, self.book.units))
        super().edited(entry)

    def check(self) -> None:
        """Every text can be read; if so, what they come to."""
        given = {entry.key: entry.value.strip() for entry in self.all_entries()}

        def job(desk: Desk) -> tuple[dict[str, str], str]:
            errors = errors_in(given)
            return errors, "" if errors or not given["pairs"] else come_to(desk, given)

        self.ask("check", job, Got)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Take it down."""
        given = {entry.key: entry.value.strip() for entry in self.all_entries()}
        if not given.get("pairs"):
            self.notice("A calibration needs its pairs, such as 0:0.1 100:100.2.", "error")
            return None

        def job(desk: Desk) -> str:
            from logbook.cases.calibrations import add_calibration
            from logbook.reports.calibration_tables import verdict_words

            made = add_calibration(desk, *entry_of(given))
            said = [verdict_words(made), *(caution.text for caution in made.cautions)]
            return ". ".join(said)

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"Calibration taken down: {result}. u takes it back.")


def entry_of(given: Mapping[str, str]) -> tuple[str, CalibrationEntry]:
    """(cell, entry) of what stands in the form."""
    from logbook.cases.calibrations import CalibrationEntry

    typed = {key.replace("-", "_"): text for key, text in given.items() if key != "cell"}
    return given["cell"], CalibrationEntry(**typed)


def come_to(desk: Desk, given: Mapping[str, str]) -> str:
    """The verdict on what is typed, or why there is none yet."""
    from logbook.cases.calibrations import preview_calibration
    from logbook.refusals import Refusal
    from logbook.reports.calibration_tables import figure_lines, verdict_words

    try:
        view = preview_calibration(desk, *entry_of(given))
    except Refusal as refusal:
        return refusal.sentence
    figures = dict(figure_lines(view))
    return f"{verdict_words(view)}, worst {figures['Worst reading']}"


class CalibrationCorrection(ShortForm[None]):
    """Its name, tolerance, due day and note; the pairs stay as they were taken."""

    place = "calibration correction"
    BINDINGS = bindings("calibration correction")

    def __init__(self, view: CalibrationView) -> None:
        found = view.calibration
        super().__init__(
            f"calibration-of-{found.id}",
            f"Calibration of the {found.instrument}, {calibration_day(view)}",
        )
        self._found = found

    def entries(self) -> ComposeResult:
        """What stands there."""
        typed: Mapping[str, str] = self._found.typed
        yield TextEntry("which", "Which of its kind", self._found.which)
        yield TextEntry("tolerance", "Tolerance", typed.get("tolerance", ""))
        yield TextEntry("due", "Due again", typed.get("due_on", ""))
        yield TextEntry("note", "Note", self._found.notes, wide=True)

    def save_job(self) -> Callable[[Desk], str]:
        """Correct it."""
        touched, calibration_id = self.touched(), self._found.id

        def job(desk: Desk) -> str:
            from logbook.cases.calibrations import change_calibration

            return change_calibration(
                desk, calibration_id, which=touched.get("which"),
                tolerance=touched.get("tolerance"), due=touched.get("due"),
                note=touched.get("note"),
            ).verdict  # fmt: skip

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"Calibration corrected: {result}. u takes it back.")


def errors_in(given: Mapping[str, str]) -> dict[str, str]:
    """A sentence for every text that cannot be read. Runs in a worker."""
    from datetime import date

    from logbook.cases.calibration_pairs import (
        read_due,
        read_pairs,
        read_tolerance,
        unit_kind,
    )
    from logbook.refusals import Refusal

    errors: dict[str, str] = {}
    unit, kind = "", ""

    def tried(key: str, read: Callable[[str], object]) -> object | None:
        if given.get(key):
            try:
                return read(given[key])
            except Refusal as refusal:
                errors[key] = refusal.sentence
        return None

    found = tried("unit", lambda text: unit_kind(given["instrument"], text))
    if found is not None:
        unit, kind = cast("tuple[str, str]", found)
        tried("tolerance", lambda text: read_tolerance(text, unit, kind))
    tried("pairs", read_pairs)
    tried("due", lambda text: read_due(text, date.min))
    return errors
