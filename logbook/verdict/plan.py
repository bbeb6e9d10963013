"""A plan for a pull budget, and the smallest gain it can resolve.

Baseline first and last, two or more; the baseline again in between; every change pulled after
being set up afresh where the budget allows; changes that are hard to make stand together, once,
before the closing baseline. Of all such plans that fit the budget the one is taken whose worst
change can be resolved smallest, by the fit that will judge it.
Sources: Box, Hunter & Hunter, *Statistics for Experimenters* (2005), ch. 3 and 4 (blocking,
hard-to-change factors); NIST/SEMATECH e-Handbook 5.3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from logbook.refusals import BadInput
from logbook.underway import each
from logbook.verdict import words
from logbook.verdict.advice import POWER
from logbook.verdict.fit import fit, indicators, runs_of
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER, OWN_DF_ENOUGH, Prior, Wander
from logbook.verdict.rules import SO_FAR_LEVEL

BASELINE = 0
"""The label of the baseline in a plan; the changes are 1, 2, … in the order given."""

MOST_PULLS = 60
MOST_CHANGES = 12


@dataclass(frozen=True, slots=True)
class PlannedChange:
    """One change to try: its name for people, and whether it is hard to make (a carburetor, a
    head) and should be made once."""

    name: str
    hard: bool = False


@dataclass(frozen=True, slots=True)
class PlannedPull:
    """One pull of the plan: the label of its set-up and why it stands there."""

    setup: int
    why: str


@dataclass(frozen=True, slots=True)
class Plan:
    """The pulls in order, and by change the true gain (percent) that would earn “gain so far”
    four times in five; `smallest_gain_percent` is that of the worst change."""

    pulls: tuple[PlannedPull, ...]
    resolves_percent: tuple[float, ...]
    smallest_gain_percent: float

    @property
    def setups(self) -> tuple[int, ...]:
        """The set-up of each pull."""
        return tuple(pull.setup for pull in self.pulls)


def propose(
    changes: Sequence[PlannedChange],
    budget: int,
    *,
    prior: Prior = ASSUMED,
    wander: Wander = ASSUMED_WANDER,
) -> Plan:
    """The plan for these changes within the budget.

    Raises
    ------
    BadInput : no changes, too many, or a budget that does not hold them.
    """
    if not 1 <= len(changes) <= MOST_CHANGES:
        raise BadInput(
            f"a plan of {len(changes)} changes", wanted=f"between 1 and {MOST_CHANGES} changes"
        )
    least = 3 + 2 * len(changes)
    if not least <= budget <= MOST_PULLS:
        raise BadInput(
            f"a budget of {words.pulls(budget)} for"
            f" {'one change' if len(changes) == 1 else f'{len(changes)} changes'}",
            wanted=f"between {least} (two of the baseline, two of each change, the baseline again)"
            f" and {MOST_PULLS} pulls",
        )
    best: Plan | None = None
    candidates = _candidates(changes, budget)
    for pulls in each(candidates, len(candidates)):
        resolves = resolvable([pull.setup for pull in pulls], prior=prior, wander=wander)
        plan = Plan(pulls, resolves, max(resolves))
        if best is None or _better(plan, best):
            best = plan
    if best is None:
        raise AssertionError("the least plan fits every budget that is let in")
    return best


def _better(plan: Plan, than: Plan) -> bool:
    """Smaller gains resolved; of nearly equals (2 %) the one with fewer pulls."""
    if len(plan.pulls) < len(than.pulls):
        return plan.smallest_gain_percent <= than.smallest_gain_percent * 1.02
    return plan.smallest_gain_percent < than.smallest_gain_percent * (
        1.0 if len(plan.pulls) == len(than.pulls) else 0.98
    )


def resolvable(
    setups: Sequence[int], *, prior: Prior = ASSUMED, wander: Wander = ASSUMED_WANDER
) -> tuple[float, ...]:
    """The true gain of each change that would earn “gain so far” with `POWER`, percent.

    Parameters
    ----------
    setups : label of each pull in order, 0 the baseline; every label 0 … n is pulled.
    """
    from scipy.special import nctdtrinc, stdtrit

    _, columns = indicators(setups)
    fitted = fit(
        np.arange(1, len(setups) + 1),
        columns,
        np.zeros((len(setups), 1)),
        drift_sd=wander.drift_percent,
        resetting_sd=wander.resetting_percent,
        run=runs_of(setups),
    )
    square = prior.percent**2
    own = float(np.sum((square / (square + fitted.extra)) ** 2))
    joins = prior.source != words.ASSUMED or fitted.own_df < OWN_DF_ENOUGH
    df = own + (prior.degrees_of_freedom if joins else 0.0)
    found = []
    for change in range(1, columns.shape[1]):
        weights = np.zeros(columns.shape[1])
        weights[0], weights[change] = -1.0, 1.0
        estimate = fitted.contrast(weights, [prior.percent], [df])
        nu = float(estimate.degrees_of_freedom[0])
        limit = float(stdtrit(nu, 0.5 + SO_FAR_LEVEL / 2.0))
        found.append(float(nctdtrinc(nu, 1.0 - POWER, limit)) * float(estimate.standard_error[0]))
    return tuple(found)


def _candidates(changes: Sequence[PlannedChange], budget: int) -> list[tuple[PlannedPull, ...]]:
    """Every plan of the family that fits the budget and does not leave a quarter of it idle,
    unless nothing larger fits."""
    fitting = []
    for opening, closing, repeats, visits, every, back in product(
        (2, 3, 4), (1, 2, 3), (1, 2, 3, 4), (1, 2, 3), (0, 1, 2, 3), (1, 2)
    ):
        if repeats * visits < 2 or (every == 0 and back == 2):
            continue
        pulls = _lay_out(changes, opening, closing, repeats, visits, every, back)
        if len(pulls) <= budget:
            fitting.append(pulls)
    longest = max((len(pulls) for pulls in fitting), default=0)
    return list(dict.fromkeys(pulls for pulls in fitting if len(pulls) >= 0.75 * longest))


def _lay_out(
    changes: Sequence[PlannedChange],
    opening: int,
    closing: int,
    repeats: int,
    visits: int,
    every: int,
    back: int,
) -> tuple[PlannedPull, ...]:
    """One plan: `visits` rounds over the easy changes, there and back again so that drift falls
    on all alike, the baseline `back` times after `every` changes and before the hard ones, which
    stand together (0: between rounds only)."""
    easy = [i for i, change in enumerate(changes, 1) if not change.hard]
    hard = [i for i, change in enumerate(changes, 1) if change.hard]
    pulls = _visit(BASELINE, opening, "everything is measured from here")

    def return_to_baseline() -> None:
        if pulls[-1].setup != BASELINE:
            pulls.extend(_visit(BASELINE, back, "back to the baseline, for drift"))

    for round_ in range(visits if easy else 0):
        order = easy if round_ % 2 == 0 else easy[::-1]
        for place, label in enumerate(order, 1):
            why = "set up afresh, for the error of re-setting" if round_ else "first try"
            pulls.extend(_visit(label, repeats, why))
            if every and place % every == 0:
                return_to_baseline()
        if round_ < visits - 1:
            return_to_baseline()
    if easy and hard and every:
        return_to_baseline()
    for label in hard:
        pulls.extend(_visit(label, repeats * visits, "hard to change: set up once"))
    while pulls[-1].setup == BASELINE:
        pulls.pop()
    return (*pulls, *_visit(BASELINE, closing, "baseline last, to close the bracket"))


def _visit(label: int, times: int, why: str) -> list[PlannedPull]:
    """Pulls without re-setting: the first for its own reason, the others for the noise."""
    return [PlannedPull(label, why), *[PlannedPull(label, "again, for the noise")] * (times - 1)]


def tick_off(
    setups: Sequence[int], pulled: Sequence[int], run: Sequence[int] | None = None
) -> tuple[bool, ...]:
    """Which pulls of a plan are done.

    Pulls made without re-setting belong to one visit of the plan: three of the baseline on end do
    not stand for a return to it, which is there for drift and re-setting. A run ticks off the
    first open visit after the furthest one reached, else the first open one; what it has too many
    makes up for what earlier visits of the set-up missed. Set-ups that are not in the plan tick
    off nothing.

    Parameters
    ----------
    setups : the plan's set-ups in order.
    pulled : the set-ups pulled so far (excluded pulls left out).
    run : label of the run without re-setting each of them belongs to; by default consecutive
        pulls of one set-up.
    """
    visits = [int(visit) for visit in runs_of(setups)]
    done = [False] * len(setups)
    reached, visit_of = -1, dict[int, int | None]()

    def first_open(label: int, after: int) -> int | None:
        return next(
            (
                visit
                for visit, planned, ticked in zip(visits, setups, done, strict=True)
                if planned == label and not ticked and visit > after
            ),
            None,
        )

    for label, mine in zip(pulled, runs_of(pulled) if run is None else run, strict=True):
        if mine not in visit_of:
            ahead = first_open(label, reached)
            visit_of[mine] = ahead if ahead is not None else first_open(label, -1)
        visit = visit_of[mine]
        if visit is None:
            continue
        reached = max(reached, visit)
        open_ = [
            place
            for place, planned in enumerate(setups)
            if planned == label and not done[place] and visits[place] <= visit
        ]
        here = [place for place in open_ if visits[place] == visit]
        if open_:
            done[(here or open_)[0]] = True
    return tuple(done)
