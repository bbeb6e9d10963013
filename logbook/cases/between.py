"""A difference between two sessions: its band is the cell's reproducibility."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.desk import Desk
from logbook.cases.grouping import Group
from logbook.cases.results import Noise, Worth
from logbook.cases.scales import calibration_behind
from logbook.cases.scoring import SCORE_VERSION
from logbook.records.engine import Fuel
from logbook.records.pull import Pull
from logbook.store import lookups
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.between import Circumstances, Side
    from logbook.verdict.noise import Noise as SessionNoise


# Pairs of sessions that should have agreed are rare: further back than for repeats.
SESSIONS_LOOKED_BACK = 150


def worth_between(
    desk: Desk, left: Bench, left_pulls: Iterable[str], right: Bench, right_pulls: Iterable[str]
) -> Worth | None:
    """Right − left of two sets of pulls (ids) of one set-up each, in different sessions that are
    laid out under one standard; ``None`` where the two are not scored on the same figure."""
    from logbook.verdict.between import compare_sessions

    ids = list(left_pulls), list(right_pulls)
    groups = _common_group(left, ids[0], right, ids[1])
    if groups is None:
        return None
    with desk.book.reading() as read:
        between = reproducibility_of(read, right.cell.id, right.session.standard)
    kept = [[i for i in ids[side] if i in groups[side].scores] for side in (0, 1)]
    judged = compare_sessions(
        _side(left, groups[0], kept[0]),
        _side(right, groups[1], kept[1]),
        between,
        worth_having_percent=right.session.worth_having_percent,
        circumstances=(
            _circumstances(desk, left, kept[0][0]),
            _circumstances(desk, right, kept[1][0]),
        ),
    )
    return Worth(
        quantity=groups[1].quantity,
        difference_kw=judged.difference,
        percent=judged.percent,
        interval_kw=judged.interval,
        verdict=judged.verdict,
        noise=Noise(between.percent, between.degrees_of_freedom, between.source),
        pulls=_numbers(right, kept[1]),
        baseline_pulls=_numbers(left, kept[0]),
        more_pulls=None,
        reason=judged.reason,
    )


def reproducibility_of(read: Reader, cell_id: str, standard: str) -> SessionNoise:
    """How well a cell reproduces from day to day, by its sessions under one standard."""
    from logbook.verdict.between import reproducibility

    means = lookups.session_means(
        read,
        cell_id,
        standard=standard,
        version=SCORE_VERSION,
        sessions=SESSIONS_LOOKED_BACK,
    )
    return reproducibility(
        [mean for mean, _, _ in means], [(build, setup) for _, build, setup in means]
    )


def _common_group(
    left: Bench, left_ids: list[str], right: Bench, right_ids: list[str]
) -> tuple[Group, Group] | None:
    """The groups of both sides on the same figure, and where there are such on the same scale."""
    pairs = [
        (one, other)
        for one in left.groups
        for other in right.groups
        if one.quantity == other.quantity
        and any(i in one.scores for i in left_ids)
        and any(i in other.scores for i in right_ids)
    ]
    return next(
        (pair for pair in pairs if pair[0].scale == pair[1].scale), pairs[0] if pairs else None
    )


def _side(bench: Bench, group: Group, ids: list[str]) -> Side:
    from logbook.verdict.between import Side

    mean = sum(group.scores[i] for i in ids) / len(ids)
    return Side(mean, len(ids), group.judgement.noise)


def _circumstances(desk: Desk, bench: Bench, pull_id: str) -> Circumstances:
    from logbook.verdict.between import Circumstances

    pull = bench.pull(pull_id)
    with desk.book.reading() as read:
        batch = read.get(Fuel, pull.fuel_id).batch if pull.fuel_id else ""
        calibration = calibration_behind(read, bench.cell.id, pull)
    return Circumstances(
        cell=bench.cell.name,
        absorber=bench.cell.absorber,
        fuel_batch=batch,
        oil=bench.session.oil,
        calibration=calibration,
    )


def _numbers(bench: Bench, ids: list[str]) -> tuple[int, ...]:
    return tuple(sorted(bench.pull(i).number for i in ids))


def same_set_up(bench: Bench, pull: Pull) -> list[str]:
    """The counted pulls of a session with this pull's set-up and on its scale (ids), this one
    among them."""
    mine = bench.line.prints[pull.id], pull.taken_through
    return [
        other.id
        for other in bench.line.counted
        if (bench.line.prints[other.id], other.taken_through) == mine
    ]
