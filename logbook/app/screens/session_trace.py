"""A trace at the Session screen: it lands, is read, is accepted, and becomes a pull."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logbook.app.messages import FilePreviewed, Landed, PullLogged
from logbook.app.screens.session_plan import SessionPlan
from logbook.records.session import CLOSED

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.results import Logged, PullPreview
    from logbook.records.landing import Landing
    from logbook.refusals import Refusal


class SessionTrace(SessionPlan):
    """How a file becomes the session's next pull.

    `waiting` are the files that have landed and were not logged, the earliest first; `wanted` is
    the pull to be chosen once the session has been judged anew.
    """

    def __init__(self) -> None:
        super().__init__()
        self.waiting: list[Landing] = []
        self.wanted: str | None = None
        self._declined: set[str] = set()
        self._under_way = False

    @property
    def draft_key(self) -> str:
        """Under which what is set for the next pull is kept."""
        return f"next-{self.session_id}"

    def offer_landing(self) -> None:
        """The earliest file that has landed, unless a trace waits here already.

        Only in front: a key that was pressed in a form or a question accepts nothing.
        """
        waits = [one for one in self.waiting if one.id not in self._declined]
        ids = {one.id for one in waits}
        if self.next.landing_id and self.next.landing_id not in ids and not self._under_way:
            self.next.forget_trace()  # logged or set aside elsewhere
        open_now = self.view is not None and self.view.session.status != CLOSED
        if open_now and self.is_current and self.next.trace is None and waits:
            self.land(Path(waits[0].folder) / waits[0].name, waits[0].id)

    def on_landed(self, message: Landed) -> None:
        """A trace was chosen, or waited when the app was left."""
        self.land(message.path, None)

    def land(self, path: Path, landing_id: str | None, samples: str | None = None) -> None:
        """A trace is there: show it, read it, accept nothing for a moment."""
        self.next.land(path, self.book.tick(), landing_id)
        self.next_changed()
        session_id = self.session_id

        def job(desk: Desk) -> PullPreview:
            from logbook.cases.form import preview_file

            return preview_file(desk, session_id, path, landing_id, samples)

        self.ask("preview", job, FilePreviewed, f"reading {path.name}")

    def on_file_previewed(self, message: FilePreviewed) -> None:
        """The trace has been read."""
        if not self.stale(message) and self.next.trace == Path(message.preview.path):
            self.next.preview = message.preview
            self.notice(" ".join(caution.text for caution in message.preview.cautions), "caution")
            self.next_changed(keep=False)

    def refused(self, lane: str, refusal: Refusal) -> None:
        """A trace that cannot be read does not wait any longer."""
        if lane == "log":
            self._under_way = False
        if lane == "preview":
            from logbook.intake.unsettled import UnsettledColumns

            if isinstance(refusal, UnsettledColumns):
                self.next.asked = refusal.what.partition(";")[0]
                self.next_changed(keep=False)
                return
            if self.next.landing_id:
                self._declined.add(self.next.landing_id)
            self.next.forget_trace()
            self.next_changed()
        super().refused(lane, refusal)

    def action_accept(self) -> None:
        """Log the trace that waits; without one, type the peaks."""
        if self.next.trace is None:
            self.action_form()
            return
        if not self.next.may_accept(self.book.tick()):
            return
        preview = self.next.preview
        if self.next.asked:
            self.action_columns()
        elif preview is None:
            self.notice("The trace is still being read …", "quiet")
        elif preview.known_torque_state is None:
            self.action_form()
        else:
            self.log_next()

    def log_next(self) -> None:
        """Log the waiting trace with what is set, once."""
        if self._under_way:
            return
        self._under_way = True
        session_id, changed, trace = self.session_id, dict(self.next.changed), self.next.trace
        landing_id, units = self.next.landing_id, self.book.units
        part, samples = self.next.part, self.next.samples

        def job(desk: Desk) -> Logged:
            from logbook.cases.entry import PullEntry
            from logbook.cases.pulls import add_pull

            set_up = {name: text or None for name, text in changed.items()}
            entry = PullEntry(
                session_id=session_id, set_up=set_up, trace=trace, landing_id=landing_id,
                part=part, samples=samples, units=units,
            )  # fmt: skip
            return add_pull(desk, entry)

        self.change("log", job, PullLogged, "logging the pull")

    def on_pull_logged(self, message: PullLogged) -> None:
        """Choose the new pull."""
        self._under_way = False
        self.logged(message.logged.pull_id, message.logged.number)

    def logged(self, pull_id: str, number: int) -> None:
        """A pull of this session was stored: choose it, begin the next."""
        self.wanted = pull_id
        chosen = None if self.next.landing_id else self.next.trace
        more = self.next.preview.more if self.next.preview else 0
        self.next.forget()
        self.book.keep_draft(self, self.draft_key, {})
        self.reload()
        if chosen is not None and more:
            self.post_message(Landed(chosen))
        self.notice(f"Pull {number} logged. u takes it back.")
