"""What one change was worth when others were made with it, years apart.

An engine comes back rebuilt, and on another fuel and another carburetor. Only the whole is
measured; but what the fuel and the carburetor are worth has been seen elsewhere, changed alone,
on this engine or a sister (`evidence`). The rest, the whole less those worths, is the rebuild's:

    rest = total − Σ worth of the other changes,

in 100·ln(power), so that the shares add up to the total whatever their order. Its standard error
holds day-to-day reproducibility, the noise of every session used (errors that they share with the
total cancel as they do in truth) and how far worths carry between engines. Where a change has no
evidence the rest is that of all such changes together: of each alone only bounds can be said, and
only by what somebody is willing to assume of the others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logbook.records.setup import FactorChange, factor_key
from logbook.verdict import rules, words
from logbook.verdict.evidence import (
    ASSUMED_CARRYING,
    Line,
    Wanted,
    carrying,
    lines_of,
    mixed,
    pool,
)
from logbook.verdict.noise import Noise
from logbook.verdict.visits import Across, Difference, Weights, added


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """One change of the bundle with its evidence. `worth` is what it is worth on the engine in
    question, predicted from `lines` (`shares`: the weight of each); ``None`` without any."""

    change: FactorChange
    lines: tuple[Line, ...]
    shares: tuple[float, ...]
    worth: Difference | None


@dataclass(frozen=True, slots=True)
class Bounds:
    """At least and at most, log percent, infinite where nothing bounds it; `assumed` holds what
    was assumed of each change without evidence: (factor, lowest, highest worth in percent)."""

    at_least: float
    at_most: float
    assumed: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Attribution:
    """The total and its shares. `rest` is the worth of the subject with every member in
    `untold` (changes without evidence) together; `alone` bounds the subject by itself.

    `told`: no change lacks evidence, so that `rest` is the subject's own worth. `verdict` is
    that of `rest`. `carrying` is how far a change's worth differs between engines.
    """

    total: Difference
    members: tuple[Member, ...]
    rest: Difference
    alone: Bounds
    verdict: str
    carrying: Noise

    @property
    def untold(self) -> tuple[FactorChange, ...]:
        """The changes that nothing is known of by itself."""
        return tuple(member.change for member in self.members if member.worth is None)

    @property
    def told(self) -> bool:
        """Whether the rest is the subject's alone."""
        return not self.untold


LOST_NOTHING = (0.0, float("inf"))
"""What is assumed of a change without evidence until somebody says otherwise: that it did not
lose power by itself. It bounds the subject from above only."""


def attribute(
    across: Across,
    sides: tuple[Mapping[str, int], Mapping[str, int]],
    changes: Sequence[FactorChange],
    wanted: Wanted,
    *,
    worth_having_percent: float = 0.5,
    assumed: Mapping[str, tuple[float, float]] | None = None,
) -> Attribution:
    """Take the worth of single changes off a total.

    Parameters
    ----------
    across : the visits; its `carrying` is replaced by what the evidence says.
    sides : of the total, before and after: the label of the one set-up compared, by session.
    changes : what differs between the two sides' set-ups; the subject is not among them.
    wanted : whose evidence needs no carrying over.
    assumed : lowest and highest worth in percent of changes without evidence, by factor key.
    """
    found = [lines_of(across, change, wanted) for change in changes]
    spread = carrying(across, found)
    across = Across(across.visits, across.between, spread)
    whole = added((1.0, across.mean(sides[1])), (-1.0, across.mean(sides[0])))
    members, taken, carried = [], [(1.0, whole)], 0.0
    for change, lines in zip(changes, found, strict=True):
        if not lines:
            members.append(Member(change, (), (), None))
            continue
        pooled = pool(lines, spread.percent)
        mine = mixed(lines, pooled.shares)
        worth = across.estimate(mine, carried=pooled.carried)
        members.append(Member(change, lines, pooled.shares, worth))
        taken.append((-1.0, mine))
        carried += pooled.carried
    rest = across.estimate(added(*taken), carried=carried)
    evidence = [[line.weights for line in lines] for lines in found]
    untold = [member.change for member in members if member.worth is None]
    return Attribution(
        total=across.estimate(whole),
        members=tuple(members),
        rest=rest,
        alone=_alone(rest, untold, assumed or {}),
        verdict=_verdict(
            rest,
            worth_having_percent,
            single=any(_single(across, one) for one in ([whole], *filter(None, evidence))),
            assumed=words.ASSUMED in {spread.source, *(n.source for n in across.between.values())},
        ),
        carrying=spread,
    )


USUAL_STEP_PERCENT = 0.2
"""What one step within a session is usually told to (a few pulls of each): only for choosing the
set-ups that are compared, before anything is judged."""


def foreseen(
    days: tuple[int, int], between_percent: float, seen: Sequence[bool | None]
) -> tuple[int, float]:
    """How well a rest will be told, before any figure is looked at: by this the set-ups that two
    builds are compared in are chosen.

    Parameters
    ----------
    days : sessions that each side's set-up was pulled in.
    between_percent : the cell's reproducibility.
    seen : per change, whether it was made alone on the engine in question; ``None``: nowhere.

    Returns
    -------
    The changes without evidence, and about the variance of the rest; less of both is better.
    """
    variance = between_percent**2 * (1.0 / days[0] + 1.0 / days[1])
    variance += USUAL_STEP_PERCENT**2 * sum(1 for own in seen if own is not None)
    # From another engine: that one's difference from the family, and this one's.
    elsewhere = sum(1 for own in seen if own is False)
    variance += 2.0 * elsewhere * ASSUMED_CARRYING.percent**2
    return sum(1 for own in seen if own is None), variance


def _alone(
    rest: Difference, untold: Sequence[FactorChange], assumed: Mapping[str, tuple[float, float]]
) -> Bounds:
    """The rest's interval, moved by the least and most that the changes without evidence are
    taken to be worth. Both ends of a two-sided interval: no less than 95 % sure."""
    low, high = rest.interval_log
    said = []
    for change in untold:
        least, most = assumed.get(factor_key(change.factor), LOST_NOTHING)
        low -= 100.0 * float(np.log1p(most / 100.0)) if np.isfinite(most) else np.inf
        high -= 100.0 * float(np.log1p(least / 100.0)) if np.isfinite(least) else -np.inf
        said.append((change.factor, least, most))
    return Bounds(low, high, tuple(said))


def _single(across: Across, differences: Sequence[Weights]) -> bool:
    """Whether a side of a difference, told by one or several, was pulled only once in all."""
    before = after = 0
    for weights in differences:
        for session, of_session in weights.items():
            order = across.visits[session].order
            before += sum(len(order.pulls_of(label)) for label, w in of_session.items() if w < 0.0)
            after += sum(len(order.pulls_of(label)) for label, w in of_session.items() if w > 0.0)
    return min(before, after) < 2


def _verdict(rest: Difference, worth_having: float, *, single: bool, assumed: bool) -> str:
    """The rules of every other running verdict; never a final one, since nothing was bracketed."""
    code = rules.running(
        rest.percent,
        rest.standard_error,
        rest.degrees_of_freedom,
        worth_having=worth_having,
        single=single,
        assumed=assumed,
    )
    return words.VERDICTS[int(code)]
