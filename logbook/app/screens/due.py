"""What is due on an engine: after so many pulls, minutes or days."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.confirm import ConfirmScreen
from logbook.app.screens.detail import DetailScreen
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.field import TextEntry
from logbook.app.widgets.ink import Line, one, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.cases.field_lists import DUE_FIELDS
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.due import DueState
    from logbook.records.due_mark import DueMark

    Found = tuple[list[DueState], list[str]]

EMPTY = "No due mark yet: n sets one, such as oil after 25 pulls."
_WHAT, _BUILD, _SINCE = "what", "build", "since"


class DueScreen(DetailScreen[None]):
    """The marks, the most used up first."""

    place = "due"
    BINDINGS = bindings("due")
    heading = "Due"

    def __init__(self, tag: str) -> None:
        super().__init__()
        self._tag = tag
        self._states: dict[str, DueState] = {}
        self._labels: list[str] = []

    def columns(self) -> Sequence[Column]:
        """What, and how far."""
        return (
            Column("", 6),
            Column("What", 20),
            Column("Build", 10),
            Column("Used up", 0),
            Column("Counted since", 14, least=100),
        )

    def reload(self) -> None:
        """Count."""
        tag = self._tag

        def job(desk: Desk) -> Found:
            from logbook.cases.builds import list_builds
            from logbook.cases.due import list_due

            return list_due(desk, tag), [build.label for build in list_builds(desk, tag)]

        self.ask("due", job, Got)

    def got(self, lane: str, result: object) -> None:
        """Show them."""
        if lane != "due":
            self.notice(str(result))
            return
        found, self._labels = cast("Found", result)
        self._states = {state.mark.id: state for state in found}
        self.query_one("#head", Text).put(((f"Due on {self._tag}", "strong"),))
        rows = self.query_one(Rows)
        rows.empty = EMPTY
        rows.put([self._row(state) for state in found])
        self.show_chosen()

    def _row(self, state: DueState) -> Row:
        from logbook.reports.filed import due_sign, used_words

        role = "caution" if state.is_due or state.is_soon else "gain"
        return Row(
            state.mark.id,
            (
                one(due_sign(state), role),
                one(state.mark.what, "strong"),
                one(state.build.label if state.build else ""),
                one(used_words(state)),
                one(showing.day(state.mark.since_at, self.book.zone), "quiet"),
            ),
        )

    def detail(self, key: str | None, width: int) -> Sequence[Line]:
        """The mark in a sentence."""
        from logbook.reports.filed import used_words

        state = self._states.get(key or "")
        if state is None:
            return ()
        since = showing.day(state.mark.since_at, self.book.zone)
        lines = wrap(f"{state.mark.what}: {used_words(state)} since {since}.", width)
        if state.mark.notes:
            lines += wrap(state.mark.notes, width, "quiet")[:4]
        return lines

    def key_words(self, key: Key) -> str | None:
        """Nothing to do without a mark."""
        if key.id in ("due.done", "due.edit", "due.drop") and self.chosen is None:
            return None
        return key.words

    def action_open(self) -> None:
        """It was done: count anew, once that was meant."""
        self._ask("done_due", "Done: count anew from now", "done", "u takes it back")

    def action_drop(self) -> None:
        """Take the mark away, once that was meant."""
        self._ask("drop_due", "Take the mark away", "take away", "u brings it back")

    def _ask(self, use_case: str, title: str, yes: str, undo: str) -> None:
        state = self._states.get(self.chosen or "")
        if state is None:
            return
        mark = state.mark

        def job(desk: Desk) -> str:
            from logbook.cases import due

            getattr(due, use_case)(desk, mark.id)
            return f"{mark.what}: {yes}. {undo}."

        def meant(sure: bool | None) -> None:
            if sure:
                self.write(job)

        self.app.push_screen(ConfirmScreen(title, mark.what, yes=yes), meant)

    def action_new(self) -> None:
        """Set a mark."""
        self.app.push_screen(DueForm(self._tag, None, self._labels))

    def action_edit(self) -> None:
        """Other limits for the mark chosen."""
        if (state := self._states.get(self.chosen or "")) is not None:
            self.app.push_screen(DueForm(self._tag, state.mark, self._labels))


class DueForm(RecordForm[None]):
    """A new mark, or other limits for one."""

    place = "due mark"
    BINDINGS = bindings("due mark")
    record_fields = DUE_FIELDS

    def __init__(self, tag: str, mark: DueMark | None, labels: Sequence[str]) -> None:
        super().__init__(f"due-{mark.id if mark else tag}")
        self._tag, self._mark, self._labels = tag, mark, labels
        self.title_words = f"{mark.what} of {tag}" if mark else f"What is due on {tag}"

    def entries(self) -> ComposeResult:
        """Whichever limit comes first counts."""
        if self._mark is None:
            yield TextEntry(_WHAT, "What", hint="such as oil, valve springs, rebuild")
        yield from filled(DUE_FIELDS[:-1], self._mark, self.book.units)
        if self._mark is None:
            yield ChoiceEntry(_BUILD, "Count the pulls of", ("", *self._labels),
                              words=("any build", *self._labels))  # fmt: skip
            yield TextEntry(_SINCE, "Counted since", hint="such as 2026-03-01; now if empty")
        yield from filled(DUE_FIELDS[-1:], self._mark, self.book.units)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Set or change it."""
        touched, units, mark, tag = self.touched(), self.book.units, self._mark, self._tag
        what, build = touched.pop(_WHAT, ""), touched.pop(_BUILD, "") or None
        since = touched.pop(_SINCE, "").strip()

        def job(desk: Desk) -> str:
            from logbook.cases.due import add_due, change_due

            if mark is None:
                add_due(desk, tag, what, touched, build=build, since=since, units=units)
                return what
            return change_due(desk, mark.id, touched, units=units).mark.what

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"{result} set. u takes it back.")
