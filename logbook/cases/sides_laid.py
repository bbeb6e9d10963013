"""The two sides of a comparison laid beside all that tells of what differs between them, judged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.between import reproducibility_of
from logbook.cases.days import Almanac, Day, Terms
from logbook.cases.desk import Desk
from logbook.cases.family import MOST_SESSIONS
from logbook.cases.sides import Sides, akin
from logbook.records.setup import FactorChange, factor_key
from logbook.refusals import BadInput
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.attribution import Attribution
    from logbook.verdict.noise import Noise
    from logbook.verdict.visits import Across, Difference, Weights

MOST_SISTERS = 3
Assumptions = Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What a sister's rebuild was worth, in one set-up: shown beside, never used."""

    engine_id: str
    before: str
    after: str
    weights: Weights
    worth: Difference


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Two sides with everything that tells of what differs between them.

    `days` are all that were used, by session. `attributed` is ``None`` where the two are not builds
    of one family. `found` counts, change by change, the sessions that show it alone; `other_band`
    those that
    were judged on another band and are left out.
    """

    sides: Sides
    days: Mapping[str, Day]
    across: Across
    total: Difference
    attributed: Attribution | None
    found: tuple[int, ...]
    other_band: int
    sisters: tuple[Rebuilt, ...]


def lay(desk: Desk, read: Reader, sides: Sides, assumed: Assumptions) -> Laid:
    """Gather the evidence and judge."""
    from logbook.verdict.evidence import ASSUMED_CARRYING
    from logbook.verdict.noise import Noise
    from logbook.verdict.visits import Across, added

    known = {factor_key(name): limits for name, limits in assumed.items()}
    _check(sides.changes, known)
    days = {**sides.left.days, **sides.right.days}
    found, other_band, sisters = (0,) * len(sides.changes), 0, []
    apart = akin(sides.left.named, sides.right.named)
    if apart:
        almanac = Almanac(desk, read, Terms(sides.terms.quantity, sides.terms.standard))
        found, other_band = _gather(sides, almanac, days)
        sisters = _sisters(sides, almanac, days)
    nothing = Noise(
        ASSUMED_CARRYING.percent, ASSUMED_CARRYING.degrees_of_freedom, ASSUMED_CARRYING.source
    )
    visits = {session: day.visit for session, day in days.items()}
    across = Across(visits, _between(read, sides, days), nothing)
    chosen = sides.left.chosen, sides.right.chosen
    whole = added((1.0, across.mean(chosen[1])), (-1.0, across.mean(chosen[0])))
    return Laid(
        sides=sides,
        days=days,
        across=across,
        total=across.estimate(whole),
        attributed=_attributed(across, sides, known) if apart else None,
        found=found,
        other_band=other_band,
        sisters=tuple(_rebuilt(across, days, *one) for one in sisters),
    )


def _check(changes: tuple[FactorChange, ...], assumed: Assumptions) -> None:
    """An assumption about something that does not differ is a slip."""
    names = {factor_key(change.factor): change.factor for change in changes}
    for key in assumed:
        if key not in names:
            raise BadInput(
                f"{key!r} does not differ between the two sides", where="Assumed worth",
                wanted="one of " + ", ".join(names.values()) if names else "nothing to assume",
            )  # fmt: skip


def _gather(sides: Sides, almanac: Almanac, days: dict[str, Day]) -> tuple[tuple[int, ...], int]:
    """Add the sessions that show a change alone; how many do, change by change, and how many are
    left out because they were judged on another band."""
    counts, left_out = [], set[str]()
    for change in sides.changes:
        sessions = sides.family.showing(change, sides.builds)
        counts.append(len(sessions))
        wanted = sessions[:MOST_SESSIONS] or sides.family.days_apart(change, sides.builds)
        for session, day in almanac.of(s for s in wanted if s not in days).items():
            if day.band == sides.terms.band:
                days[session] = day
            else:
                left_out.add(session)
    return tuple(counts), len(left_out)


def _sisters(
    sides: Sides, almanac: Almanac, days: dict[str, Day]
) -> list[tuple[str, str, str, str]]:
    """(engine, build before, build after, set-up) of sisters that were rebuilt and pulled in one
    set-up before and after, with their days added."""
    own = {sides.left.named.engine.id, sides.right.named.engine.id}
    found = []
    for engine_id in [e for e in sides.family.engines if e not in own][:MOST_SISTERS]:
        pair = sides.family.rebuilt(engine_id)
        if pair is None:
            continue
        before, after, fingerprint = pair
        for build in (before, after):
            sessions = [
                run.session_id
                for run in sides.family.runs
                if run.build_id == build and sides.family.prints[run.setup_id] == fingerprint
            ]
            for session, day in almanac.of(sessions[: MOST_SESSIONS // 4]).items():
                if day.band == sides.terms.band and fingerprint in day.of_print:
                    days.setdefault(session, day)
        seen = {d.session.build_id for d in days.values() if fingerprint in d.of_print}
        if {before, after} <= seen:
            found.append((engine_id, *pair))
    return found


def _rebuilt(
    across: Across,
    days: Mapping[str, Day],
    engine_id: str,
    before: str,
    after: str,
    fingerprint: str,
) -> Rebuilt:
    from logbook.verdict.visits import added

    means = []
    for build in (before, after):
        of_build = {
            session: day.of_print[fingerprint]
            for session, day in days.items()
            if day.session.build_id == build and fingerprint in day.of_print
        }
        means.append(across.mean(of_build))
    weights = added((1.0, means[1]), (-1.0, means[0]))
    return Rebuilt(engine_id, before, after, weights, across.estimate(weights))


def _between(read: Reader, sides: Sides, days: Mapping[str, Day]) -> dict[str, Noise]:
    """Each cell's reproducibility; that of band averages stands in for peaks."""
    found = {sides.right.newest.cell.id: sides.between}
    for day in days.values():
        if day.cell.id not in found:
            found[day.cell.id] = reproducibility_of(read, day.cell.id, day.session.standard)
    return found


def _attributed(across: Across, sides: Sides, assumed: Assumptions) -> Attribution:
    from logbook.verdict.attribution import attribute
    from logbook.verdict.evidence import Wanted

    named = sides.left.named, sides.right.named
    return attribute(
        across,
        (sides.left.chosen, sides.right.chosen),
        sides.changes,
        Wanted(
            frozenset((one.engine.id, one.build.id) for one in named),
            sides.left.set_up,
            sides.right.set_up,
        ),
        worth_having_percent=sides.right.newest.session.worth_having_percent,
        assumed=assumed,
    )
