"""The Session screen's plan: seen, made, and taken into the next pull."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.app.screens.session_doors import SessionDoors

if TYPE_CHECKING:
    from logbook.cases.plan import PlanProgress


class SessionPlan(SessionDoors):
    """What the session's plan is for."""

    def __init__(self) -> None:
        super().__init__()
        self.plan: PlanProgress | None = None

    def action_plan(self) -> None:
        """The accepted plan, or a new one."""
        view, start = self.view, self.start
        if view is None or start is None:
            return
        from logbook.app.screens.plan import PlanForm, PlanScreen, PlanStart

        session, pulled = view.session, len(view.rows)
        left = session.pull_budget - pulled if session.pull_budget is not None else None
        begin = PlanStart(view.engine.tag, (*start.set_up, *start.suggestions), left)

        def back(take: bool | None) -> None:
            if take:
                self.action_planned()

        if self.plan is None:
            self.app.push_screen(PlanForm(session.id, begin))
        else:
            self.app.push_screen(PlanScreen(session.id, begin), back)

    def action_planned(self) -> None:
        """Set the next pull up as the plan says; a trace that waits goes on waiting."""
        plan = self.plan
        if plan is None or plan.next is None:
            return
        from logbook.app.widgets.plan_words import name_of, set_words

        self.next.changed.clear()
        for factor, text in plan.to_set.items():
            self.next.set(factor, text)
        self.next_changed()
        what = set_words(plan.to_set)
        said = f"set {what}" if what else "as the engine stands"
        care = f" {plan.next.caution}" if plan.next.caution else ""
        self.notice(
            f"Next as planned, {name_of(plan.next)}: {said}.{care}", "caution" if care else "strong"
        )
