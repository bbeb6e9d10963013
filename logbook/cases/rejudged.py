"""What a change of the records does to the judgement: which verdicts it turns, which it moves.

An excluded pull, another baseline, band or standard judges a whole session anew at once, and
the sessions that are measured from it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from logbook.cases.bench import Bench
from logbook.cases.desk import Desk
from logbook.cases.laying_out import lay_out
from logbook.cases.ledger import total_worth
from logbook.cases.results import Noise, Worth
from logbook.cases.worths import baseline_label, worth_of
from logbook.records.setup import FactorChange, SetUp
from logbook.records.times import day_in
from logbook.store import lookups

R = TypeVar("R")

THE_BASELINE, NOT_JUDGED = "the baseline", "not judged"
MOST_SESSIONS = 12  # looked at for one change: a back fill taken back may touch hundreds


@dataclass(frozen=True, slots=True)
class Stand:
    """How one set-up stands: its counted pulls, what it changes from the baseline, its worth, and
    `word`: the verdict, or why there is none."""

    pulls: tuple[int, ...]
    changed: tuple[FactorChange, ...]
    worth: Worth | None
    word: str


@dataclass(frozen=True, slots=True)
class Standing:
    """How a session stands: every set-up by what is judged and its fingerprint, all steps
    together, what it is measured from, and the noise."""

    session_id: str
    label: str
    set_ups: Mapping[tuple[str, str], Stand]
    total: Worth | None
    baseline: str
    noise: Noise | None


@dataclass(frozen=True, slots=True)
class Turned:
    """One set-up before and after; a side is ``None`` where it had no counted pull."""

    before: Stand | None
    after: Stand | None

    @property
    def stand(self) -> Stand:
        """Whichever side there is, the later one first."""
        found = self.after or self.before
        assert found is not None  # a set-up is on one side at least
        return found

    @property
    def words(self) -> tuple[str, str]:
        """The verdict words of both sides."""
        before, after = (side.word if side else NOT_JUDGED for side in (self.before, self.after))
        return before, after

    @property
    def moved_kw(self) -> float:
        """How far the worth moved; 0 where a side has none."""
        sides = [side.worth for side in (self.before, self.after) if side and side.worth]
        return sides[1].difference_kw - sides[0].difference_kw if len(sides) == 2 else 0.0


@dataclass(frozen=True, slots=True)
class Rejudged:
    """What a change did to one session's judgement. `turned` are the set-ups whose verdict is
    another one now, `moved` is the other one whose worth moved furthest. Of a change that touches
    many sessions the first one says how many were `not_looked_at`."""

    before: Standing
    after: Standing
    turned: tuple[Turned, ...]
    moved: Turned | None
    not_looked_at: int = 0

    @property
    def anything(self) -> bool:
        """Whether any verdict or worth is another one, or may be."""
        return bool(self.turned) or self.moved is not None or self.not_looked_at > 0


def and_what_changed(
    desk: Desk, session_ids: str | Iterable[str], act: Callable[[], R]
) -> tuple[R, tuple[Rejudged, ...]]:
    """Do something to sessions; its result, and what it did to their judgement and to that of
    sessions measured from them (only where it did)."""
    given = [session_ids] if isinstance(session_ids, str) else list(session_ids)
    with desk.book.reading() as read:
        others = [
            other
            for session_id in given
            for other in lookups.sessions_measured_from(read, session_id)
        ]
    touched = list(dict.fromkeys([*given, *others]))
    before = [standing(desk, session_id) for session_id in touched[:MOST_SESSIONS]]
    result = act()
    # The first comes last: it is what is shown next, and only a few are held laid out.
    found = [compare(stood, standing(desk, stood.session_id)) for stood in reversed(before)][::-1]
    if len(touched) > MOST_SESSIONS:
        found[0] = replace(found[0], not_looked_at=len(touched) - MOST_SESSIONS)
    return result, tuple(one for one in found if one.anything or one.before.session_id in given)


def standing(desk: Desk, session_id: str) -> Standing:
    """How a session stands now."""
    return standing_of(desk, lay_out(desk, session_id))


def standing_of(desk: Desk, bench: Bench) -> Standing:
    """How a session that is laid out stands."""
    main = bench.main_group
    judged = main.judgement if main else None
    return Standing(
        session_id=bench.session.id,
        label=f"{bench.engine.tag}/{day_in(bench.session.opened_at, bench.cell.time_zone)}",
        set_ups=_stands(desk, bench),
        total=total_worth(bench),
        baseline=baseline_label(bench),
        noise=Noise(judged.noise.percent, judged.noise.degrees_of_freedom, judged.noise.source)
        if judged
        else None,
    )


def _stands(desk: Desk, bench: Bench) -> dict[tuple[str, str], Stand]:
    found: dict[tuple[str, str], Stand] = {}
    start = bench.baseline_set_up or SetUp({})
    for group in bench.groups:
        for pull in group.pulls:
            key = (group.quantity, bench.line.prints[pull.id])
            if key in found:
                continue
            worth = worth_of(desk, bench, pull)
            same = [p.number for p in group.pulls if bench.line.prints[p.id] == key[1]]
            is_base = pull.id in bench.baseline_pulls
            found[key] = Stand(
                tuple(same),
                bench.set_ups[pull.setup_id].changed_from(start),
                worth,
                worth.verdict if worth else THE_BASELINE if is_base else NOT_JUDGED,
            )
    return found


def compare(before: Standing, after: Standing) -> Rejudged:
    """What is another one now, in the order of the pulls."""
    pairs = _pairs(before.set_ups, after.set_ups)
    pairs.sort(key=lambda pair: pair.stand.pulls)
    turned = [pair for pair in pairs if pair.words[0] != pair.words[1]]
    rest = [pair for pair in pairs if pair not in turned and pair.moved_kw]
    return Rejudged(before, after, tuple(turned), _furthest(rest))


def _pairs(
    before: Mapping[tuple[str, str], Stand], after: Mapping[tuple[str, str], Stand]
) -> list[Turned]:
    """Set-ups before and after; one that was corrected is known by its pulls."""
    gone = {key: stand for key, stand in before.items() if key not in after}
    pairs = [Turned(stand, after[key]) for key, stand in before.items() if key in after]
    for key, stand in after.items():
        if key in before:
            continue
        was = next(
            (old for old in gone if old[0] == key[0] and set(gone[old].pulls) & set(stand.pulls)),
            None,
        )
        pairs.append(Turned(gone.pop(was) if was else None, stand))
    return [*pairs, *(Turned(stand, None) for stand in gone.values())]


def _furthest(pairs: Sequence[Turned]) -> Turned | None:
    return max(pairs, key=lambda pair: abs(pair.moved_kw), default=None)
