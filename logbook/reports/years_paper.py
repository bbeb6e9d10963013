"""Builds over each other and an engine over the years, on paper."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.reports import paper_words as words
from logbook.reports import showing, sides_words, years_report
from logbook.reports.paper import Answer, Cautions, Part, Table, Words, columns
from logbook.reports.paper_curves import curve_parts
from logbook.reports.tables import unit

if TYPE_CHECKING:
    from logbook.cases.over_years import OverYears
    from logbook.cases.sides_results import (
        AttributionView,
        EvidenceView,
        SideCurves,
        SidesView,
    )

_FIGURES = (
    ("Band power", "power", "band_power_kw"),
    ("Band torque", "torque", "band_torque_nm"),
    ("Peak power", "power", "peak_power_kw"),
    ("Peak power at", "speed", "peak_power_rpm"),
    ("Peak torque", "torque", "peak_torque_nm"),
    ("Peak torque at", "speed", "peak_torque_rpm"),
)


def sides_answer(view: SidesView, system: str) -> Answer:
    """What the rebuild was worth by itself where that can be told, else the whole difference."""
    sides = f"{view.right.label} measured from {view.left.label}, {view.standard_name}"
    found = view.attribution
    if found is None:
        lines = (f"{sides}.", *sides_words.basis(view))
        return words.worth_answer(view.worth, lines, system)
    low, high = (showing.signed(edge, system) for edge in view.worth.interval_kw)
    whole = showing.signed(view.worth.difference_kw, system, unit=True)
    return Answer(
        sign=showing.sign_of(found.verdict),
        figure=showing.signed(found.rest.difference_kw, system),
        unit=quantities.display_unit("power", system),
        word=found.verdict,
        lines=(
            f"{sides_words.answer(found, system)}, {showing.percent(found.rest.percent)}.",
            *sides_words.claims(found, system),
            f"{sides}: {whole} in all (95 % {low} to {high}), {view.worth.quantity}.",
        ),
    )


def sides_parts(view: SidesView, curves: SideCurves | None, system: str) -> Iterator[Part]:
    """What each change was worth with its evidence, the curves, everything that differs."""
    if view.attribution is not None:
        yield from _attribution(view, view.attribution, system)
    names = view.right.label, view.left.label
    if curves is not None:
        drawn = [
            (name, curve)
            for name, curve in zip(names, (curves.right, curves.left), strict=True)
            if curve is not None
        ]
        yield from curve_parts(curves.difference, names, drawn, view.band_rpm, system)
    yield _figures(view, system)
    rows = tuple(
        (line.what, line.left or showing.NOTHING, line.right or showing.NOTHING)
        for line in view.differing
    )
    heads = ("Differs", view.left.label, view.right.label)
    yield Table("Everything that differs", columns(*heads), rows,
                empty="Nothing that was written down differs.")  # fmt: skip
    if view.cautions:
        yield Cautions(tuple(caution.text for caution in view.cautions))


def _figures(view: SidesView, system: str) -> Table:
    rows = [
        (label, *(quantities.show(getattr(side.figures, name), kind, system)
                  for side in (view.left, view.right)))
        for label, kind, name in _FIGURES
    ]  # fmt: skip
    for label, told in (
        ("Pulls", [("; ".join(map(sides_words.pulled, s.parts))) for s in (view.left, view.right)]),
        ("Set-up", [view.left.set_up, view.right.set_up]),
    ):
        rows.append((label, *told))
    heads = columns("", view.left.label, view.right.label)
    return Table(f"Mean corrected figures, {view.standard_name}", heads, tuple(rows))


def _attribution(view: SidesView, found: AttributionView, system: str) -> Iterator[Part]:
    power = quantities.display_unit("power", system)
    changed = [
        (sides_words.change(member), *sides_words.share_cells(member.worth, system))
        for member in found.members
    ]
    rest = (sides_words.subject(found), *sides_words.share_cells(found.rest, system))
    yield Table(
        "What each change was worth",
        columns("Changed", f">Worth, {power}", f">95 % interval, {power}", ">%", ">95 %, %"),
        (*changed, rest),
    )
    evidence = [(member.factor, line) for member in found.members for line in member.evidence]
    evidence += [(found.subject.removeprefix("the "), line) for line in found.sisters]
    if evidence:
        rows = tuple(_evidence(name, line) for name, line in evidence)
        heads = ("Seen alone", "Where", ">Worth", ">95 %", "Counts")
        yield Table("Where each was seen by itself", columns(*heads), rows)
    yield Words(" ".join(sides_words.basis(view)))


def _evidence(name: str, line: EvidenceView) -> tuple[str, ...]:
    return (
        name,
        sides_words.where(line),
        showing.percent(line.percent, 2),
        sides_words.percents(line.interval_percent),
        sides_words.counts(line),
    )


def years_parts(found: OverYears, system: str) -> Iterator[Part]:
    """Every measure that is followed, with its limits, trend and sisters."""
    rows = tuple(
        (
            f"{one.sign} {unit(one.measure.label, one.measure.kind, system)}",
            years_report.figure(one.points[-1].value, one.measure.kind, system),
            one.points[-1].day,
            years_report.figure(one.chart.center, one.measure.kind, system),
            years_report.limits_text(one, system),
            str(len(one.points)),
            years_report.trend_text(one, system),
            one.sentence + (" (speaks for wear)" if one.worse else ""),
            ", ".join(
                f"{s.tag} {years_report.figure(s.last, one.measure.kind, system)}"
                for s in one.sisters
            ),
        )
        for one in found.series
    )
    if not rows:
        return
    heads = ("Measure", ">Last", "On", ">Center", ">Control limits", ">Values", ">A year, 95 %",
             "State", "Sisters, last")  # fmt: skip
    yield Table("A session counts as one value, the median of its pulls", columns(*heads), rows)
    yield Words(
        "Control limits: mean of the newest build ± 2.66 mean moving ranges (individuals chart);"
        " a step from one build to the next is no moving range."
    )
    if found.notes:
        yield Cautions(found.notes)
