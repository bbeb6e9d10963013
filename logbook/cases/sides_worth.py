"""A judged comparison across years as the doors show it: kW and percent, evidence with names."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from logbook.cases.days import Day
from logbook.cases.labels import session_label
from logbook.cases.results import Noise, Worth
from logbook.cases.sides_laid import Laid, Rebuilt
from logbook.cases.sides_results import (
    Assumed,
    AttributionView,
    EvidenceView,
    MemberView,
    Part,
    Share,
)
from logbook.records.engine import Build
from logbook.records.setup import Level
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.attribution import Attribution, Member
    from logbook.verdict.evidence import Line
    from logbook.verdict.visits import Difference

REBUILD, OTHER_ENGINE = "the rebuild", "the other engine"


def total_worth(laid: Laid) -> Worth:
    """Right − left as a judged difference; never final, since nothing was bracketed."""
    from logbook.verdict import rules, words

    total, sides = laid.total, laid.sides
    pulls = [tuple(pull.number for _, pull in side.pulls()) for side in (sides.left, sides.right)]
    code = rules.running(
        total.percent,
        total.standard_error,
        total.degrees_of_freedom,
        worth_having=sides.right.newest.session.worth_having_percent,
        single=min(len(some) for some in pulls) < 2,
        assumed=sides.between.source == words.ASSUMED,
    )
    base = _power(laid)[0]
    low, high = total.interval_percent
    return Worth(
        quantity=sides.terms.quantity,
        difference_kw=base * total.percent / 100.0,
        percent=total.percent,
        interval_kw=(base * low / 100.0, base * high / 100.0),
        verdict=words.VERDICTS[int(code)],
        noise=Noise(sides.between.percent, sides.between.degrees_of_freedom, sides.between.source),
        pulls=pulls[1],
        baseline_pulls=pulls[0],
        more_pulls=None,
        reason=(
            "From day to day the cell reproduces within a standard deviation of"
            f" {sides.between.percent:.2f} % ({sides.between.source})."
        ),
    )


def _power(laid: Laid) -> tuple[float, float]:
    """The power of both sides, kW, by their levels."""
    sides = laid.sides
    left, right = (
        math.exp(laid.across.estimate(laid.across.mean(side.chosen)).log_percent / 100.0)
        for side in (sides.left, sides.right)
    )
    return left, right


def _unit(laid: Laid) -> float:
    """kW of one log percent: at the logarithmic mean of the two powers shares add up to the
    total (Ang, *Energy Policy* 32 (2004) 1131: logarithmic mean Divisia index)."""
    left, right = _power(laid)
    middle = left if math.isclose(left, right) else (right - left) / math.log(right / left)
    return middle / 100.0


def attribution_view(read: Reader, laid: Laid) -> AttributionView | None:
    """What the rebuild was worth by itself, with the evidence for everything else."""
    found = laid.attributed
    if found is None:
        return None
    unit = _unit(laid)
    engines = {side.named.engine.id for side in (laid.sides.left, laid.sides.right)}
    least, most = (
        edge if math.isfinite(edge) else None
        for edge in (found.alone.at_least, found.alone.at_most)
    )
    return AttributionView(
        subject=REBUILD if len(engines) == 1 else OTHER_ENGINE,
        rest=_share(found.rest, unit),
        verdict=found.verdict,
        told=found.told,
        at_least_kw=None if least is None else least * unit,
        at_most_kw=None if most is None else most * unit,
        at_least_percent=None if least is None else _percent(least),
        at_most_percent=None if most is None else _percent(most),
        assumed=tuple(
            Assumed(name, _finite(low), _finite(high)) for name, low, high in found.alone.assumed
        ),
        members=tuple(
            _member(read, laid, member, count, unit)
            for member, count in zip(found.members, laid.found, strict=True)
        ),
        carrying=_carrying(found),
        sisters=tuple(_sister(read, laid, one) for one in laid.sisters),
    )


def _carrying(found: Attribution) -> Noise:
    one = found.carrying
    return Noise(one.percent, one.degrees_of_freedom, one.source)


def _percent(log_percent: float) -> float:
    from logbook.verdict.visits import percent_of

    return percent_of(log_percent)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _share(difference: Difference, unit: float) -> Share:
    low, high = difference.interval_log
    return Share(
        difference_kw=difference.log_percent * unit,
        interval_kw=(low * unit, high * unit),
        percent=difference.percent,
        interval_percent=difference.interval_percent,
        degrees_of_freedom=difference.degrees_of_freedom,
    )


def _member(read: Reader, laid: Laid, member: Member, count: int, unit: float) -> MemberView:
    shares = member.shares or (0.0,) * len(member.lines)
    return MemberView(
        factor=member.change.factor,
        old=_words(member.change.old),
        new=_words(member.change.new),
        worth=None if member.worth is None else _share(member.worth, unit),
        evidence=tuple(
            _evidence(read, laid, line, share)
            for line, share in zip(member.lines, shares, strict=True)
        ),
        sessions_found=count,
    )


def _words(level: Level | None) -> str:
    return level.text if level else ""


def _evidence(read: Reader, laid: Laid, line: Line, share: float) -> EvidenceView:
    return EvidenceView(
        engine=laid.sides.family.engines[line.engine].tag,
        build=read.get(Build, line.build).label,
        sessions=parts_of(read, laid.days, line.weights),
        percent=line.worth.percent,
        interval_percent=line.worth.interval_percent,
        weight=share,
        own=line.own,
        days_apart=line.between_days,
    )


def _sister(read: Reader, laid: Laid, one: Rebuilt) -> EvidenceView:
    before, after = (read.get(Build, build).label for build in (one.before, one.after))
    return EvidenceView(
        engine=laid.sides.family.engines[one.engine_id].tag,
        build=f"{before} → {after}",
        sessions=parts_of(read, laid.days, one.weights),
        percent=one.worth.percent,
        interval_percent=one.worth.interval_percent,
        weight=None,
        own=False,
        days_apart=True,
    )


def parts_of(
    read: Reader, days: Mapping[str, Day], weights: Mapping[str, Iterable[int]]
) -> tuple[Part, ...]:
    """Sessions with the pulls of some of their set-ups (labels by session)."""
    return tuple(
        Part(session, session_label(read, days[session].session), days[session].numbers_of(labels))
        for session, labels in weights.items()
    )
