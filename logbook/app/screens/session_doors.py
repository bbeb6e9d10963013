"""The ways out of the Session screen for its pulls: their forms, choices and questions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logbook.app.judged_anew import done_and_told
from logbook.app.messages import Got, Landed
from logbook.app.next_pull import NextPull
from logbook.app.screens.chooser import Chooser
from logbook.app.screens.closing import SessionClosing
from logbook.app.screens.confirm import ConfirmScreen
from logbook.app.screens.offers import offer_lines, show_sides
from logbook.app.widgets.ink import Line, one
from logbook.records.setup import FUEL
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.form import FormStart
    from logbook.cases.results import PullRow, SessionView

_MOST_SESSIONS = 40


class SessionDoors(SessionClosing):
    """What the Session screen's keys lead to."""

    def __init__(self) -> None:
        super().__init__()
        self.start: FormStart | None = None
        self.next = NextPull()

    @property
    def chosen(self) -> PullRow | None:
        """The chosen pull."""
        raise NotImplementedError

    def next_changed(self, *, keep: bool = True) -> None:
        """What is set for the next pull has changed."""
        raise NotImplementedError

    def logged(self, pull_id: str, number: int) -> None:
        """A pull of this session was stored."""
        raise NotImplementedError

    def land(self, path: Path, landing_id: str | None, samples: str | None = None) -> None:
        """A trace is there, of which these samples are taken, or what is found."""
        raise NotImplementedError

    # -- the next pull -----------------------------------------------------------------------

    def action_advance(self, by: int) -> None:
        """A degree more or less for the next pull."""
        if self.next.advance(by):
            self.next_changed()
        else:
            self.notice("No timing is known yet: p opens the form to enter it.", "quiet")

    def action_fuel(self) -> None:
        """Another fuel that is on file."""
        fuels = self.start.fuels if self.start else ()
        now = self.next.changed.get(FUEL, self.next.was(FUEL) or "")

        def taken(fuel: str | None) -> None:
            if fuel is not None:
                self.next.set_fuel(fuel)
                self.next_changed()

        options: list[tuple[str, Line]] = [
            (fuel, ((fuel, ""), ("  in use", "quiet")) if fuel == now else one(fuel))
            for fuel in fuels
        ]
        self.app.push_screen(Chooser("Fuel for the next pull", options, start=now), taken)

    def action_drop(self) -> None:
        """Forget what is set for the next pull; what has landed waits no longer."""
        landing_id, trace = self.next.landing_id, self.next.trace
        self.next.forget()
        self.next_changed()
        if landing_id is None or trace is None:
            return

        def job(desk: Desk) -> str:
            from logbook.cases.landing import set_aside

            set_aside(desk, landing_id)
            return f"{trace.name} waits no longer; o can still choose it."

        self.change("done", job, Got)

    def action_form(self) -> None:
        """The next pull's form."""
        if self.view is None or self.start is None:
            return
        from logbook.app.screens.pull_form import PullForm

        def done(logged: tuple[str, int] | None) -> None:
            if logged is not None:
                self.logged(*logged)
            else:
                self.next_changed()

        self.app.push_screen(PullForm(self.view, self.start, self.next), done)

    def action_file(self) -> None:
        """Choose a trace file; it then waits to be accepted."""
        from logbook.app.screens.file_picker import FilePicker

        def chosen(path: Path | None) -> None:
            if path is not None:
                self.post_message(Landed(path))

        self.app.push_screen(FilePicker(), chosen)

    def action_edges(self) -> None:
        """Which samples are the pull: of the trace that waits, else of the chosen pull."""
        from logbook.app.screens.edges import EdgesScreen

        trace, landing_id = self.next.trace, self.next.landing_id
        if trace is None:
            row = self.chosen
            if row is not None:
                self.app.push_screen(EdgesScreen.of_pull(row.pull.id))
            return
        if self.next.preview is None:
            return

        def moved(samples: str | None) -> None:
            if samples is not None and self.next.trace == trace:
                self.land(trace, landing_id, samples)

        screen = EdgesScreen.of_file(self.session_id, trace, landing_id, self.next.preview.moved)
        self.app.push_screen(screen, moved)

    def action_columns(self) -> None:
        """Say what the columns of the waiting trace are; it is then read again."""
        trace, landing_id = self.next.trace, self.next.landing_id
        if trace is None:
            return
        from logbook.app.screens.columns import ColumnsScreen

        def named(yes: bool | None) -> None:
            if yes and self.next.trace == trace:
                self.land(trace, landing_id)

        self.app.push_screen(ColumnsScreen(trace, landing_id), named)

    def action_air(self) -> None:
        """A new air reading."""
        if self.view is not None:
            from logbook.app.screens.air_form import AirForm

            self.app.push_screen(AirForm(self.view))

    # -- the chosen pull ---------------------------------------------------------------------

    def action_exclude(self) -> None:
        """Leave the pull out for a reason, or let it count again."""
        row = self.chosen
        if row is None:
            return
        pull, units = row.pull, self.book.units
        if row.pull.excluded_reason is not None:

            def include(desk: Desk) -> str:
                from logbook.cases.pulls import include

                said = f"Pull {pull.number} counts again."
                return done_and_told(
                    desk, pull.session_id, units, said, lambda: include(desk, pull.id)
                )

            self.change("done", include, Got)
            return
        from logbook.app.screens.exclude import ExcludeForm

        self.app.push_screen(ExcludeForm(pull))

    def action_correct(self) -> None:
        """Correct what was written for the pull."""
        if self.view is not None and (row := self.chosen) is not None:
            from logbook.app.screens.correct_form import CorrectForm

            self.app.push_screen(CorrectForm(row))

    def action_baseline(self) -> None:
        """Measure everything from the pulls of the chosen one's set-up."""
        row, view = self.chosen, self.view
        if row is None or view is None:
            return
        same = [
            other.pull
            for other in view.rows
            if other.setup.fingerprint == row.setup.fingerprint
            and other.pull.excluded_reason is None
        ]
        if not same:
            self.notice("This pull is excluded: x lets it count again.", "quiet")
            return
        numbers, units = showing.numbers([pull.number for pull in same]), self.book.units
        ids = tuple(pull.id for pull in reversed(same))
        session_id = self.session_id

        def job(desk: Desk) -> str:
            from logbook.cases.sessions import set_baseline

            said = f"Measured from pulls {numbers} now. u takes it back."
            return done_and_told(
                desk, session_id, units, said, lambda: set_baseline(desk, session_id, ids)
            )

        def sure(yes: bool | None) -> None:
            if yes:
                self.change("done", job, Got)

        set_up = showing.set_up(row.setup)
        self.app.push_screen(
            ConfirmScreen(
                f"Baseline: pulls {numbers}",
                f"Everything in this session is then measured from {set_up or 'this set-up'}.",
                yes="make it the baseline",
            ),
            sure,
        )

    def action_compare(self) -> None:
        """Lay the pull over another: the one before, the baseline, the best of earlier days."""
        row, view = self.chosen, self.view
        if row is None or view is None:
            return
        units = self.book.units
        near: list[tuple[str, Line]] = []
        before = next((r for r in view.rows if r.pull.number < row.pull.number), None)
        if before is not None:
            near.append((before.pull.id, one(f"Pull {before.pull.number}, the one before")))
        base = next((r for r in view.rows if r.is_baseline and r is not row), None)
        if base is not None and base is not before:
            near.append((base.pull.id, one(f"Pull {base.pull.number} of the baseline")))

        def job(desk: Desk) -> list[tuple[str, Line]]:
            from logbook.cases.sides_offered import offered

            sides = offered(desk, view.engine.tag, view.session.id)
            return near + _earlier_best(desk, view, units) + offer_lines(sides, "or ")

        self.ask("compare", job, Got)

    def offer_compare(self, options: list[tuple[str, Line]]) -> None:
        """What this pull, its session and its build can be laid over."""
        row = self.chosen
        if row is None:
            return
        if not options:
            self.notice("There is no other pull of this engine yet.", "quiet")
            return
        pull_id = row.pull.id

        def taken(other: str | None) -> None:
            if other is not None and not show_sides(self.book, other):
                self.book.show_compare(other, pull_id)

        self.app.push_screen(Chooser(f"Lay pull {row.pull.number} over", options), taken)

    def action_timing(self) -> None:
        """Which timing next?"""
        if self.view is not None:
            from logbook.app.screens.engineer import TimingScreen

            self.app.push_screen(TimingScreen(self.session_id, self.view.engine.tag))

    def copied(self) -> str:
        """The answer for the chosen pull."""
        row = self.chosen
        if row is None or self.view is None:
            return ""
        from logbook.reports.one_line import answer_text

        return answer_text(self.view, row, self.book.units)

    def action_large(self) -> None:
        """The answer as large as the screen."""
        from logbook.app.screens.large import LargeScreen

        row = self.chosen
        self.app.push_screen(LargeScreen(self.session_id, row.pull.id if row else None))

    def action_ledger(self) -> None:
        """What each step was worth."""
        if self.view is not None:
            from logbook.app.screens.engineer import LedgerScreen

            self.app.push_screen(LedgerScreen(self.session_id, self.view.engine.tag))


def _earlier_best(desk: Desk, view: SessionView, units: str) -> list[tuple[str, Line]]:
    """The best pull of every earlier session of this engine, newest first; the best of all of
    them before the others."""
    from logbook import quantities
    from logbook.cases.compare import best_pull_ref
    from logbook.cases.finding import find
    from logbook.cases.sessions import list_sessions
    from logbook.engineering.correction import standard as known_standard

    sessions = list_sessions(desk, view.engine.tag, limit=_MOST_SESSIONS)
    opened = {row.id: row.opened_at for row in sessions}
    this = opened.get(view.session.id)
    standard, zone = view.session.standard, view.cell.time_zone
    top = best_pull_ref(desk, view.engine.id, standard=standard, before=this)
    found: list[tuple[str, Line]] = []
    for row in sessions:
        if this is None or row.opened_at >= this:
            continue
        hits = [hit for hit in find(desk, f"session:{row.id} excluded:no") if hit.power_kw]
        if not hits:
            continue
        best = max(hits, key=lambda hit: (hit.power_is_band, hit.power_kw or 0.0))
        power = quantities.show(best.power_kw, "power", units)
        day = showing.day(row.opened_at, zone)
        words = f"Best of {day}, {row.build}: pull {best.number}, {power}"
        if not best.power_is_band:
            words += " peak"
        if best.standard != standard:
            words += f", {known_standard(best.standard).name}"
        mark = "  best of all" if best.pull_id == top else ""
        found.append((best.pull_id, ((words, ""), (mark, "accent"))))
    return sorted(found, key=lambda pair: pair[0] != top)
