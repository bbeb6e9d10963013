"""An engine over the years: tables for people, and the same as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from logbook.engineering.correction import standard
from logbook.quantities import display_unit, from_stored, show, stored_unit
from logbook.reports.as_json import Document, plain_value, record_json
from logbook.reports.showing import band
from logbook.reports.tables import NOTHING, grid, heading, number, unit

if TYPE_CHECKING:
    from rich.console import RenderableType

    from logbook.cases.over_years import OverYears, Series


def years_json(found: OverYears) -> Document:
    """What ``logbook health --json`` prints; values in the stored unit of their kind."""
    return {
        "engine": found.engine.tag,
        "family": found.engine.family or None,
        "standard": found.standard or None,
        "band_rpm": found.band_rpm,
        "builds": [record_json(one) for one in found.builds],
        "measures": [_series_json(one) for one in found.series],
        "notes": list(found.notes),
    }


def _series_json(one: Series) -> Document:
    chart = one.chart
    return {
        "measure": one.measure.key,
        "label": one.measure.label,
        "unit": stored_unit(one.measure.kind),
        "points": [record_json(point) for point in one.points],
        "steps_within_builds": chart.ranges,
        "center": chart.center,
        "low": plain_value(chart.low),
        "high": plain_value(chart.high),
        "mean_moving_range": plain_value(chart.mean_range),
        "beyond": list(chart.beyond),
        "jumps": list(chart.jumps),
        "shifted": list(chart.shifted),
        "trend_per_year": None if one.trend is None else record_json(one.trend),
        "state": one.state,
        "sentence": one.sentence,
        "worse": one.worse,
        "sisters": [record_json(sister) for sister in one.sisters],
    }


def trend_text(one: Series, system: str) -> str:
    """``−4.2 (−6.1 to −1.0)``: the change a year with its 95 % interval."""
    if one.trend is None:
        return NOTHING
    kind = one.measure.kind
    scale = from_stored(1.0, display_unit(kind, system), kind)
    slope, low, high = (
        f"{edge * scale:+.2g}".replace("-", "−")
        for edge in (one.trend.slope, one.trend.low, one.trend.high)
    )
    return f"{slope} ({low} to {high})"


def figure(value: float, kind: str, system: str) -> str:
    """A value without its unit, as fine as a year's change is looked for."""
    digits = 1 if display_unit(kind, system) == "psi" else None
    return show(value, kind, system, digits=digits, unit=False).replace("-", "−")


def limits_text(one: Series, system: str) -> str:
    """The control limits in the user's unit."""
    if one.chart.low is None or one.chart.high is None:
        return NOTHING
    kind = one.measure.kind
    return f"{figure(one.chart.low, kind, system)} to {figure(one.chart.high, kind, system)}"


def years_tables(found: OverYears, system: str) -> list[RenderableType]:
    """Best power by build, then every measure with its limits, trend and sisters."""
    builds = grid(
        ("Build", unit("Best corrected power", "power", system), "", "Standard", "On", "Sessions"),
        (
            (
                one.build,
                number(one.power_kw, "power", system),
                f"band average {band(*one.band_rpm)}" if one.band_rpm else "peak",
                standard(one.standard).name,
                one.day,
                str(one.sessions),
            )
            for one in found.builds
        ),
        right="bf",
    )
    measures = grid(
        ("", "Measure", "Last", "On", "Center", "Control limits", "Values", "A year",
         "State", "Sisters, last"),
        (
            (
                one.sign,
                unit(one.measure.label, one.measure.kind, system),
                figure(one.points[-1].value, one.measure.kind, system),
                one.points[-1].day,
                figure(one.chart.center, one.measure.kind, system),
                limits_text(one, system),
                str(len(one.points)),
                trend_text(one, system),
                Text(one.sentence, style="red" if one.worse else ""),
                ", ".join(
                    f"{s.tag} {figure(s.last, one.measure.kind, system)}"
                    for s in one.sisters
                ),
            )
            for one in found.series
        ),
        right="ceg",
    )  # fmt: skip
    return [
        heading(f"{found.engine.tag} over the years"),
        builds if found.builds else Text("No session with a power yet."),
        Text(),
        measures if found.series else Text("Nothing was measured yet that could be followed."),
        *(Text(note) for note in found.notes),
    ]
