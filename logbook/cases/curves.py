"""Curves for the screens: a pull's own, and the difference between two set-ups with its band."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.grouping import Group
from logbook.cases.results import CurveView, DifferenceView
from logbook.records.pull import Pull

if TYPE_CHECKING:
    from logbook.engineering.trace import Array, Curve


def curve_view(bench: Bench, pull: Pull) -> CurveView | None:
    """The corrected curve of a pull, else the observed one; ``None`` for typed peaks."""
    reckoned = bench.reckoned[pull.id]
    curve = reckoned.corrected or reckoned.observed
    if curve is None:
        return None
    kind = "corrected" if reckoned.corrected is not None else "observed"
    return CurveView(
        f"Pull {pull.number}, {kind}", curve.speed_rpm, curve.torque_nm, curve.power_kw
    )


def difference_view(bench: Bench, pull: Pull) -> DifferenceView | None:
    """The pull's set-up minus the baseline over engine speed, with its pointwise 95 % band."""
    group = bench.group_of(pull.id)
    if group is None or pull.id in bench.baseline_pulls:
        return None
    return difference_between(bench, group, 0, group.labels[pull.id])


def difference_between(
    bench: Bench, group: Group, before: int, after: int
) -> DifferenceView | None:
    """Set-up `after` minus set-up `before` (labels of the group), from all pulls with curves."""
    import numpy as np

    from logbook.engineering.trace import at_speeds
    from logbook.verdict.curve import difference_curve

    pulls = [p for p in group.pulls if bench.reckoned[p.id].corrected is not None]
    labels = [group.labels[p.id] for p in pulls]
    if before not in labels or after not in labels:
        return None
    curves = [bench.reckoned[p.id].corrected for p in pulls]
    grid = common_grid([c for c, label in zip(curves, labels, strict=True)
                        if c is not None and label in (before, after)])  # fmt: skip
    if grid is None:
        return None
    power = np.vstack([at_speeds(c, grid).power_kw for c in curves if c is not None])
    runs = bench.line.runs()
    band = difference_curve(
        grid,
        power,
        [p.number for p in pulls],
        labels,
        before,
        after,
        wander=bench.learned.wander(group.quantity),
        run=[runs[p.id] for p in pulls],
    )
    return DifferenceView(
        speed_rpm=grid,
        power_kw=band.difference,
        low_kw=band.low,
        high_kw=band.high,
        note="95 % at each speed by itself, drift and re-setting included",
    )


def common_grid(curves: list[Curve]) -> Array | None:
    """The speed bins of the first curve that every curve reaches; ``None`` where too few."""
    import numpy as np

    low = max(float(c.speed_rpm[0]) for c in curves)
    high = min(float(c.speed_rpm[-1]) for c in curves)
    speeds: Array = np.asarray(curves[0].speed_rpm)
    grid = speeds[(speeds >= low) & (speeds <= high)]
    return grid if grid.size >= 2 else None
