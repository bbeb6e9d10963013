"""The two sides of a comparison across years, and the set-ups that they are compared in.

Each side is compared in one set-up. Of all that the two were run with it is the pair that will
tell most, by how many days it was pulled on and where what differs was seen alone: never by its
figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from logbook.cases.between import reproducibility_of
from logbook.cases.days import Almanac, Day, Terms
from logbook.cases.desk import Desk
from logbook.cases.family import Family
from logbook.cases.history import BAND, PEAK
from logbook.cases.place import Place
from logbook.cases.references import Reference
from logbook.records.cell import Cell
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.setup import FactorChange, SetUp
from logbook.refusals import Conflict, NotFound
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.noise import Noise

MOST_DAYS = 24
"""Sessions of one side that are compared, newest first."""

MOST_SET_UPS = 8
"""Set-ups of one side that come into question, those pulled on most days first."""

Labels = Mapping[str, int]
"""The label of one set-up by session."""


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """What was named, its days, and the set-up compared (its label by session, newest first).
    `set_ups` is how many it was run with, `left_out` how many older sessions were not looked at.
    """

    named: Reference
    days: Mapping[str, Day]
    chosen: Labels
    set_ups: int
    left_out: int

    @property
    def newest(self) -> Day:
        """The newest day of the set-up compared."""
        return self.days[next(iter(self.chosen))]

    @property
    def set_up(self) -> SetUp:
        """The set-up compared."""
        session, label = next(iter(self.chosen.items()))
        return self.days[session].setups[label]

    def pulls(self) -> list[tuple[Day, Pull]]:
        """The pulls compared, with their days."""
        return [
            (self.days[session], pull)
            for session, label in self.chosen.items()
            for pull in self.days[session].pulls_of(label)
        ]


@dataclass(frozen=True, slots=True, eq=False)
class Sides:
    """Left and right on the same terms. `changes` is what differs between the set-ups compared;
    `between` is how well the right side's cell reproduces."""

    left: Side
    right: Side
    terms: Terms
    almanac: Almanac
    family: Family
    changes: tuple[FactorChange, ...]
    between: Noise

    @property
    def builds(self) -> frozenset[str]:
        """The builds compared."""
        return frozenset(side.named.build.id for side in (self.left, self.right))


def akin(left: Reference, right: Reference) -> bool:
    """Two builds of one engine or of one family: what was changed from one to the other can be
    told apart."""
    family = left.engine.family.strip().casefold()
    sisters = family != "" and family == right.engine.family.strip().casefold()
    same = left.engine.id == right.engine.id
    return left.build.id != right.build.id and (same or sisters)


def sides_of(
    desk: Desk, read: Reader, left: Reference, right: Reference, *, standard: str | None = None
) -> Sides:
    """The days and set-ups that two references are compared in, under the left side's standard
    and band unless another standard is named.

    Raises `NotFound` where a side has nothing that counts, `Conflict` where the two have no
    figure in common or are the same pulls.
    """
    from logbook.engineering.correction import standard as known_standard

    if left.session is None and right.session is None and left.build.id == right.build.id:
        raise Conflict(f"{left.label} is named twice", where="Compare", wanted="two that differ")
    family = Family.of(read, left.engine, right.engine)
    sessions = _sessions(family, left, right), _sessions(family, right, left)
    newest = read.get(Session, sessions[0][0])
    key = known_standard(standard or newest.standard).key
    band = Place(newest, left.engine, read.get(Cell, newest.cell_id)).band
    almanac, days = _on_one_figure(desk, read, sessions, (left, right), key, band)
    first = next(iter(days[1].values()))
    between = reproducibility_of(read, first.cell.id, first.session.standard)
    chosen = _chosen(family, days, (left, right), between.percent)
    if chosen is None:
        raise Conflict(
            "these are the same pulls on both sides", where="Compare", wanted="two that differ"
        )
    one, other = (
        Side(named, of_side, labels, len(_candidates(of_side, named)), len(ids[MOST_DAYS:]))
        for named, of_side, labels, ids in zip((left, right), days, chosen, sessions, strict=True)
    )
    changes = other.set_up.changed_from(one.set_up)
    return Sides(one, other, almanac.terms, almanac, family, changes, between)


def _on_one_figure(
    desk: Desk,
    read: Reader,
    sessions: tuple[Sequence[str], Sequence[str]],
    named: tuple[Reference, Reference],
    standard: str,
    band: tuple[float, float] | None,
) -> tuple[Almanac, tuple[Mapping[str, Day], Mapping[str, Day]]]:
    """The days of both sides, on band averages where both have any, else on peaks."""
    bare = ""
    for quantity in (BAND, PEAK):
        almanac = Almanac(desk, read, Terms(quantity, standard, band))
        left, right = (_days(almanac, ids, one) for ids, one in zip(sessions, named, strict=True))
        if left and right:
            return almanac, (left, right)
        bare = named[0].label if not left else named[1].label
    raise NotFound(
        f"{bare} has no corrected figure that counts and that the other side has too",
        where="Compare",
        wanted="pulls that are not excluded, with an air reading; a peak is never held against"
        " an average",
    )


def _sessions(family: Family, one: Reference, other: Reference) -> list[str]:
    """The sessions of a side, newest first. One that the other side names by itself is taken out
    of the build it belongs to."""
    if one.session is not None:
        return [one.session.id]
    beside = other.session.id if other.session is not None else None
    found = [session for session in family.sessions_of(one.build.id) if session != beside]
    if not found:
        besides = " beside those of the other side" if beside else ""
        raise NotFound(
            f"{one.label} has no pull that counts{besides}", where="Compare",
            wanted="something that was pulled",
        )  # fmt: skip
    return found


def _days(almanac: Almanac, sessions: Sequence[str], named: Reference) -> dict[str, Day]:
    """The newest days of a side; a pull's only where it counts."""
    days = almanac.of(sessions[:MOST_DAYS])
    if named.pull is None:
        return days
    return {session: day for session, day in days.items() if named.pull.id in day.labels}


def _candidates(days: Mapping[str, Day], named: Reference) -> list[Labels]:
    """The set-ups of a side (of a pull its own), those pulled on most days and most often first."""
    found: dict[str, dict[str, int]] = {}
    pulls: dict[str, int] = {}
    for session, day in days.items():
        for fingerprint, label in day.of_print.items():
            if named.pull is None or day.labels[named.pull.id] == label:
                found.setdefault(fingerprint, {})[session] = label
                pulls[fingerprint] = pulls.get(fingerprint, 0) + len(day.pulls_of(label))
    order = sorted(found, key=lambda fingerprint: (-len(found[fingerprint]), -pulls[fingerprint]))
    return [found[fingerprint] for fingerprint in order]


def _chosen(
    family: Family,
    days: Sequence[Mapping[str, Day]],
    named: tuple[Reference, Reference],
    between_percent: float,
) -> tuple[Labels, Labels] | None:
    """The pair of set-ups that will tell most; ``None`` where there is only one and the same."""
    from logbook.verdict.attribution import foreseen

    some = [_candidates(of_side, one) for of_side, one in zip(days, named, strict=True)]
    builds = {one.build.id for one in named}
    told_apart = akin(*named)
    known: dict[FactorChange, bool | None] = {}

    def told(pair: tuple[Labels, Labels]) -> tuple[int, float]:
        set_ups = [
            of_side[session].setups[label]
            for of_side, labels in zip(days, pair, strict=True)
            for session, label in list(labels.items())[:1]
        ]
        seen = []
        for change in set_ups[1].changed_from(set_ups[0]):
            if change not in known:
                known[change] = family.seen(change, builds) if told_apart else None
            seen.append(known[change])
        return foreseen((len(pair[0]), len(pair[1])), between_percent, seen)

    pairs = [
        (left, right)
        for left, right in product(some[0][:MOST_SET_UPS], some[1][:MOST_SET_UPS])
        if left != right
    ]
    return min(pairs, key=told) if pairs else None
