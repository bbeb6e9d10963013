"""The ledger of a session: each step from the baseline to the last set-up with its worth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.desk import Desk
from logbook.cases.grouping import Group
from logbook.cases.laying_out import lay_out
from logbook.cases.permitted import permits
from logbook.cases.results import Worth
from logbook.cases.worths import worth
from logbook.records.setup import FactorChange, SetUp
from logbook.refusals import Conflict

if TYPE_CHECKING:
    from logbook.verdict.effects import Effects


@dataclass(frozen=True, slots=True)
class LedgerStep:
    """One step: the pulls (ids and numbers) on both sides, what changed, what it was worth."""

    from_ids: tuple[str, ...]
    to_ids: tuple[str, ...]
    from_pulls: tuple[int, ...]
    to_pulls: tuple[int, ...]
    changed: tuple[FactorChange, ...]
    bundle: bool
    worth: Worth


@dataclass(frozen=True, slots=True)
class LedgerView:
    """The steps that sum exactly to `total`, the changes tried and not kept, and what all pulls
    together tell of every factor (with the groups they cannot tell apart)."""

    session_id: str
    engine_tag: str
    quantity: str
    steps: tuple[LedgerStep, ...]
    taken_back: tuple[LedgerStep, ...]
    total: Worth | None
    effects: Effects


def ledger_view(desk: Desk, session_id: str) -> LedgerView:
    """The ledger of a session. Raises `Conflict` where it has no baseline of its own."""
    from logbook.verdict.effects import all_pulls
    from logbook.verdict.ledger import Step, ledger

    bench = lay_out(desk, session_id)
    group = bench.main_group
    if group is None or 0 not in group.labels.values():
        raise Conflict(
            "a ledger starts from a baseline pulled in this session",
            where="Ledger",
            wanted="a baseline pull that has a corrected power",
        )
    set_ups = label_set_ups(bench, group)
    written = ledger(group.judgement, set_ups)

    def shown(step: Step) -> LedgerStep:
        sides = [
            [pull for pull in group.pulls if group.labels[pull.id] == label]
            for label in (step.before, step.after)
        ]
        return LedgerStep(
            from_ids=tuple(pull.id for pull in sides[0]),
            to_ids=tuple(pull.id for pull in sides[1]),
            from_pulls=tuple(pull.number for pull in sides[0]),
            to_pulls=tuple(pull.number for pull in sides[1]),
            changed=step.changed,
            bundle=step.bundle,
            worth=worth(group.quantity, step.worth),
        )

    return LedgerView(
        session_id=session_id,
        engine_tag=bench.engine.tag,
        quantity=group.quantity,
        steps=tuple(shown(step) for step in written.steps),
        taken_back=tuple(shown(step) for step in written.taken_back),
        total=worth(group.quantity, written.total) if written.total else None,
        effects=all_pulls(group.judgement, set_ups, permits=lambda set_up: permits(bench, set_up)),
    )


def total_worth(bench: Bench) -> Worth | None:
    """All steps of a session together; ``None`` without a baseline of its own, or any step."""
    from logbook.verdict.ledger import ledger

    group = bench.main_group
    if group is None or 0 not in group.labels.values():
        return None
    total = ledger(group.judgement, label_set_ups(bench, group)).total
    return worth(group.quantity, total) if total else None


def label_set_ups(bench: Bench, group: Group) -> dict[int, SetUp]:
    """The set-up behind each label of a group."""
    return {group.labels[pull.id]: bench.set_ups[pull.setup_id] for pull in group.pulls}
