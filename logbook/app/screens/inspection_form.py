"""Taking an inspection down, and adding a clearance to one."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.screens.form import Form
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.entries import SectionLine
from logbook.app.widgets.field import TextEntry
from logbook.cases.field_lists import INSPECTION_FIELDS, by_key
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.engine import Engine
    from logbook.records.inspection import Inspection

_SECTIONS = (
    ("When and who", ("date", "kind", "who")),
    ("Cylinders: 1 first, blanks between, - for none", ("leak-down", "cranking", "plugs")),
    ("Lash: one value stands for all", ("lash-intake-hot", "lash-exhaust-hot", "lash-hot-at",
                                        "lash-intake-cold", "lash-exhaust-cold", "lash-cold-at")),
    ("More", ("filter-cut", "note")),
)  # fmt: skip


class InspectionForm(RecordForm[None]):
    """A new inspection of the newest build, or the correction of one."""

    place = "inspection"
    BINDINGS = bindings("inspection")
    record_fields = INSPECTION_FIELDS

    def __init__(self, engine: Engine, inspection: Inspection | None) -> None:
        super().__init__(f"inspection-{inspection.id if inspection else engine.id}")
        self._engine, self._inspection = engine, inspection
        self.title_words = (
            f"Inspection of {engine.tag}, {showing.date_words(inspection.inspected_on)}"
            if inspection
            else f"Inspect {engine.tag}"
        )

    def entries(self) -> ComposeResult:
        """By section; anything may stay empty."""
        fields = by_key(INSPECTION_FIELDS)
        for title, keys in _SECTIONS:
            yield SectionLine(title)
            yield from filled([fields[key] for key in keys], self._inspection, self.book.units)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Enter or correct it."""
        touched, units = self.touched(), self.book.units
        tag, inspection = self._engine.tag, self._inspection

        def job(desk: Desk) -> str:
            from logbook.cases.inspections import add_inspection, change_inspection

            if inspection is None:
                add_inspection(desk, tag, touched, units=units)
                return f"Inspection of {tag} entered"
            change_inspection(desk, inspection.id, touched, units=units)
            return f"Inspection of {tag} corrected"

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"{result}. u takes it back.")


class ClearanceForm(Form[None]):
    """A clearance measured against its limit."""

    place = "clearance"
    BINDINGS = bindings("clearance")

    def __init__(self, inspection: Inspection) -> None:
        super().__init__(f"clearance-{inspection.id}")
        self._inspection = inspection
        self.title_words = f"A clearance of the inspection of {inspection.inspected_on}"

    def entries(self) -> ComposeResult:
        """What, where, how much, against what."""
        from logbook import quantities
        from logbook.records.inspection import VERDICTS

        unit = quantities.display_unit("clearance", self.book.units)
        yield TextEntry("name", "Clearance", hint="such as main bearing")
        yield TextEntry("place", "Where", hint="such as main 3")
        yield TextEntry("measured", "Measured", unit=unit)
        yield TextEntry("limit", "Limit", unit=unit, hint="0.0015..0.0030, or ..0.0030")
        yield ChoiceEntry("verdict", "Verdict", ("", *VERDICTS),
                          words=("as the limit says", *VERDICTS))  # fmt: skip
        yield TextEntry("note", "Note", wide=True)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Add it."""
        typed, units = self.touched(), self.book.units
        inspection_id = self._inspection.id

        def job(desk: Desk) -> str:
            from logbook.cases.inspections import ClearanceEntry, change_inspection

            entry = ClearanceEntry(
                name=typed.get("name", ""),
                measured=typed.get("measured", ""),
                place=typed.get("place", ""),
                limit=typed.get("limit", ""),
                verdict=typed.get("verdict", ""),
                note=typed.get("note", ""),
            )
            change_inspection(desk, inspection_id, {}, clearances=[entry], units=units)
            return entry.name

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"{result} added. u takes it back.")
