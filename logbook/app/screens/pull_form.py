"""The next pull's form: carried forward, what is touched marked, what it means said at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult
from textual.containers import Vertical

from logbook.app import session_lines
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.next_pull import NextPull
from logbook.app.screens.pull_form_parts import (
    FACTOR,
    NUMBER,
    TRACE,
    Folded,
    factor_entry,
    reading_entries,
    said_lines,
    unset_entries,
)
from logbook.app.screens.pull_form_trace import TORQUE_STATE, TraceForm
from logbook.app.widgets.entries import Entries, SectionLine
from logbook.app.widgets.field import Entry
from logbook.app.widgets.lines import Text
from logbook.app.widgets.plan_words import set_words

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.form import EntryCheck, FormStart
    from logbook.cases.results import Logged, SessionView

TABLE = "table"


class PullForm(TraceForm):
    """Answers with the id and the number of the pull logged."""

    place = "pull form"
    BINDINGS = bindings("pull form")
    DEFAULT_CSS = """
    PullForm #said { height: auto; padding: 0 1; }
    PullForm #result { height: auto; }
    """

    def __init__(self, view: SessionView, start: FormStart, next_pull: NextPull) -> None:
        super().__init__(view.session.id, next_pull)
        self._view, self._start, self._next = view, start, next_pull
        self._unfolded = False
        self._check: EntryCheck | None = None
        self.title_words = f"Pull {start.number} of {view.engine.tag}"

    # -- layout ------------------------------------------------------------------------------

    def content(self) -> ComposeResult:
        """The heading, what there is to say, the entries."""
        before = max((row.pull.number for row in self._view.rows), default=0)
        if before:
            carried = f"  everything else as pull {before}"
        else:
            carried = "  set-up of this build's last pull" if self._start.set_up else ""
        yield Text(((self.title_words, "strong"), (carried, "quiet")), id="head")
        yield Text(id="said")
        with Entries(id="entries"):
            yield from self.entries()

    def entries(self) -> ComposeResult:
        """Set-up, result, readings."""
        units = self.book.units
        yield SectionLine("Set-up")
        for name, text in self._next.changed.items():
            yield factor_entry(name, text, self._next.was(name) or "", self._start.fuels)
        yield from unset_entries([*self._start.set_up, *self._next.changed], self._start.fuels)
        yield Folded(self)
        yield SectionLine("Result")
        with Vertical(id="result"):
            yield from self.result_entries()
        yield SectionLine("Beside it")
        yield from reading_entries(units, first=True)

    def folded_words(self) -> str:
        """The factors that are carried forward unchanged, in a line."""
        shown = {entry.key for entry in self.all_entries() if entry.display}
        return set_words(
            {name: text for name, text in self._start.set_up.items() if FACTOR + name not in shown}
        )

    def focus_first(self) -> None:
        """The first peak; with a trace, what its torque is."""
        entry = self.entry(TORQUE_STATE) or self.entry("peak-power")
        if entry is not None:
            self.go_to(entry)

    # -- checks ------------------------------------------------------------------------------

    def set_up(self) -> dict[str, str | None]:
        """The factors that are touched; ``None`` takes one away."""
        return {
            key.removeprefix(FACTOR): text.strip() or None
            for key, text in self.touched().items()
            if key.startswith(FACTOR)
        }

    def fields(self) -> dict[str, str]:
        """The readings and peaks that are touched."""
        return {
            key: text
            for key, text in self.touched().items()
            if not key.startswith(FACTOR) and key not in (TORQUE_STATE, TABLE)
        }

    def check(self) -> None:
        """Errors, cautions and whether this step will be a bundle."""
        session_id, set_up, fields = self._view.session.id, self.set_up(), self.fields()
        units = self.book.units

        def job(desk: Desk) -> EntryCheck:
            from logbook.cases.entry import PullEntry
            from logbook.cases.form import check_entry

            entry = PullEntry(session_id=session_id, set_up=set_up, fields=fields, units=units)
            return check_entry(desk, entry)

        self.ask("check", job, Got)

    def _show_check(self, check: EntryCheck) -> None:
        self._check = check
        for entry in self.all_entries():
            if entry.key == TORQUE_STATE and not entry.value:
                continue  # asked, and not answered yet
            name = entry.key.removeprefix(FACTOR)
            mark = ""
            if entry.key.startswith(FACTOR) and entry.touched:
                was = f"was {entry.initial}" if entry.initial else "new"
                mark = was if entry.value.strip() else f"{was}, taken away"
            entry.say(error=check.errors.get(name, ""), mark=mark)
        self._say()

    def _say(self) -> None:
        check, preview = self._check, self.preview
        cautions = [*(check.cautions if check else ()), *(preview.cautions if preview else ())]
        width = self.size.width - 2
        air = session_lines.air_lines(self._view, self.book.now(), self.book.units, width)
        self.query_one("#said", Text).put(*said_lines(check, cautions, self._view, width), *air)

    def got(self, lane: str, result: object) -> None:
        """The check of this form says more than errors."""
        if lane == "check":
            self._show_check(cast("EntryCheck", result))
        else:
            super().got(lane, result)

    # -- folding and naming ------------------------------------------------------------------

    async def action_unfold(self) -> None:
        """Every field, or only what matters now."""
        self._unfolded = not self._unfolded
        await self._mount_missing()
        usual = {entry.key for entry in reading_entries(self.book.units, first=True)}
        for entry in self.all_entries():
            inside = entry.parent is not None and entry.parent.id == "result"
            unset = entry.key.startswith(FACTOR) and not entry.initial
            kept = inside or unset or entry.key in usual or entry.touched
            entry.display = self._unfolded or kept
        self.query_one(Folded).redraw(layout=True)

    async def _mount_missing(self) -> None:
        have = {entry.key for entry in self.all_entries()}
        folded = self.query_one(Folded)
        missing = [
            factor_entry(name, text, text, self._start.fuels)
            for name, text in self._start.set_up.items()
            if FACTOR + name not in have
        ]
        if missing:
            await self.query_one("#entries").mount_all(missing, before=folded)
        more = [e for e in reading_entries(self.book.units, first=False) if e.key not in have]
        if more:
            await self.query_one("#entries").mount_all(more)

    def action_factor(self) -> None:
        """Name another factor."""
        from logbook.app.screens.factor_form import FactorForm

        async def named(factor: tuple[str, str] | None) -> None:
            if factor is not None:
                await self.take_factor(*factor)
                self.check()
                self.keep_soon()

        have = tuple(self._start.set_up)
        self.app.push_screen(FactorForm((*have, *self._start.suggestions)), named)

    async def take_factor(self, name: str, text: str) -> None:
        """Set a factor that may not be on the form yet."""
        entry = self.entry(FACTOR + name)
        if entry is None:
            entry = factor_entry(name, text, self._next.was(name) or "", self._start.fuels)
            await self.query_one("#entries").mount(entry, before=self.query_one(Folded))
        else:
            entry.display = True
            entry.set_value(text)
        self.query_one(Folded).redraw(layout=True)

    # -- drafts ------------------------------------------------------------------------------

    def draft(self) -> dict[str, str]:
        """What is touched, for which pull, and the file."""
        typed = self.touched()
        if self.trace is not None and self.landing_id is None:
            typed[TRACE] = str(self.trace)
        return {**typed, NUMBER: str(self._start.number)} if typed else {}

    def draft_words(self, kept: Mapping[str, str]) -> str:
        """For which pull, and what."""
        labels = {entry.key: entry.label for entry in self.all_entries()}
        names = {key: labels.get(key, key.removeprefix(FACTOR)) for key in kept}
        lines = [f"{names[key]}: {text[:60]}" for key, text in kept.items() if key != NUMBER]
        return "\n".join([f"For pull {kept.get(NUMBER, '')}:", *lines])

    def take_draft(self, kept: Mapping[str, str]) -> None:
        """Fields that are folded away are unfolded first."""
        self.call_later(self._take_draft, dict(kept))

    async def _take_draft(self, kept: Mapping[str, str]) -> None:
        if not {key for key in kept if not key.startswith(FACTOR)} <= {
            *(entry.key for entry in self.all_entries()), NUMBER, TRACE,
        }:  # fmt: skip
            await self.action_unfold()
        for key, text in kept.items():
            if key.startswith(FACTOR):
                await self.take_factor(key.removeprefix(FACTOR), text)
        if kept.get(TRACE) and Path(kept[TRACE]).is_file():
            await self.take_trace(Path(kept[TRACE]))
        super().take_draft(kept)

    # -- Enter and saving --------------------------------------------------------------------

    def key_words(self, key: Key) -> str | None:
        """Enter logs on the last peak, on the trace and on the last field."""
        if key.id == "form.enter":
            return key.words if self._after() is not None else f"log pull {self._start.number}"
        if key.id == "form.unfold":
            return "fold" if self._unfolded else key.words
        return key.words

    def _after(self) -> Entry | None:
        """The field Enter goes on to; ``None`` where it logs."""
        entries = self.shown_entries()
        at = self.place_of_focus(entries)
        if at < 0:
            return entries[0] if entries else None
        here = entries[at]
        if here.key.startswith(FACTOR):
            empty = entries[at + 1]
            unset = empty.key.startswith(FACTOR) and not empty.value
            return empty if unset else self.entry("peak-power")
        if here.key in ("at", TORQUE_STATE) or at + 1 >= len(entries):
            return None
        return entries[at + 1]

    def advance(self) -> None:
        """Go on, or log."""
        after = self._after()
        if after is not None:
            self.go_to(after)
        else:
            self.save_after_typing()

    def save_job(self) -> Callable[[Desk], tuple[str, int]] | None:
        """Log it."""
        session_id, set_up, fields = self._view.session.id, self.set_up(), self.fields()
        state = self.entry(TORQUE_STATE)
        if state is not None and not state.value:
            state.say(error="observed, or corrected already and to what? Asked once for such files")
            self.go_to(state)
            return None
        trace, landing_id, units = self.trace, self.landing_id, self.book.units
        table = self.touched().get(TABLE, "")
        read = self.preview
        samples = read.moved if read is not None else None
        part = read.part if read is not None and read.parts > 1 and not samples else None
        torque = state.value if state is not None else None

        def job(desk: Desk) -> tuple[str, int]:
            from logbook.cases.entry import PullEntry
            from logbook.cases.pulls import add_pull

            logged: Logged = add_pull(
                desk,
                PullEntry(
                    session_id=session_id, set_up=set_up, fields=fields, trace=trace,
                    landing_id=landing_id, part=part, samples=samples,
                    torque_state=torque, units=units,
                    steady_points="\n".join(table.split(";")) or None,
                ),
            )  # fmt: skip
            return logged.pull_id, logged.number

        return job

    def action_back(self) -> None:
        """What is set stays set for the next pull; the rest is kept as a draft."""
        for name, text in self.set_up().items():
            self._next.set(name, text or "")
        self._next.trace, self._next.preview = self.trace, self.preview
        self._next.landing_id = self.landing_id
        super().action_back()
