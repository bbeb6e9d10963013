"""What a single change was worth where it was made alone, and how far that carries elsewhere.

A line of evidence is one step of one factor between two set-ups that are otherwise equal, pulled
in one session: day-to-day error is not in it. Where no session has it, two set-ups of different
sessions on one build serve, day-to-day error and all. On another engine, or in another
surrounding of the same engine, the same change is worth a little more or less: the lines are
pooled with a variance between engines, estimated by moments where changes have been made on more
than one engine and else assumed, and the worth on the engine in question is predicted from them
(the best linear unbiased predictor: a line of that engine itself counts without the variance).

Sources: DerSimonian & Laird (1986), *Controlled Clinical Trials* 7:177–188 (the variance by
moments, here with one variance for several changes at once); Searle, Casella & McCulloch,
*Variance Components* (1992), ch. 7 (prediction).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.records.setup import FactorChange, SetUp, factor_key, identity_of
from logbook.verdict import words
from logbook.verdict.fit import Array
from logbook.verdict.noise import OWN_DF_ENOUGH, Noise, Prior
from logbook.verdict.visits import Across, Difference, Visit, Weights, added

ASSUMED_CARRYING = Prior(0.4, 2.0, words.ASSUMED)
"""How far the worth of one change differs from engine to engine of a family: a standard deviation
in percent of power, worth two engines (no source: about a fifth of what a change worth having is
commonly worth)."""

CARRYING_DF_ENOUGH = 2
"""One change seen on two engines is a single difference of two noisy figures: too little to
overrule the assumption by itself."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One step of evidence: `weights` on the levels of its sessions, which all belong to one
    engine and build. `own`: made on the engine in question, in a surrounding that belongs to the
    comparison, so that nothing has to be carried over. `between_days`: its two sides were pulled
    in different sessions."""

    change: FactorChange
    engine: str
    build: str
    weights: Weights
    own: bool
    between_days: bool
    worth: Difference

    @property
    def sessions(self) -> tuple[str, ...]:
        """The sessions it comes from."""
        return tuple(self.weights)

    @property
    def told_by(self) -> str:
        """The engine whose difference from the family is in it, whichever of its builds it was
        seen on; ``""`` where the comparison's own."""
        return "" if self.own else self.engine


def steps(visit: Visit, change: FactorChange) -> list[tuple[int, int]]:
    """Labels (before, after) of the pairs of set-ups that differ in this change alone."""
    old, new = identity_of(change.old), identity_of(change.new)
    befores: dict[str, int] = {}
    afters: dict[str, int] = {}
    for label in visit.order.labels:
        setup = visit.setups[label]
        mine = identity_of(setup.level(change.factor))
        if mine == old:
            befores[surrounding(setup, change.factor)] = label
        elif mine == new:
            afters[surrounding(setup, change.factor)] = label
    return [(befores[rest], afters[rest]) for rest in befores if rest in afters]


def surrounding(setup: SetUp, factor: str) -> str:
    """The fingerprint of everything but one factor."""
    return setup.with_levels({factor: None}).fingerprint


@dataclass(frozen=True, slots=True)
class Wanted:
    """Whose evidence is its own: `places` are (engine, build), the set-ups those of both sides."""

    places: frozenset[tuple[str, str]]
    before: SetUp
    after: SetUp

    def own(self, visit: Visit, label: int, factor: str) -> bool:
        """Whether a step from this set-up is one on the way from side to side."""
        if (visit.engine, visit.build) not in self.places:
            return False
        here = visit.setups[label]
        sides = (self.before.keyed(), self.after.keyed())
        for key in {*here.keyed(), *sides[0], *sides[1]} - {factor_key(factor)}:
            mine = identity_of(here.level(key))
            if mine not in {side[key][1].identity if key in side else None for side in sides}:
                return False
        return True


def lines_of(across: Across, change: FactorChange, wanted: Wanted) -> tuple[Line, ...]:
    """Every line of evidence for a change in the visits: steps within a session, and of an engine
    (or of the comparison itself) that has none those between the sessions of one build."""
    found = []
    for visit in across.visits.values():
        for before, after in steps(visit, change):
            weights = {visit.session: {before: -1.0, after: 1.0}}
            own = wanted.own(visit, before, change.factor)
            found.append(_line(across, change, visit, weights, own=own, between=False))
    within = {line.told_by for line in found}
    apart = _between_days(across, change, wanted)
    return (*found, *(line for line in apart if line.told_by not in within))


def _between_days(across: Across, change: FactorChange, wanted: Wanted) -> list[Line]:
    """Steps whose sides were pulled in different sessions of one build."""
    old, new = identity_of(change.old), identity_of(change.new)
    sides: dict[tuple[str, str, str], tuple[dict[str, int], dict[str, int]]] = {}
    for visit in across.visits.values():
        for label in visit.order.labels:
            setup = visit.setups[label]
            mine = identity_of(setup.level(change.factor))
            if mine in (old, new):
                place = (visit.engine, visit.build, surrounding(setup, change.factor))
                pair = sides.setdefault(place, ({}, {}))
                pair[int(mine == new)][visit.session] = label
    found = []
    for before, after in sides.values():
        if before and after:
            weights = added((1.0, across.mean(after)), (-1.0, across.mean(before)))
            session, label = next(iter(before.items()))
            visit = across.visits[session]
            own = wanted.own(visit, label, change.factor)
            found.append(_line(across, change, visit, weights, own=own, between=True))
    return found


def _line(
    across: Across,
    change: FactorChange,
    visit: Visit,
    weights: Weights,
    *,
    own: bool,
    between: bool,
) -> Line:
    worth = across.estimate(weights)
    return Line(change, visit.engine, visit.build, weights, own, between, worth)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Several lines of one change as its worth on the engine in question: the weight of each
    line, and how many times the variance between engines is in the result."""

    shares: tuple[float, ...]
    carried: float


def pool(lines: Sequence[Line], carrying_percent: float) -> Pooled:
    """Predict the worth on the engine in question from its own lines and those of others."""
    groups = _groups(lines)
    same = np.equal.outer(groups, groups).astype(np.float64)
    target = np.array([float(line.own) for line in lines])
    square = carrying_percent**2
    errors = np.array([line.worth.standard_error**2 for line in lines])
    # Lines without any error of their own (a hand-made table) must not break the solution.
    errors = np.maximum(errors, 1e-9 * (errors.max(initial=0.0) + square) + 1e-18)
    inverse = np.linalg.inv(square * same + np.diag(errors))
    ones = np.ones(len(lines))
    pull = square * target + ones * (1.0 - ones @ inverse @ (square * target)) / (
        ones @ inverse @ ones
    )
    shares = inverse @ pull
    carried = float(shares @ same @ shares - 2.0 * shares @ target + 1.0)
    return Pooled(tuple(float(share) for share in shares), max(carried, 0.0))


def mixed(lines: Sequence[Line], shares: Sequence[float]) -> Weights:
    """The weights of several lines put together in these shares."""
    return added(*((share, line.weights) for share, line in zip(shares, lines, strict=True)))


def _groups(lines: Sequence[Line]) -> Array:
    """A number for every engine, another for the lines that are the comparison's own."""
    names = dict.fromkeys(line.told_by for line in lines)
    order = {name: place for place, name in enumerate(names)}
    return np.array([float(order[line.told_by]) for line in lines])


def carrying(across: Across, changes: Sequence[Sequence[Line]]) -> Noise:
    """How far a change's worth differs from engine to engine: all changes that were made on more
    than one, weighed with the assumption. What several engines have shown to be more than that
    stands alone: the assumption could only talk it down.

    Parameters
    ----------
    across : the visits that the lines are from.
    changes : the lines of each change.
    """
    tables = []
    for lines in changes:
        groups = _groups(lines)
        pairs = [_combined(across, lines, groups == group) for group in np.unique(groups)]
        tables.append(([value for value, _ in pairs], [variance for _, variance in pairs]))
    square, df = between_engines(tables)
    assumed = ASSUMED_CARRYING
    if df >= CARRYING_DF_ENOUGH and square > assumed.percent**2:
        return Noise(float(np.sqrt(square)), df, words.FAMILY_HISTORY)
    total = assumed.degrees_of_freedom + df
    both = (assumed.degrees_of_freedom * assumed.percent**2 + df * max(square, 0.0)) / total
    source = words.FAMILY_HISTORY if df >= OWN_DF_ENOUGH else words.ASSUMED
    return Noise(float(np.sqrt(both)), total, source)


def _combined(across: Across, lines: Sequence[Line], which: Array) -> tuple[float, float]:
    """The mean of one engine's lines and its variance. Lines that share pulls or days share
    errors, and those of different sessions do not: the mean is asked for as a whole."""
    mine = [line for line, here in zip(lines, which, strict=True) if here]
    precision = np.array([1.0 / max(line.worth.standard_error**2, 1e-18) for line in mine])
    shares = (precision / precision.sum()).tolist()
    mean = across.estimate(mixed(mine, shares))
    return mean.log_percent, max(mean.standard_error**2, 1e-18)


def between_engines(
    tables: Sequence[tuple[Sequence[float], Sequence[float]]],
) -> tuple[float, int]:
    """The variance between engines by moments, one for several changes (DerSimonian & Laird).

    Parameters
    ----------
    tables : per change, the worths on its engines and their variances (positive).

    Returns
    -------
    The variance, negative where the worths agree better than their errors would have them do,
    and its degrees of freedom, the engines less the changes.
    """
    excess, scale, df = 0.0, 0.0, 0
    for values, variances in tables:
        if len(values) < 2:
            continue
        y, w = np.asarray(values, dtype=np.float64), 1.0 / np.asarray(variances, dtype=np.float64)
        mean = np.sum(w * y) / np.sum(w)
        excess += float(np.sum(w * (y - mean) ** 2)) - (len(values) - 1)
        scale += float(np.sum(w) - np.sum(w**2) / np.sum(w))
        df += len(values) - 1
    return (excess / scale, df) if df else (0.0, 0)
