"""The ledger: from the baseline to the last set-up, step by step, with exact sum.

A step with more than one changed factor is a bundle: its worth belongs to all of them together.
A set-up that nothing later was made from is no step on the way; it is listed beside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logbook.records.setup import FactorChange, SetUp
from logbook.verdict.difference import SessionJudgement
from logbook.verdict.judged import SetupJudgement


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the ledger. `before`/`after` are labels of set-ups; `worth` is after −
    before. `bundle`: more than one factor changed at once."""

    before: int
    after: int
    changed: tuple[FactorChange, ...]
    bundle: bool
    worth: SetupJudgement


@dataclass(frozen=True, slots=True)
class Ledger:
    """The steps in order and `total`, the last set-up against the baseline (``None`` where
    nothing but the baseline was pulled): the steps' differences sum exactly to it.
    `taken_back` are the changes tried and not kept."""

    steps: tuple[Step, ...]
    total: SetupJudgement | None
    taken_back: tuple[Step, ...]


def parents(labels: Sequence[int], baseline: int, setups: Mapping[int, SetUp]) -> dict[int, int]:
    """What each set-up was made from: of the set-ups pulled before it, the one that differs in
    the fewest factors; of equals the one pulled last.

    Parameters
    ----------
    labels : set-up of each pull in order.
    """
    found: dict[int, int] = {}
    recent: list[int] = [baseline]
    for label in labels:
        if label not in recent:
            setup = setups[label]
            found[label] = min(
                reversed(recent), key=lambda other: len(setup.changed_from(setups[other]))
            )
        else:
            recent.remove(label)
        recent.append(label)
    return found


def ledger(judged: SessionJudgement, setups: Mapping[int, SetUp]) -> Ledger:
    """Write the ledger of a judged session.

    The last set-up is the last one pulled that is not the baseline: baseline pulls at the end
    only bracket.

    Parameters
    ----------
    judged : from `difference.judge`.
    setups : the set-up behind each label.

    Raises
    ------
    ValueError : the baseline was not pulled in this session.
    """
    if judged.baseline not in judged.order.labels:
        raise ValueError("a ledger starts from a baseline pulled in the session")
    labels = [int(label) for label in judged.order.setup]
    made_from = parents(labels, judged.baseline, setups)

    def step(after: int) -> Step:
        before = made_from[after]
        changed = setups[after].changed_from(setups[before])
        return Step(before, after, changed, len(changed) > 1, judged.between(before, after))

    changes = [label for label in labels if label != judged.baseline]
    way: list[int] = []
    here = changes[-1] if changes else judged.baseline
    while here != judged.baseline:
        way.insert(0, here)
        here = made_from[here]
    return Ledger(
        steps=tuple(step(label) for label in way),
        total=judged.by_setup[way[-1]] if way else None,
        taken_back=tuple(step(label) for label in made_from if label not in way),
    )
