"""Two pulls laid over each other, of any session, with everything that differs."""

from __future__ import annotations

from dataclasses import replace

from logbook.cases.bench import Bench
from logbook.cases.between import same_set_up, worth_between
from logbook.cases.curves import common_grid, curve_view, difference_between
from logbook.cases.desk import Desk
from logbook.cases.history import BAND, PEAK
from logbook.cases.judge import row_of
from logbook.cases.labels import label_of
from logbook.cases.laying_out import lay_out
from logbook.cases.pull_readings import readings
from logbook.cases.pulls import pull_of
from logbook.cases.results import (
    BareDifference,
    CompareView,
    CurveView,
    DifferenceView,
    Differing,
    PullRow,
    Worth,
)
from logbook.cases.scales import another_scale
from logbook.cases.scoring import SCORE_VERSION
from logbook.cases.worths import worth
from logbook.plain import capital
from logbook.quantities import show
from logbook.records.caution import Caution
from logbook.records.engine import Fuel
from logbook.records.pull import Pull
from logbook.records.score import Figures
from logbook.records.session import Session
from logbook.store import lookups


def compare(
    desk: Desk, left_ref: str, right_ref: str, *, standard: str | None = None
) -> CompareView:
    """Lay two pulls over each other; both are corrected to one standard (the left session's
    unless `standard` names another). The worth is right − left."""
    from logbook.engineering.correction import standard as known_standard

    with desk.book.reading() as read:
        left, right = pull_of(read, left_ref), pull_of(read, right_ref)
        labels = label_of(read, left), label_of(read, right)
        key = known_standard(standard or read.get(Session, left.session_id).standard).key
    bench_left = lay_out(desk, left.session_id, standard=key)
    bench_right = lay_out(desk, right.session_id, standard=key)
    curves = tuple(
        _labelled(curve_view(bench, pull), label)
        for bench, pull, label in (
            (bench_left, left, labels[0]),
            (bench_right, right, labels[1]),
        )
    )
    judged, why, difference = _worth(desk, bench_left, left, bench_right, right)
    row_left, row_right = row_of(desk, bench_left, left), row_of(desk, bench_right, right)
    score_left, score_right = row_left.score, row_right.score
    assert score_left is not None
    assert score_right is not None
    return CompareView(
        left=row_left,
        right=row_right,
        left_label=labels[0],
        right_label=labels[1],
        standard_name=known_standard(key).name,
        left_figures=score_left.corrected,
        right_figures=score_right.corrected,
        left_curve=curves[0],
        right_curve=curves[1],
        difference=difference or _bare_difference(bench_left, left, bench_right, right),
        worth=judged,
        bare=bare_difference(score_left.corrected, score_right.corrected),
        why_no_worth=why,
        differing=tuple(_differing(desk, bench_left, left, bench_right, right)),
        cautions=_cautions(row_left, bench_left, row_right, bench_right),
    )


def bare_difference(left: Figures, right: Figures) -> BareDifference | None:
    """Right − left on the steadiest figure that both pulls have: never a peak against an average.
    ``None`` where they have none in common."""
    for quantity, one, other in (
        (BAND, left.band_power_kw, right.band_power_kw),
        (PEAK, left.peak_power_kw, right.peak_power_kw),
    ):
        if one is not None and other is not None and one > 0:
            return BareDifference(quantity, other - one, 100.0 * (other / one - 1.0))
    return None


def _labelled(curve: CurveView | None, label: str) -> CurveView | None:
    return (
        None if curve is None else replace(curve, label=f"{label} ({curve.label.split(', ')[1]})")
    )


def _worth(
    desk: Desk, bench_left: Bench, left: Pull, bench_right: Bench, right: Pull
) -> tuple[Worth | None, str, DifferenceView | None]:
    """Judged within one session by its noise, between sessions by the cell's reproducibility."""
    if left.id == right.id:
        return None, "This is the same pull twice", None
    if bench_left.session.id != bench_right.session.id:
        judged = worth_between(
            desk,
            bench_left,
            same_set_up(bench_left, left),
            bench_right,
            same_set_up(bench_right, right),
        )
        return judged, "" if judged else "The two pulls are not judged on the same figure", None
    group = bench_left.group_of(left.id)
    if group is None or right.id not in group.scores:
        why = another_scale(right, left) or "The two pulls are not judged on the same figure"
        return None, why, None
    before, after = group.labels[left.id], group.labels[right.id]
    if before == after:
        return None, "Repeats of one set-up: the difference is noise", None
    return (
        worth(group.quantity, group.judgement.between(before, after)),
        "",
        difference_between(bench_left, group, before, after),
    )


def _bare_difference(
    bench_left: Bench, left: Pull, bench_right: Bench, right: Pull
) -> DifferenceView | None:
    """Right − left of two single curves, without a band."""
    import numpy as np

    from logbook.engineering.trace import at_speeds

    one, other = (
        bench.reckoned[pull.id].corrected
        for bench, pull in ((bench_left, left), (bench_right, right))
    )
    if one is None or other is None:
        return None
    grid = common_grid([one, other])
    if grid is None:
        return None
    power = at_speeds(other, grid).power_kw - at_speeds(one, grid).power_kw
    none = np.full(grid.shape, np.nan)
    return DifferenceView(grid, power, none, none, "two single curves, no error band")


def _differing(
    desk: Desk, bench_left: Bench, left: Pull, bench_right: Bench, right: Pull
) -> list[Differing]:
    lines = [
        Differing(what, a, b)
        for what, a, b in (
            ("Engine", bench_left.engine.tag, bench_right.engine.tag),
            ("Build", bench_left.build.label, bench_right.build.label),
            ("Cell", bench_left.cell.name, bench_right.cell.name),
            ("Operator", bench_left.session.operator, bench_right.session.operator),
            ("Exhaust", bench_left.session.exhaust, bench_right.session.exhaust),
            ("Accessories", bench_left.session.accessories, bench_right.session.accessories),
            ("Oil", bench_left.session.oil, bench_right.session.oil),
            ("Fuel batch", _fuel(desk, left), _fuel(desk, right)),
            ("Kind", left.kind, right.kind),
            ("Power from", bench_left.session.power_source, bench_right.session.power_source),
        )
        if a != b
    ]
    set_ups = bench_left.set_ups[left.setup_id], bench_right.set_ups[right.setup_id]
    for change in set_ups[1].changed_from(set_ups[0]):
        lines.append(
            Differing(
                capital(change.factor),
                change.old.text if change.old else "",
                change.new.text if change.new else "",
            )
        )
    lines += _measured(desk, bench_left, left, bench_right, right)
    return lines


def _measured(
    desk: Desk, bench_left: Bench, left: Pull, bench_right: Bench, right: Pull
) -> list[Differing]:
    """Air, temperatures and vacuums where they differ as shown."""
    sides = []
    for bench, pull in ((bench_left, left), (bench_right, right)):
        reading, shown = bench.airs.get(pull.air_id), {}
        if reading:
            shown["Air pressure"] = show(reading.pressure_kpa, "pressure", desk.units)
            shown["Air temperature"] = show(reading.temperature_c, "temperature", desk.units)
        factor = bench.reckoned[pull.id].score.factor
        shown["Correction factor"] = "" if factor is None else f"{factor:.4f}"
        for label, value in (("Oil temperature", pull.oil_c), ("Coolant", pull.coolant_c)):
            if value is not None:
                shown[label] = show(value, "temperature", desk.units)
        for label, kind, value in readings(bench, pull):
            shown[label] = show(value, kind, desk.units)
        sides.append(shown)
    names = list(dict.fromkeys([*sides[0], *sides[1]]))
    return [
        Differing(name, sides[0].get(name, ""), sides[1].get(name, ""))
        for name in names
        if sides[0].get(name, "") != sides[1].get(name, "")
    ]


def _fuel(desk: Desk, pull: Pull) -> str:
    if pull.fuel_id is None:
        return ""
    with desk.book.reading() as read:
        fuel = read.get(Fuel, pull.fuel_id)
    return fuel.batch


def _cautions(
    left: PullRow, bench_left: Bench, right: PullRow, bench_right: Bench
) -> tuple[Caution, ...]:
    found = []
    for row, bench in ((left, bench_left), (right, bench_right)):
        number = row.pull.number
        if row.score is not None and row.score.standard != bench.session.standard:
            found.append(
                Caution(
                    "another-standard",
                    f"Pull {number} was logged under another standard and is corrected anew here",
                )
            )
        if row.pull.excluded_reason is not None:
            found.append(Caution("excluded", f"Pull {number} is excluded"))
        found += [Caution(c.code, f"Pull {number}: {c.text}") for c in row.cautions]
    return tuple(found)


def best_pull_ref(
    desk: Desk, engine_id: str, *, standard: str, before: str | None = None
) -> str | None:
    """The id of the engine's best counted pull under a standard, of sessions opened before the
    time `before` where given: the best band average, else the best peak."""
    with desk.book.reading() as read:
        return lookups.best_pull(
            read, engine_id, version=SCORE_VERSION, standard=standard, before=before
        )
