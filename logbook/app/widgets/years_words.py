"""One measure over the years: its values in time, limits, where builds begin, the sisters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook import quantities
from logbook.app.widgets.ink import Line, wrap
from logbook.app.widgets.points import Dot, Level, points_picture
from logbook.plain import capital
from logbook.records.times import moment_of
from logbook.reports.showing import date_words
from logbook.reports.years_report import figure

if TYPE_CHECKING:
    from logbook.cases.over_years import Series

MOST_ROWS = 16
OUTSIDE = "◆"


def series_lines(series: Series, width: int, height: int, system: str) -> list[Line]:
    """The words below, the picture in what is left above them."""
    words = _words(series, width, system)
    return [*_picture(series, width, min(height - len(words), MOST_ROWS), system), *words]


def _words(series: Series, width: int, system: str) -> list[Line]:
    kind, role = series.measure.kind, "loss" if series.worse else "strong"
    said = f"{series.sign} {capital(series.sentence)}."
    if series.worse:
        said += " This way speaks for wear."
    lines = wrap(said, width, role)
    if series.chart.low is not None:
        said = (
            f"Limits: the mean of {series.points[-1].build} ± 2.66 mean moving ranges, of"
            f" {series.chart.ranges} steps within builds."
        )
        lines += wrap(said, width, "quiet")
    for sister in series.sisters:
        day = date_words(sister.last_day)
        lines += wrap(
            f"{sister.tag}: last {figure(sister.last, kind, system)} on {day},"
            f" mean {figure(sister.center, kind, system)} of {sister.count}",
            width,
            "quiet",
        )
    return lines


def _picture(series: Series, width: int, height: int, system: str) -> list[Line]:
    kind = series.measure.kind
    unit = quantities.display_unit(kind, system)

    def shown(value: float) -> float:
        return quantities.from_stored(value, unit, kind)

    points, chart = series.points, series.chart
    times = [moment_of(point.at).timestamp() for point in points]
    odd = {*chart.beyond, *chart.shifted}
    dots = [
        Dot(at, shown(point.value), "caution" if place in odd else "strong",
            OUTSIDE if place in odd else "●")
        for place, (at, point) in enumerate(zip(times, points, strict=True))
    ]  # fmt: skip
    levels = [Level(shown(chart.center), "─")]
    if chart.low is not None and chart.high is not None:
        levels += [Level(shown(chart.low), "┄"), Level(shown(chart.high), "┄")]
    begun = [
        place for place in range(1, len(points)) if points[place].build != points[place - 1].build
    ]
    under = [(times[0], points[0].at[:7]), (times[-1], points[-1].at[:7])]
    under += [(times[place], points[place].build) for place in begun]
    title = (
        (f"{series.measure.label}, {unit}  ", "strong"),
        ("● value  ◆ outside  ─ mean  ┄ limits", "quiet"),
    )
    bars = [(times[place] + times[place - 1]) / 2 for place in begun]
    return points_picture(title, dots, levels, width, height, under=under, bars=bars)
