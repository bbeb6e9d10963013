"""The plan of a session: what is to be pulled next and why; and the form that makes one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.timer import Timer

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.engineer import JudgedPane, JudgedScreen
from logbook.app.screens.form import Form
from logbook.app.widgets.entries import Entries
from logbook.app.widgets.field import Entry, TextEntry
from logbook.app.widgets.ink import one, wrap
from logbook.app.widgets.lines import Text

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.plan import PlanView
    from logbook.cases.plan_changes import PlanChange

BUDGET = "budget"
HARD = "!"  # at the end of a change: hard to make
WAIT = 0.25  # seconds without a key before a plan is worked out


@dataclass(frozen=True, slots=True)
class PlanStart:
    """What a plan is typed with: the engine's tag, factors known to the shop, and how many pulls
    the session's own budget has left (``None``: it has none)."""

    tag: str
    known: tuple[str, ...]
    left: int | None


class PlanScreen(JudgedScreen):
    """An accepted plan. Answers whether its next pull is to be set up."""

    place = "plan"
    title_words = "Plan"
    BINDINGS = bindings("plan")

    def __init__(self, session_id: str, start: PlanStart) -> None:
        super().__init__(session_id, start.tag)
        self._start = start
        self._view: PlanView | None = None

    def reload(self) -> None:
        """Tick off what has been pulled."""
        session_id = self.session_id

        def job(desk: Desk) -> PlanView | None:
            from logbook.cases.plan import plan_view

            return plan_view(desk, session_id)

        self.ask("judged", job, Got, "looking at the plan")

    def got(self, lane: str, result: object) -> None:
        """Show it; without a plan (it was undone) there is nothing to see here."""
        if lane == "withdraw":
            self.dismiss(None)
            self.book.say(str(result))
            return
        view = cast("PlanView | None", result)
        if view is None:
            if self.is_current:
                self.dismiss(None)
            return
        from logbook.app.widgets.plan_words import NEXT, plan_lines

        first, self._view = self._view is None, view
        pane = self.query_one(JudgedPane)
        pane.put(lambda width: plan_lines(view, width, self.book.units))
        self.refresh_keys()
        if first:
            lines = pane.lines(self.size.width - 2, 0)
            at = next((i for i, line in enumerate(lines) if line and line[0][0][:1] == NEXT), 0)
            self.call_after_refresh(self._show_line, at)

    def _show_line(self, at: int) -> None:
        middle = self.query_one("#middle", VerticalScroll)
        if at >= middle.size.height:
            middle.scroll_to(y=at - middle.size.height // 2, animate=False)

    def key_words(self, key: Key) -> str | None:
        """Nothing is set up where nothing is left to pull, or an alarm bars it."""
        if key.id == "plan.take" and (self._view is None or self._view.next is None):
            return None
        return key.words

    def action_take(self) -> None:
        """Back to the session with the next pull set up."""
        if self._view is not None and self._view.next is not None:
            self.dismiss(True)

    def action_other(self) -> None:
        """The form, filled with what is in the plan."""
        changes = self._view.changes if self._view else ()
        self.app.push_screen(PlanForm(self.session_id, self._start, changes))

    def action_withdraw(self) -> None:
        """Take the plan out of the session."""
        session_id = self.session_id

        def job(desk: Desk) -> str:
            from logbook.cases.plan import withdraw_plan

            withdraw_plan(desk, session_id)
            return "Plan withdrawn. u brings it back."

        self.change("withdraw", job, Got)


@dataclass(frozen=True, slots=True)
class Worked:
    """What was made of a form: the plan, or a sentence why there is none; and what is wrong with
    single lines, by key."""

    view: PlanView | None
    why: str
    errors: Mapping[str, str]


class PlanForm(Form[None]):
    """Changes to try and a pull budget; the plan they make stands below as they are typed."""

    place = "plan form"
    BINDINGS = bindings("plan form")
    DEFAULT_CSS = """
    PlanForm #entries { height: auto; max-height: 50%; }
    PlanForm #proposal { height: 1fr; border-top: solid $foreground; padding: 0 1;
                         scrollbar-size-vertical: 1; }
    """

    def __init__(
        self, session_id: str, start: PlanStart, changes: tuple[PlanChange, ...] = ()
    ) -> None:
        super().__init__(f"plan-{session_id}")
        self.session_id, self._start, self._changes = session_id, start, changes
        self._waiting: Timer | None = None

    def content(self) -> ComposeResult:
        """What to type, the lines, and the plan below them."""
        yield Text(id="head")
        with Entries(id="entries"):
            yield from self.entries()
        with VerticalScroll(id="proposal", can_focus=False):
            yield JudgedPane("", id="plan")

    def mounted(self) -> None:
        """The heading depends on the room."""
        super().mounted()
        said = (
            "What to try, each line a change from the baseline: timing 34. Several factors at"
            " once: timing 34, main jets 82."
        )
        title = ((f"A plan for {self._start.tag}", "strong"),)
        self.query_one("#head", Text).put(title, *wrap(said, self.size.width - 2, "quiet"))

    def entries(self) -> ComposeResult:
        """A line for each change and an empty one; the budget last."""
        for number, change in enumerate(self._changes, 1):
            text = ", ".join(f"{factor}={level}" for factor, level in change.set_up.items())
            yield self._line(number, f"{text} {HARD}" if change.hard else text)
        yield self._line(len(self._changes) + 1, "")
        left = self._start.left
        yield TextEntry(
            BUDGET,
            "Pulls to spend",
            str(left) if left is not None and left > 0 else "",
            hint=f"the session's budget leaves {left}"
            if left is not None
            else "baseline pulls too",
        )

    def _line(self, number: int, text: str) -> TextEntry:
        names = [f"{name} " for name in self._start.known]
        return TextEntry(f"change-{number}", f"Change {number}", text, wide=True, suggestions=names)

    def _lines(self) -> list[Entry]:
        return [entry for entry in self.all_entries() if entry.key != BUDGET]

    # -- as it is typed ----------------------------------------------------------------------

    def edited(self, entry: Entry) -> None:
        """A line more where the last is taken; the plan a moment after the last key."""
        self.call_later(self._room_for_one_more)
        self.keep_soon()
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(WAIT, self.check)

    async def _room_for_one_more(self) -> None:
        lines = self._lines()
        if lines[-1].value.strip():
            line, budget = self._line(len(lines) + 1, ""), self.entry(BUDGET)
            await self.query_one("#entries").mount(line, before=budget)

    def check(self) -> None:
        """Work the plan out from what is typed so far."""
        for entry in self._lines():
            hard = entry.value.strip().endswith(HARD)
            entry.say(error=entry.error, mark="hard to change: made once" if hard else "")
        texts, budget = self._typed()
        job = partial(_worked, self.session_id, texts, budget, self._start.known)
        self.ask("check", job, Got, "working the plan out")

    def _typed(self) -> tuple[dict[str, str], str]:
        """The lines that are not empty, by key, and the budget."""
        texts = {entry.key: entry.value.strip() for entry in self._lines()}
        budget = self.entry(BUDGET)
        return {k: text for k, text in texts.items() if text}, budget.value if budget else ""

    def got(self, lane: str, result: object) -> None:
        """The plan of what is typed, and what is wrong."""
        if lane != "check":
            super().got(lane, result)
            return
        worked, units = cast("Worked", result), self.book.units
        self.show_errors(worked.errors)
        pane, view = self.query_one(JudgedPane), worked.view
        if view is None:
            pane.put(lambda width: wrap(worked.why, width, "quiet") if worked.why else [one("")])
            return
        from logbook.app.widgets.plan_words import proposal_lines

        pane.put(lambda width: proposal_lines(view, width, units))

    def show_errors(self, errors: Mapping[str, str]) -> None:
        """Each beside its line; what is hard to change stays marked."""
        for entry in self._lines():
            hard = entry.value.strip().endswith(HARD)
            mark = "hard to change: made once" if hard else ""
            entry.say(error=errors.get(entry.key, ""), mark=mark)

    def action_hard(self) -> None:
        """Mark the change in focus as hard to make, or as easy again."""
        lines = self.all_entries()
        at = self.place_of_focus(lines)
        if at < 0 or lines[at].key == BUDGET or not lines[at].value.strip():
            self.notice("A change is marked as hard to make on its own line.", "quiet")
            return
        text = lines[at].value.strip()
        marked = text.endswith(HARD)
        lines[at].set_value(text.rstrip(f"{HARD} ") if marked else f"{text} {HARD}")

    def action_page(self, by: int) -> None:
        """Up and down in the plan."""
        self.query_one("#proposal", VerticalScroll).scroll_relative(y=by, animate=False)

    # -- drafts and saving -------------------------------------------------------------------

    def draft_words(self, kept: Mapping[str, str]) -> str:
        """Lines that are not on the form yet are named too."""
        words = {key.replace("change-", "Change "): text for key, text in kept.items()}
        return super().draft_words(words)

    def take_draft(self, kept: Mapping[str, str]) -> None:
        """The lines that a draft needs are made first."""
        self.call_later(self._take_draft, dict(kept))

    async def _take_draft(self, kept: dict[str, str]) -> None:
        for key in kept:
            if self.entry(key) is None and key.startswith("change-"):
                line = self._line(int(key.removeprefix("change-")), "")
                await self.query_one("#entries").mount(line, before=self.entry(BUDGET))
        super().take_draft(kept)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Accept what is typed."""
        texts, budget = self._typed()
        if not texts:
            self.notice("A plan needs something to try, such as timing 34.", "error")
            return None
        session_id, known = self.session_id, self._start.known

        def job(desk: Desk) -> str:
            from logbook.cases.plan import accept_plan, propose_plan

            changes = [_read(text, known) for text in texts.values()]
            view = propose_plan(desk, session_id, changes, _number(budget))
            accept_plan(desk, session_id, view)
            first = view.next.name if view.next else "none"
            return (
                f"Plan of {len(view.lines)} pulls accepted, first {first}: d sets it up, n shows"
                " the plan, u takes it back."
            )

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(str(result))


def _read(text: str, known: tuple[str, ...]) -> PlanChange:
    from logbook.cases.plan_changes import PlanChange, read_change

    hard = text.endswith(HARD)
    return PlanChange(read_change(text.rstrip(f"{HARD} ") if hard else text, known), hard)


def _number(text: str) -> int:
    from logbook.refusals import BadInput

    if not text.strip().isdecimal() or len(text.strip()) > 4:
        raise BadInput("not a number of pulls", where="Pulls to spend", wanted="such as 12")
    return int(text)


def _worked(
    session_id: str, texts: Mapping[str, str], budget: str, known: tuple[str, ...], desk: Desk
) -> Worked:
    """The plan of what is typed so far; never raises for what was typed. Runs in a worker."""
    from logbook.cases.plan import propose_plan
    from logbook.refusals import Refusal

    errors, changes = {}, []
    for key, text in texts.items():
        try:
            changes.append(_read(text, known))
        except Refusal as refusal:
            errors[key] = refusal.sentence.removeprefix("Change: ")
    if errors or not changes:
        return Worked(None, "", errors)
    if not budget.strip():
        return Worked(None, "How many pulls are there?", errors)
    try:
        return Worked(propose_plan(desk, session_id, changes, _number(budget)), "", errors)
    except Refusal as refusal:
        return Worked(None, refusal.sentence, errors)
