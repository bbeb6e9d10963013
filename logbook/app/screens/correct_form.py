"""Correcting what was written for a finished pull; the old values stay in the audit trail."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.judged_anew import done_and_told
from logbook.app.keys import bindings
from logbook.app.screens.pull_form_parts import FACTOR, factor_entry, unset_entries
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.entries import SectionLine
from logbook.app.widgets.field import TextEntry
from logbook.cases.field_lists import PEAK_FIELDS, READING_FIELDS
from logbook.cases.fields import SUGGESTED_FACTORS
from logbook.records.pull import PEAKS
from logbook.records.setup import factor_key

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
        self._levels = {name: level.text for name, level in row.setup.levels.items()}
        self.title_words = f"Correct pull {row.pull.number}: the old values are kept"

    def entries(self) -> ComposeResult:
        """Why first: nothing is corrected without a reason."""
        row, units = self._row, self.book.units
        yield TextEntry(WHY, "Why", wide=True)
        yield SectionLine("Set-up")
        for name, level in row.setup.levels.items():
            yield factor_entry(name, level.text, level.text, ())
        yield from unset_entries(row.setup.levels, ())
        if row.pull.kind == PEAKS:
            yield SectionLine("Result")
            yield from filled(PEAK_FIELDS, row.pull, units)
        yield SectionLine("Beside it")
        yield from filled(READING_FIELDS, row.pull, units)

    def action_factor(self) -> None:
        """Name a factor that was not written down."""
        from logbook.app.screens.factor_form import FactorForm

        async def named(factor: tuple[str, str] | None) -> None:
            if factor is not None:
                await self._take_factor(*factor)

        self.app.push_screen(FactorForm((*self._levels, *SUGGESTED_FACTORS)), named)

    async def _take_factor(self, name: str, text: str) -> None:
        here = {factor_key(e.key.removeprefix(FACTOR)): e for e in self.all_entries()
                if e.key.startswith(FACTOR)}  # fmt: skip
        entry = here.get(factor_key(name))
        if entry is None:
            entry = factor_entry(name, "", "", ())
            await self.query_one("#entries").mount(entry, before=self.query(SectionLine)[1])
        entry.set_value(text)

    def take_draft(self, kept: Mapping[str, str]) -> None:
        """Factors that were named are put back first."""
        self.call_later(self._take_draft, dict(kept))

    async def _take_draft(self, kept: Mapping[str, str]) -> None:
        for key, text in kept.items():
            if key.startswith(FACTOR):
                await self._take_factor(key.removeprefix(FACTOR), text)
        super().take_draft(kept)

    def show_errors(self, errors: Mapping[str, str]) -> None:
        """Errors, or what it was, beside each field."""
        for entry in self.all_entries():
            was = f"was {entry.initial or 'empty'}" if entry.touched and entry.key != WHY else ""
            entry.say(error=errors.get(entry.key, ""), mark=was)

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
