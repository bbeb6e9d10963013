"""The plan of a session: proposed for a pull budget, accepted, ticked off as pulls come in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.desk import Desk
from logbook.cases.history import BAND
from logbook.cases.laying_out import lay_out
from logbook.cases.plan_bounds import allowed, why_barred
from logbook.cases.plan_changes import BASELINE_NAME, KeptPlan, PlanChange, read_kept
from logbook.cases.pulls import starting_set_up
from logbook.cases.results import Noise, Wander
from logbook.cases.worths import wander_of
from logbook.records.session import Session
from logbook.records.setup import SetUp
from logbook.refusals import BadInput, Conflict

if TYPE_CHECKING:
    from logbook.verdict.noise import Prior
    from logbook.verdict.noise import Wander as VerdictWander

MEASURED_ELSEWHERE = (
    "This session is measured from another one, whose band is far wider than what is said here:"
    " make this plan's first pulls the baseline once they are made."
)


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One pull of the plan: its place (from 1), the number of its change (0: the baseline's), what
    to change from the baseline, the whole set-up that makes, why, what to mind before it, and
    whether it has been pulled.

    Levels are texts as typed; ``""`` takes a factor away."""

    place: int
    change: int
    name: str
    set_up: Mapping[str, str]
    levels: Mapping[str, str]
    why: str
    caution: str
    done: bool


@dataclass(frozen=True, slots=True)
class PlanProgress:
    """How far an accepted plan has come. `barred` is why nothing more may be pulled by it, as a
    sentence, or ``""``; `to_set` are the factors to set for its next pull against what is carried
    forward (``""`` takes one away)."""

    lines: tuple[PlanLine, ...]
    barred: str
    to_set: Mapping[str, str]

    @property
    def done(self) -> int:
        """How many of its pulls have been made."""
        return sum(line.done for line in self.lines)

    @property
    def next(self) -> PlanLine | None:
        """The first pull that is still to be made."""
        return None if self.barred else next((line for line in self.lines if not line.done), None)


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan in its order. `resolves` gives by change the smallest true gain (percent of the
    baseline, which makes `base_kw`) that would earn a verdict four times in five, at this noise
    and this usual drift and re-setting error; `accepted`: the session keeps it. `cautions` are
    about set-ups that are still to be pulled."""

    session_id: str
    changes: tuple[PlanChange, ...]
    progress: PlanProgress
    resolves: tuple[tuple[str, float], ...]
    smallest_gain_percent: float
    worth_having_percent: float
    base_kw: float | None
    quantity: str
    noise: Noise
    wander: Wander
    budget: int
    accepted: bool
    elsewhere: bool

    @property
    def lines(self) -> tuple[PlanLine, ...]:
        """The pulls in their order."""
        return self.progress.lines

    @property
    def next(self) -> PlanLine | None:
        """The first pull that is still to be made."""
        return self.progress.next

    @property
    def barred(self) -> str:
        """Why nothing more may be pulled by it, or ``""``."""
        return self.progress.barred

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind before the pulls that are still to be made, each once."""
        open_ = (line.caution for line in self.lines if not line.done and line.caution)
        return (*((MEASURED_ELSEWHERE,) if self.elsewhere else ()), *dict.fromkeys(open_))


def propose_plan(
    desk: Desk, session_id: str, changes: Sequence[PlanChange], budget: int
) -> PlanView:
    """The plan for these changes within the budget; nothing is stored. Pulls of the baseline that
    were made last stand for its first ones.

    Raises `BadInput` where the budget does not hold the changes, or one of them is no change or
    past the bounds, `Conflict` where an alarm, the close or the session's own budget bars it.
    """
    from logbook.verdict.plan import PlannedChange, propose

    bench = lay_out(desk, session_id)
    if why := why_barred(bench):
        raise Conflict(why.rstrip("."), where="Plan")
    start = _start(desk, bench)
    _check(desk, bench, start, changes)
    plan = propose(
        [PlannedChange(change.name, change.hard) for change in changes],
        budget,
        prior=_prior(bench),
        wander=_wander(bench),
    )
    order = tuple((pull.setup, pull.why) for pull in plan.pulls)
    kept = KeptPlan(tuple(changes), order, budget, _first_pull(bench))
    progress = _progress(desk, bench, start, kept)
    _check_room(bench.session, len(bench.pulls), len(progress.lines) - progress.done)
    return _view(bench, kept, progress, accepted=False)


def _check(desk: Desk, bench: Bench, start: SetUp, changes: Iterable[PlanChange]) -> None:
    """Every change is one, and within the bounds that advice never crosses."""
    seen = {start.fingerprint: "the baseline's own set-up"}
    for change in changes:
        planned = change.from_baseline(start)
        if planned.fingerprint in seen:
            raise BadInput(f"{change.name} is {seen[planned.fingerprint]}", where="Plan",
                           wanted="changes that differ from the baseline and from each"
                           " other")  # fmt: skip
        seen[planned.fingerprint] = "in the plan twice"
        may = allowed(desk, bench, start, planned)
        if may.forbidden:
            raise BadInput(may.forbidden, where="Plan", wanted=may.wanted)


def _check_room(session: Session, pulled: int, wanted: int) -> None:
    """A plan never goes past the session's own pull budget."""
    if session.pull_budget is not None and pulled + wanted > session.pull_budget:
        left = session.pull_budget - pulled
        raise BadInput(
            f"the plan has {wanted} more pulls, and {left} of the session's {session.pull_budget}"
            " are left",
            where="Plan",
            wanted=f"at most {left}, or a larger pull budget of the session",
        )


def accept_plan(desk: Desk, session_id: str, plan: PlanView) -> str:
    """Keep a proposed plan with its budget in the session, in place of the one before; returns
    the change group. Raises `Conflict` where something bars it by now."""
    bench = lay_out(desk, session_id)
    if why := why_barred(bench):
        raise Conflict(why.rstrip("."), where="Plan")
    pulls = tuple((line.change, line.why) for line in plan.lines)
    kept = KeptPlan(plan.changes, pulls, plan.budget, _first_pull(bench))
    what = f"Plan of {len(pulls)} pulls accepted"
    with desk.book.changing(who=desk.who, what=what) as change:
        change.update(Session, session_id, plan=kept.as_text())
        return change.group


def withdraw_plan(desk: Desk, session_id: str) -> str:
    """Take an accepted plan out of the session; returns the change group."""
    with desk.book.changing(who=desk.who, what="Plan withdrawn") as change:
        if not change.get(Session, session_id).plan.startswith("{"):
            raise Conflict("this session has no accepted plan", where="Plan")
        change.update(Session, session_id, plan="")
        return change.group


def plan_view(desk: Desk, session_id: str) -> PlanView | None:
    """The session's accepted plan with what has been pulled ticked off; ``None`` without one."""
    bench = lay_out(desk, session_id)
    kept = read_kept(bench.session.plan)
    if kept is None:
        return None
    progress = _progress(desk, bench, _start(desk, bench), kept)
    return _view(bench, kept, progress, accepted=True)


def plan_progress(desk: Desk, session_id: str) -> PlanProgress | None:
    """How far the session's accepted plan has come; ``None`` without one. A plan that cannot be
    read is barred, with the reason."""
    bench = lay_out(desk, session_id)
    try:
        kept = read_kept(bench.session.plan)
    except Conflict as unreadable:
        return PlanProgress((), unreadable.sentence, {})
    return _progress(desk, bench, _start(desk, bench), kept) if kept else None


def _start(desk: Desk, bench: Bench) -> SetUp:
    """The set-up a plan's changes are made from: the baseline's, else what is carried forward."""
    if bench.baseline_set_up is not None:
        return bench.baseline_set_up
    with desk.book.reading() as read:
        return starting_set_up(read, bench.session)


def _first_pull(bench: Bench) -> int:
    """The first pull that ticks off a plan made now: the baseline's where they were made last,
    else the next one. Pulls before say nothing about drift and re-setting of those to come."""
    first = max((pull.number for pull in bench.pulls), default=0) + 1
    for pull in reversed(bench.line.counted):
        if pull.id not in bench.baseline_pulls:
            break
        first = pull.number
    return first


def _progress(desk: Desk, bench: Bench, start: SetUp, kept: KeptPlan) -> PlanProgress:
    from logbook.verdict.plan import tick_off

    set_ups = [start, *(change.from_baseline(start) for change in kept.changes)]
    names = [BASELINE_NAME, *(change.name for change in kept.changes)]
    sets: list[Mapping[str, str]] = [{}, *(change.set_up for change in kept.changes)]
    may = [allowed(desk, bench, start, set_up) for set_up in set_ups]
    labels = {set_up.fingerprint: label for label, set_up in reversed(list(enumerate(set_ups)))}
    runs = bench.line.runs()
    mine = [
        pull
        for pull in bench.line.counted
        if pull.number >= kept.first_pull and pull.id not in bench.baseline.conditioning
    ]
    done = tick_off(
        [label for label, _ in kept.pulls],
        [labels.get(bench.line.prints[pull.id], -1) for pull in mine],
        [runs[pull.id] for pull in mine],
    )
    lines = tuple(
        PlanLine(
            place,
            label,
            names[label],
            sets[label],
            {name: level.text for name, level in set_ups[label].levels.items()},
            why,
            may[label].forbidden or may[label].caution,
            ticked,
        )
        for place, ((label, why), ticked) in enumerate(zip(kept.pulls, done, strict=True), 1)
    )
    following = next((label for (label, _), ticked in zip(kept.pulls, done, strict=True)
                      if not ticked), None)  # fmt: skip
    forbidden = may[following].forbidden if following is not None else ""
    barred = why_barred(bench) or (
        f"{forbidden[0].upper()}{forbidden[1:]}: make another plan." if forbidden else ""
    )
    return PlanProgress(lines, barred, _to_set(desk, bench, set_ups, following))


def _to_set(
    desk: Desk, bench: Bench, set_ups: Sequence[SetUp], following: int | None
) -> dict[str, str]:
    if following is None:
        return {}
    with desk.book.reading() as read:
        carried = starting_set_up(read, bench.session)
    changes = set_ups[following].changed_from(carried)
    return {one.factor: one.new.text if one.new else "" for one in changes}


def _prior(bench: Bench) -> Prior:
    """The noise as it is known now: this session's repeats and the cell's history, if any."""
    from logbook.verdict.noise import Prior

    group = bench.main_group
    quantity = group.quantity if group else BAND
    judged = group.judgement if group else None
    if judged is not None:
        return Prior(judged.noise.percent, judged.noise.degrees_of_freedom, judged.noise.source)
    return bench.learned.prior(quantity)


def _wander(bench: Bench) -> VerdictWander:
    """Drift and re-setting error as the pulls will be judged by."""
    group = bench.main_group
    return bench.learned.wander(group.quantity if group else BAND)


def _view(bench: Bench, kept: KeptPlan, progress: PlanProgress, *, accepted: bool) -> PlanView:
    from logbook.verdict.plan import resolvable

    group, prior = bench.main_group, _prior(bench)
    judged = group.judgement if group else None
    resolves = resolvable([label for label, _ in kept.pulls], prior=prior, wander=_wander(bench))
    return PlanView(
        session_id=bench.session.id,
        changes=kept.changes,
        progress=progress,
        resolves=tuple((c.name, gain) for c, gain in zip(kept.changes, resolves, strict=True)),
        smallest_gain_percent=max(resolves),
        worth_having_percent=bench.session.worth_having_percent,
        base_kw=judged.base if judged else None,
        quantity=group.quantity if group else BAND,
        noise=Noise(prior.percent, prior.degrees_of_freedom, prior.source),
        wander=wander_of(_wander(bench)),
        budget=kept.budget,
        accepted=accepted,
        elsewhere=bench.elsewhere is not None,
    )
