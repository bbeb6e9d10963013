"""Correcting what was written for a finished pull; the old values stay in the audit trail."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.judged_anew import done_and_told
from logbook.app.keys import bindings
from logbook.app.screens.pull_form_parts import FACTOR, factor_entry
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.entries import SectionLine
from logbook.app.widgets.field import Entry, TextEntry
from logbook.cases.field_lists import PEAK_FIELDS, READING_FIELDS
from logbook.records.pull import PEAKS

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.results import PullRow

WHY = "why"


class CorrectForm(RecordForm[None]):
    """Set-up, peaks and readings of one pull, and why they are corrected."""

    place = "correct"
    BINDINGS = bindings("correct")
    record_fields = (*PEAK_FIELDS, *READING_FIELDS)

    def __init__(self, row: PullRow) -> None:
        super().__init__(f"correct-{row.pull.id}")
        self._row = row
        self.title_words = f"Correct pull {row.pull.number}: the old values are kept"

    def entries(self) -> ComposeResult:
        """Why first: nothing is corrected without a reason."""
        row, units = self._row, self.book.units
        yield TextEntry(WHY, "Why", wide=True)
        yield SectionLine("Set-up")
        for name, level in row.setup.levels.items():
            yield factor_entry(name, level.text, level.text, ())
        if row.pull.kind == PEAKS:
            yield SectionLine("Result")
            yield from filled(PEAK_FIELDS, row.pull, units)
        yield SectionLine("Beside it")
        yield from filled(READING_FIELDS, row.pull, units)

    def edited(self, entry: Entry) -> None:
        """What it was stands beside it."""
        super().edited(entry)
        if entry.key != WHY and not entry.error:
            entry.say(mark=f"was {entry.initial or 'empty'}" if entry.touched else "")

    def save_job(self) -> Callable[[Desk], str] | None:
        """Correct it."""
        touched = self.touched()
        why = touched.pop(WHY, "").strip()
        if not touched:
            self.dismiss(None)
            return None
        if not why:
            self.notice("A finished pull is corrected only for a reason.", "error")
            self.focus_first()
            return None
        set_up = {
            key.removeprefix(FACTOR): text.strip() or None
            for key, text in touched.items()
            if key.startswith(FACTOR)
        }
        fields = {key: text for key, text in touched.items() if not key.startswith(FACTOR)}
        pull, units = self._row.pull, self.book.units

        def job(desk: Desk) -> str:
            from logbook.cases.pulls import change_pull

            return done_and_told(
                desk,
                pull.session_id,
                units,
                f"Pull {pull.number} corrected: {why}. u takes it back.",
                lambda: change_pull(desk, pull.id, fields, set_up=set_up, units=units, why=why),
            )

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(str(result))
