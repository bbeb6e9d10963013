"""All pulls at once: every factor's effect that the pulls can tell apart, and those they cannot.

Each factor's level counts against the baseline's level of that factor, as if effects add up.
Which effects can be told apart is a matter of the design alone: the null space of its matrix.
Source: Searle, *Linear Models* (1971), ch. 5 (estimable functions).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logbook.records.setup import Level, SetUp, factor_key
from logbook.verdict import rules
from logbook.verdict.difference import SessionJudgement
from logbook.verdict.fit import Array
from logbook.verdict.noise import Noise, source_of
from logbook.verdict.settled import settled

SMALL = 1e-9


@dataclass(frozen=True, slots=True)
class Term:
    """One factor at one level, measured from the baseline's level of it (``None``: absent)."""

    factor: str
    level: Level | None
    baseline_level: Level | None


@dataclass(frozen=True, slots=True)
class Effect:
    """What a term is worth by all pulls: percent of the baseline and in the scores' unit, with
    95 % intervals. `terms` has several members for what only their sum can be told of."""

    terms: tuple[Term, ...]
    difference: float
    interval: tuple[float, float]
    percent: float
    standard_error_percent: float
    interval_percent: tuple[float, float]
    degrees_of_freedom: float
    p_value: float


@dataclass(frozen=True, slots=True)
class Inseparable:
    """Terms that the pulls cannot tell apart, and the one set-up whose pull would separate most
    of them: the baseline with `separate_by` set (empty where advice is barred, or where every
    such set-up is out of bounds). `together` is the worth of their sum where the pulls can
    tell that, else ``None``."""

    terms: tuple[Term, ...]
    separate_by: tuple[Term, ...]
    together: Effect | None


@dataclass(frozen=True, slots=True)
class Effects:
    """The all-pulls view. `noise` is that of the additive model: where effects do not add up it
    is larger than the repeats'."""

    effects: tuple[Effect, ...]
    inseparable: tuple[Inseparable, ...]
    noise: Noise


def all_pulls(
    judged: SessionJudgement,
    setups: Mapping[int, SetUp],
    *,
    permits: Callable[[SetUp], bool] = lambda _: True,
) -> Effects:
    """Every factor's effect from all pulls of a judged session.

    Parameters
    ----------
    judged : from `difference.judge`.
    setups : the set-up behind each label, the baseline's too.
    permits : whether a pull of a set-up may be advised (`bounds`).
    """
    base = setups[judged.baseline]
    terms = _terms(base, [setups[label] for label in judged.order.labels])
    rows = np.array([_row(terms, setups[int(label)]) for label in judged.order.setup])
    design = np.column_stack([np.ones(rows.shape[0]), rows])
    # The space the pulls span; an effect is told exactly where it lies wholly within it.
    _, singular, vh = np.linalg.svd(design, full_matrices=True)
    rank = int(np.count_nonzero(singular > SMALL * singular[0]))
    span, null = vh[:rank].T, vh[rank:]
    data = 100.0 * (judged.scores[:, None] / judged.base) - 100.0
    fitted = settled(
        judged.order.number,
        design @ span,
        data,
        run=judged.order.run,
        prior=judged.prior,
        wander=judged.wander,
    )

    def told(which: Sequence[int]) -> Effect | None:
        """The sum of some terms, ``None`` where the pulls cannot tell it."""
        wanted = np.zeros(design.shape[1])
        wanted[[i + 1 for i in which]] = 1.0
        if null.size and np.abs(null @ wanted).max() > SMALL:
            return None
        estimate = fitted.contrast(wanted @ span)
        value, se = float(estimate.value[0]), float(estimate.standard_error[0])
        df = float(estimate.degrees_of_freedom[0])
        half = float(rules.half_width(se, df, rules.INTERVAL_LEVEL))
        unit = judged.base / 100.0
        return Effect(
            tuple(terms[i] for i in which),
            value * unit,
            ((value - half) * unit, (value + half) * unit),
            value,
            se,
            (value - half, value + half),
            df,
            float(rules.p_values(value, se, df)),
        )

    allowed = [permits(base.with_levels({term.factor: term.level})) for term in terms]
    single = [told([i]) for i in range(len(terms))]
    groups = [
        Inseparable(
            tuple(terms[i] for i in group),
            () if judged.advice_barred else _separating(terms, design, group, allowed),
            told(group),
        )
        for group in _groups(null)
    ]
    s, df, kept = fitted.noise()
    return Effects(
        tuple(effect for effect in single if effect is not None),
        tuple(groups),
        Noise(float(s[0]), float(df[0]), source_of(bool(kept[0]), judged.prior)),
    )


def _terms(base: SetUp, setups: Sequence[SetUp]) -> list[Term]:
    """Every factor level that differs from the baseline's, in order of appearance."""
    terms: dict[tuple[str, tuple[str, str] | None], Term] = {}
    for setup in setups:
        for change in setup.changed_from(base):
            key = (factor_key(change.factor), change.new.identity if change.new else None)
            terms.setdefault(key, Term(change.factor, change.new, change.old))
    return list(terms.values())


def _row(terms: Sequence[Term], setup: SetUp) -> list[float]:
    """The design row of a set-up: 1 for every term it has."""
    row = []
    for term in terms:
        level = setup.level(term.factor)
        mine = level.identity if level else None
        row.append(float(mine == (term.level.identity if term.level else None)))
    return row


def _groups(null: Array) -> list[list[int]]:
    """Terms that share a direction the pulls cannot see, as connected groups."""
    count = null.shape[1] - 1
    # The projection onto the null space links two columns exactly when some direction that
    # cannot be seen moves both, whatever basis the decomposition happened to choose.
    seen = np.abs(null.T @ null)[1:, 1:] > SMALL
    left = [i for i in range(count) if seen[i, i]]
    groups = []
    while left:
        group, reach = [], [left.pop(0)]
        while reach:
            here = reach.pop()
            group.append(here)
            linked = [i for i in left if seen[here, i]]
            left = [i for i in left if i not in linked]
            reach += linked
        groups.append(sorted(group))
    return groups


def _separating(
    terms: Sequence[Term], design: Array, group: Sequence[int], allowed: Sequence[bool]
) -> tuple[Term, ...]:
    """The baseline with one allowed term of the group set: the one after which most of the group's
    terms can be told. One term alone always adds a direction, since the group's cannot be seen."""
    best, most = -1, -1
    for member in (i for i in group if allowed[i]):
        row = np.zeros(design.shape[1])
        row[[0, member + 1]] = 1.0
        _, singular, vh = np.linalg.svd(np.vstack([design, row]), full_matrices=True)
        rank = int(np.count_nonzero(singular > SMALL * singular[0]))
        hidden = vh[rank:]
        told = sum(1 for i in group if not hidden.size or np.abs(hidden[:, i + 1]).max() <= SMALL)
        if told > most:
            best, most = member, told
    return (terms[best],) if best >= 0 else ()
