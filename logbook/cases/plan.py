"""The plan of a session: proposed for a pull budget, accepted, ticked off as pulls come in."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logbook.cases.bench import Bench, lay_out
from logbook.cases.desk import Desk
from logbook.cases.fields import read_level
from logbook.cases.grouping import assumed_prior, barred
from logbook.cases.history import BAND
from logbook.records.session import Session
from logbook.records.setup import SetUp
from logbook.refusals import BadInput, Conflict

BASELINE_NAME = "baseline"


@dataclass(frozen=True, slots=True)
class PlanChange:
    """A change to try: the factors with their levels as text, and whether it is hard to make."""

    set_up: Mapping[str, str]
    hard: bool = False

    @property
    def name(self) -> str:
        """How people read it: ``timing 34, main jets 82``."""
        return ", ".join(f"{factor} {text}" for factor, text in self.set_up.items())


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One pull of the plan: what to set, why, and whether it has been pulled."""

    name: str
    set_up: Mapping[str, str]
    why: str
    done: bool


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan in its order. `resolves` gives by change the smallest true gain (per cent) that
    would earn a verdict four times in five; `accepted` whether the session keeps it; `barred`
    why nothing more may be pulled, or ``""``."""

    session_id: str
    lines: tuple[PlanLine, ...]
    resolves: tuple[tuple[str, float], ...]
    smallest_gain_percent: float
    budget: int
    accepted: bool
    barred: str

    @property
    def next(self) -> PlanLine | None:
        """The first pull that is still to be made."""
        return None if self.barred else next((line for line in self.lines if not line.done), None)


def read_changes(texts: Sequence[str], *, hard: Sequence[str] = ()) -> tuple[PlanChange, ...]:
    """``timing=34`` or ``fuel=Tango,main jets=82`` → changes; those in `hard` are hard to make."""
    changes = []
    for text, is_hard in [*((t, False) for t in texts), *((t, True) for t in hard)]:
        levels: dict[str, str] = {}
        for part in text.split(","):
            factor, equals, level = part.partition("=")
            if not equals:
                raise BadInput(f"{part.strip()[:40]!r} sets nothing", where="Change",
                               wanted="FACTOR=LEVEL, such as timing=34")  # fmt: skip
            read_level(factor, level)
            levels[factor.strip()] = level.strip()
        changes.append(PlanChange(levels, is_hard))
    return tuple(changes)


def propose_plan(
    desk: Desk, session_id: str, changes: Sequence[PlanChange], budget: int
) -> PlanView:
    """The plan for these changes within the budget; nothing is stored.

    Raises `BadInput` where the budget does not hold them, `Conflict` where an alarm bars it.
    """
    bench = lay_out(desk, session_id)
    why_barred = barred(bench.session, bench.pulls)
    if why_barred:
        raise Conflict(why_barred, where="Plan")
    _check_timing(bench, changes)
    return _view(bench, tuple(changes), budget, _order(bench, changes, budget), accepted=False)


def _check_timing(bench: Bench, changes: Sequence[PlanChange]) -> None:
    """A plan never crosses the engine's limits of timing."""
    limit, least = bench.engine.limit_timing_deg, bench.engine.least_timing_deg
    for change in changes:
        levels = {factor: read_level(factor, text) for factor, text in change.set_up.items()}
        timing = SetUp(levels).timing_deg
        if timing is None:
            continue
        if limit is not None and timing > limit:
            raise BadInput(f"timing {timing:g}° is past the engine's limit of {limit:g}°",
                           where="Plan", wanted=f"at most {limit:g}°")  # fmt: skip
        if least is not None and timing < least:
            raise BadInput(f"timing {timing:g}° is later than the engine's least of {least:g}°",
                           where="Plan", wanted=f"at least {least:g}°")  # fmt: skip


def _order(bench: Bench, changes: Sequence[PlanChange], budget: int) -> tuple[tuple[int, str], ...]:
    from logbook.verdict.plan import PlannedChange, propose

    plan = propose(
        [PlannedChange(change.name, change.hard) for change in changes],
        budget,
        prior=bench.priors.get(BAND) or assumed_prior(BAND),
    )
    return tuple((pull.setup, pull.why) for pull in plan.pulls)


def accept_plan(desk: Desk, session_id: str, plan: PlanView, changes: Sequence[PlanChange]) -> str:
    """Keep a proposed plan with its budget in the session; returns the change group."""
    names = [BASELINE_NAME, *(change.name for change in changes)]
    kept = {
        "changes": [{"set": dict(change.set_up), "hard": change.hard} for change in changes],
        "pulls": [[names.index(line.name), line.why] for line in plan.lines],
        "budget": plan.budget,
    }
    with desk.book.changing(who=desk.who, what="Plan accepted") as change:
        change.update(Session, session_id, plan=json.dumps(kept, ensure_ascii=False))
        return change.group


def plan_view(desk: Desk, session_id: str) -> PlanView | None:
    """The session's accepted plan with what has been pulled ticked off; ``None`` without one."""
    bench = lay_out(desk, session_id)
    if not bench.session.plan.startswith("{"):
        return None  # none, or words somebody wrote
    kept = json.loads(bench.session.plan)
    changes = tuple(PlanChange(item["set"], item["hard"]) for item in kept["changes"])
    order = tuple((int(label), str(why)) for label, why in kept["pulls"])
    return _view(bench, changes, int(kept["budget"]), order, accepted=True)


def _view(
    bench: Bench,
    changes: tuple[PlanChange, ...],
    budget: int,
    order: tuple[tuple[int, str], ...],
    *,
    accepted: bool,
) -> PlanView:
    from logbook.verdict.plan import resolvable, tick_off

    labels = [label for label, _ in order]
    done = tick_off(labels, _pulled(bench, changes)) if accepted else (False,) * len(labels)
    resolves = resolvable(labels, prior=bench.priors.get(BAND) or assumed_prior(BAND))
    sets: list[Mapping[str, str]] = [{}, *(change.set_up for change in changes)]
    names = [BASELINE_NAME, *(change.name for change in changes)]
    return PlanView(
        session_id=bench.session.id,
        lines=tuple(
            PlanLine(names[label], sets[label], why, ticked)
            for (label, why), ticked in zip(order, done, strict=True)
        ),
        resolves=tuple((change.name, gain) for change, gain in zip(changes, resolves, strict=True)),
        smallest_gain_percent=max(resolves),
        budget=budget,
        accepted=accepted,
        barred=barred(bench.session, bench.pulls) if accepted else "",
    )


def _pulled(bench: Bench, changes: tuple[PlanChange, ...]) -> list[int]:
    """The plan's label of every counted pull; −1 for a set-up that is not in the plan."""
    counted = bench.line.counted
    base = next((p for p in counted if p.id in bench.baseline_pulls), None)
    if base is None:
        return []
    start = bench.set_ups[base.setup_id]
    prints = {start.fingerprint: 0}
    for label, change in enumerate(changes, 1):
        levels = {factor: read_level(factor, text) for factor, text in change.set_up.items()}
        prints[start.with_levels(levels).fingerprint] = label
    return [prints.get(bench.line.prints[pull.id], -1) for pull in counted]
