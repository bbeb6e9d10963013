"""The mean curves of two sides, and the difference between them with its band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.cases.air_of_pulls import airs_of
from logbook.cases.curves import common_grid
from logbook.cases.days import CURVE_QUANTITIES, Day
from logbook.cases.desk import Desk
from logbook.cases.place import Place
from logbook.cases.recalibration import recalibrations_of
from logbook.cases.references import resolve
from logbook.cases.results import CurveView, DifferenceView
from logbook.cases.scoring import reckon
from logbook.cases.sides import Side, Sides, sides_of
from logbook.cases.sides_results import SideCurves
from logbook.records.pull import Pull
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.engineering.trace import Array, Curve

MOST_CURVES = 60
"""Curves of one side that a mean is drawn from, the newest first."""


def side_curves(desk: Desk, left: str, right: str, *, standard: str | None = None) -> SideCurves:
    """The curves of the same two sides that `side_by_side.compare_sides` compares."""
    with desk.book.reading() as read:
        sides = sides_of(desk, read, resolve(read, left), resolve(read, right), standard=standard)
        drawn = [_curves(read, side, sides) for side in (sides.left, sides.right)]
    return SideCurves(
        left=_mean_view(drawn[0], sides.left),
        right=_mean_view(drawn[1], sides.right),
        difference=_difference(drawn, sides),
    )


Drawn = list[tuple[Day, "Curve"]]


def _curves(read: Reader, side: Side, sides: Sides) -> Drawn:
    """The corrected curves of a side's newest pulls, with their days."""
    pulls: list[tuple[Day, Pull]] = side.pulls()[:MOST_CURVES]
    only = [pull for _, pull in pulls]
    traces = read.traces([pull.id for pull in only], only=CURVE_QUANTITIES)
    airs = airs_of(read, only)
    recalibrations = recalibrations_of(read, only)
    found = []
    for day, pull in pulls:
        place = Place(
            day.session, day.engine, day.cell, sides.terms.standard, recalibrations,
            sides.terms.band,
        )  # fmt: skip
        curve = reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place).corrected
        if curve is not None:
            found.append((day, curve))
    return found


def _on_grid(curves: Sequence[Curve], grid: Array) -> tuple[Array, Array]:
    """Power and torque of every curve at the grid's speeds, each of shape (pulls, bins)."""
    import numpy as np

    from logbook.engineering.trace import at_speeds

    there = [at_speeds(curve, grid) for curve in curves]
    return np.vstack([c.power_kw for c in there]), np.vstack([c.torque_nm for c in there])


def _mean_view(drawn: Drawn, side: Side) -> CurveView | None:
    grid = common_grid([curve for _, curve in drawn]) if drawn else None
    if grid is None:
        return None
    power, torque = _on_grid([curve for _, curve in drawn], grid)
    count = "1 pull" if len(drawn) == 1 else f"mean of {len(drawn)} pulls"
    return CurveView(f"{side.named.label}, {count}", grid, torque.mean(axis=0), power.mean(axis=0))


def _difference(drawn: Sequence[Drawn], sides: Sides) -> DifferenceView | None:
    from logbook.verdict.curve import between_curve

    if not all(drawn):
        return None
    grid = common_grid([curve for of_side in drawn for _, curve in of_side])
    if grid is None:
        return None
    left, right = (_on_grid([curve for _, curve in of_side], grid)[0] for of_side in drawn)
    if min(left.min(), right.min()) <= 0.0:
        return None
    days = [[day.session.id for day, _ in of_side] for of_side in drawn]
    band = between_curve(grid, (left, right), (days[0], days[1]), sides.between)
    return DifferenceView(
        speed_rpm=grid,
        power_kw=band.difference,
        low_kw=band.low,
        high_kw=band.high,
        note="95 % at each speed by itself; from day to day as band averages reproduce",
    )
