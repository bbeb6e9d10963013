"""The heart: a session's pulls, the answer for the chosen one, and the next pull."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult
from textual.containers import Horizontal

from logbook.app import session_lines
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got, Landed, PullAnswered, SessionJudged
from logbook.app.screens.session_trace import SessionTrace
from logbook.app.widgets.answer import BOTH, DIFFERENCE, OVERLAY, AnswerPane
from logbook.app.widgets.ink import Line
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Rows
from logbook.records.session import CLOSED

if TYPE_CHECKING:
    from logbook.cases.closing import Closing
    from logbook.cases.desk import Desk
    from logbook.cases.form import EntryCheck, FormStart
    from logbook.cases.plan import PlanProgress
    from logbook.cases.results import AnswerView, PullRow, SessionView
    from logbook.records.caution import Caution
    from logbook.records.landing import Landing

_NEEDS_PULL = frozenset(
    {"session.exclude", "session.compare", "session.baseline", "session.correct", "session.curve"}
)
_NEEDS_OPEN = frozenset(
    {"session.enter", "session.more", "session.less", "session.fuel", "session.peaks",
     "session.file", "session.air"}
)  # fmt: skip


class SessionScreen(SessionTrace):
    """One session. Pulls newest first at the left, the answer at the right."""

    place = "session"
    shows_landings = True
    BINDINGS = bindings("session")
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012 - as Textual declares it
        (0, "-narrow"), (110, "-wide"), (170, "-broad"),
    ]  # fmt: skip
    DEFAULT_CSS = """
    SessionScreen #pulls { width: 32; }
    SessionScreen.-wide #pulls { width: 46; }
    SessionScreen.-broad #pulls { width: 66; }
    SessionScreen #middle { height: 1fr; border-top: solid $foreground; }
    SessionScreen #answer { border-left: solid $foreground; }
    SessionScreen #foot { height: auto; padding: 0 1; }
    """

    def __init__(self, session_id: str, pull_id: str | None = None) -> None:
        super().__init__()
        self.session_id = session_id
        self.wanted = pull_id
        self._cautions: tuple[Caution, ...] = ()
        self._safety = 0
        self._drafted = False

    @property
    def search_start(self) -> str:
        """A search begins within this engine."""
        return f'engine:"{self.view.engine.tag}" ' if self.view else ""

    def content(self) -> ComposeResult:
        """Header, list and answer, the next pull and the air."""
        yield Text(((" ", ""),), ((" ", ""),), id="head")
        with Horizontal(id="middle"):
            yield Rows(self.columns(), empty="No pull yet.", id="pulls")
            yield AnswerPane()
        yield Text(id="foot")

    def columns(self) -> tuple[Column, ...]:
        """The pulls' columns, in the units shown."""
        return session_lines.columns(self.book.units)

    def mounted(self) -> None:
        """Read the session, look for what was set and not logged."""
        super().mounted()
        drafts, key = self.book.drafts, self.draft_key
        if drafts is not None:
            self.book.work.aside(self, "draft", lambda: drafts.load(key), Got)

    def aged(self) -> None:
        """The air is older."""
        self._draw_foot()

    # -- reading -----------------------------------------------------------------------------

    def reload(self) -> None:
        """Judge the session anew."""
        session_id = self.session_id

        def job(
            desk: Desk,
        ) -> tuple[SessionView, FormStart, PlanProgress | None, int, list[Landing]]:
            from logbook.cases.form import form_start
            from logbook.cases.judge import session_view
            from logbook.cases.landing import waiting
            from logbook.cases.plan import plan_progress
            from logbook.cases.sessions import SAFETY_LIST

            view, start = session_view(desk, session_id), form_start(desk, session_id)
            plan = plan_progress(desk, session_id)
            return view, start, plan, len(SAFETY_LIST), waiting(desk)

        self.ask("session", job, lambda t, got: SessionJudged(t, *got), "judging the session")

    def on_session_judged(self, message: SessionJudged) -> None:
        """Show it, and ask for the answer of the chosen pull."""
        if self.stale(message):
            return
        self.view, self.start, self._safety = message.view, message.start, message.safety
        self.plan = message.plan
        self.next.start_from(message.start.number, message.start.set_up)
        rows = self.query_one(Rows)
        rows.put(
            [session_lines.pull_row(row, self.view, self.book.units) for row in self.view.rows],
            keep=self.wanted,
        )
        self.wanted = None
        self._draw_head()
        self._ask_answer()
        self.waiting = message.waiting
        self.offer_landing()
        self.next_changed(keep=False)

    @property
    def ready(self) -> bool:
        """Until the session is there no key means anything."""
        return super().ready and self.view is not None

    def on_screen_resume(self) -> None:
        """Back in front: what has landed meanwhile is offered now."""
        self.offer_landing()

    def _ask_answer(self) -> None:
        row, session_id = self.query_one(Rows).current, self.session_id
        if row is None or self.view is None:
            self.query_one(AnswerPane).put(self.view, None, self.book.units)
            return
        pull_id = row.key

        def job(desk: Desk) -> AnswerView:
            from logbook.cases.judge import answer

            return answer(desk, session_id, pull_id)

        self.ask("answer", job, PullAnswered)

    def on_pull_answered(self, message: PullAnswered) -> None:
        """Show the answer, unless another pull has been chosen since."""
        if not self.stale(message):
            self.query_one(AnswerPane).put(self.view, message.view, self.book.units)

    def on_rows_moved(self) -> None:
        """Another pull."""
        self._ask_answer()
        self.refresh_keys()

    def on_resize(self) -> None:
        """The words depend on the room."""
        if self.view is not None:
            self._draw_head()
            self._draw_foot()

    def _draw_head(self) -> None:
        assert self.view is not None
        width = self.size.width - 2
        self.query_one("#head", Text).put(*session_lines.head_lines(self.view, self._safety, width))

    def _draw_foot(self) -> None:
        if self.view is None:
            return
        units, width = self.book.units, self.size.width - 2
        self.query_one("#foot", Text).put(
            *session_lines.next_lines(
                self.next,
                self.view,
                self._cautions,
                units,
                width,
                plan=self.plan,
                more=len(self.waiting) - bool(self.next.landing_id),
                watched=self.book.landings.watched,
                away=self.book.landings.away,
            ),
            *session_lines.air_lines(self.view, self.book.now(), units, width),
        )

    @property
    def chosen(self) -> PullRow | None:
        """The chosen pull."""
        row = self.query_one(Rows).current
        rows = self.view.rows if self.view else ()
        return next((r for r in rows if row is not None and r.pull.id == row.key), None)

    # -- the next pull -----------------------------------------------------------------------

    def next_changed(self, *, keep: bool = True) -> None:
        """Draw and check what is set for the next pull, and keep it."""
        self._draw_foot()
        self.refresh_keys()
        if keep:
            self.book.keep_draft(self, self.draft_key, self.next.kept())
        session_id, changed = self.session_id, dict(self.next.changed)
        if not changed:
            self._cautions = ()
            return

        def job(desk: Desk) -> EntryCheck:
            from logbook.cases.entry import PullEntry
            from logbook.cases.form import check_entry

            return check_entry(desk, PullEntry(session_id=session_id, set_up=changed))

        self.ask("check", job, Got)

    def got(self, lane: str, result: object) -> None:
        """What was set before a crash, what there is to say about it, or a thing that is done."""
        if lane == "draft" and isinstance(result, dict) and not self._drafted:
            self._drafted = True
            self.next.take(result)
            self._draw_foot()
            if (trace := self.next.trace_of(result)) is not None:
                self.post_message(Landed(trace))
        elif lane == "check":
            check = cast("EntryCheck", result)
            self._cautions = check.cautions if self.next.changed else ()
            self._draw_foot()
        elif lane == "close":
            self.ask_to_close(cast("Closing", result))
        elif lane == "compare":
            self.offer_compare(cast("list[tuple[str, Line]]", result))
        elif lane == "done":
            self.notice(str(result))

    # -- keys --------------------------------------------------------------------------------

    def key_words(self, key: Key) -> str | None:
        """What works depends on the session, the chosen pull and the waiting trace."""
        view, chosen = self.view, self.chosen
        if view is None or (key.id in _NEEDS_PULL and chosen is None):
            return None if key.id.startswith("session.") else key.words
        closed = view.session.status == CLOSED
        if closed and key.id in _NEEDS_OPEN:
            return None
        if key.id == "session.enter":
            asked = "name columns" if self.next.asked else "log the trace"
            return asked if self.next.trace else key.words
        if key.id == "session.columns" and self.next.trace is None:
            return None
        if key.id in {"session.more", "session.less"} and self.next.timing() is None:
            return None
        if key.id == "session.planned" and (closed or self.plan is None or not self.plan.next):
            return None
        if key.id == "session.fuel" and not (self.start and self.start.fuels):
            return None
        if key.id == "session.exclude" and chosen and chosen.pull.excluded_reason is not None:
            return "count again"
        if key.id == "session.drop" and not (self.next.changed or self.next.trace):
            return None
        if key.id == "session.close" and closed:
            return "open again"
        return key.words

    def action_curve(self) -> None:
        """Both pictures, the difference alone, the curves alone."""
        pane = self.query_one(AnswerPane)
        order = (BOTH, DIFFERENCE, OVERLAY)
        pane.pictures = order[(order.index(pane.pictures) + 1) % len(order)]
        pane.redraw()

    def action_engines(self) -> None:
        """Back to where the session was opened from."""
        self.dismiss(None)
