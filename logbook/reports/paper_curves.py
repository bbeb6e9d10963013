"""Curves on paper: the difference first, the curves second, and both as a table of figures."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.plain import capital
from logbook.reports import charts, showing
from logbook.reports.paper import Figure, Part, Table, columns

if TYPE_CHECKING:
    from logbook.cases.results import CurveView, DifferenceView

MOST_LINES = 14
LEAST_RUN = 3
Range = tuple[float, float]
# A curve with the name it has beside the others, such as "pull 7".
Named = tuple[str, "CurveView"]


def curve_parts(
    difference: DifferenceView | None,
    names: tuple[str, str],
    curves: Sequence[Named],
    band: Range | None,
    system: str,
) -> Iterator[Part]:
    """The pictures and their figures. `names` are those of the difference's two sides; the
    first of `curves` is the one that the difference is of."""
    if difference is not None:
        yield _difference(difference, names, band, system)
    if curves:
        yield _curves(curves, band, system)
        yield _figures(difference, curves, system)


def _in_unit(values: Iterable[float], kind: str, system: str) -> tuple[float, ...]:
    unit = quantities.display_unit(kind, system)
    return tuple(quantities.from_stored(float(value), unit, kind) for value in values)


def _difference(
    view: DifferenceView, names: tuple[str, str], band: Range | None, system: str
) -> Figure:
    unit = quantities.display_unit("power", system)
    name = f"{names[0]} − {names[1]}"
    values = [float(value) for value in view.power_kw]
    known = [place for place, value in enumerate(values) if math.isfinite(value)]
    said = [f"{capital(name)}, in {unit}; {view.note}."]
    if known:
        for word, place in (
            ("Highest", max(known, key=values.__getitem__)),
            ("Lowest", min(known, key=values.__getitem__)),
        ):
            text = showing.signed(values[place], system, unit=True)
            said.append(f"{word} {text} at {float(view.speed_rpm[place]):.0f} rpm.")
        said.append(_clear_of_zero(view))
    chart = charts.DifferenceChart(
        name=name,
        unit=unit,
        speed=tuple(float(speed) for speed in view.speed_rpm),
        value=_in_unit(view.power_kw, "power", system),
        low=_in_unit(view.low_kw, "power", system),
        high=_in_unit(view.high_kw, "power", system),
        band=band,
    )
    return Figure("Difference in corrected power over engine speed", " ".join(said), chart)


def _clear_of_zero(view: DifferenceView) -> str:
    """Where the band lies clear of the zero line, in words; ``""`` for one without a band.

    Single speeds are told together: at one of twenty a 95 % band does so by chance.
    """
    runs: list[tuple[int, list[float]]] = []
    before, known = 0, False
    for speed, low, high in zip(view.speed_rpm, view.low_kw, view.high_kw, strict=True):
        if not (math.isfinite(low) and math.isfinite(high)):
            continue
        known, side = True, 1 if low > 0 else -1 if high < 0 else 0
        if side != before or not runs:
            runs.append((side, []))
        runs[-1][1].append(float(speed))
        before = side
    clear = [(side, speeds) for side, speeds in runs if side]
    if not clear:
        return "The band holds the zero line at every speed." if known else ""
    spans = [
        f"{'above' if side > 0 else 'below'} it from {speeds[0]:.0f} to {speeds[-1]:.0f} rpm"
        for side, speeds in clear
        if len(speeds) >= LEAST_RUN
    ]
    lone = "at single speeds only" if not spans else "and at single speeds elsewhere"
    some = "" if len(spans) == len(clear) else f" {lone}"
    return f"The band lies clear of the zero line {' and '.join(spans)}{some}.".replace("  ", " ")


def _curves(curves: Sequence[Named], band: Range | None, system: str) -> Figure:
    drawn = tuple(
        charts.Curve(
            name=name,
            speed=tuple(float(speed) for speed in view.speed_rpm),
            power=_in_unit(view.power_kw, "power", system),
            torque=_in_unit(view.torque_nm, "torque", system),
        )
        for name, view in curves
    )
    power, torque = (quantities.display_unit(kind, system) for kind in ("power", "torque"))
    said = f"Power and torque over engine speed of {', '.join(one.name for one in drawn)}."
    return Figure("Power and torque", said, charts.CurvesChart(power, torque, drawn, band))


def _figures(difference: DifferenceView | None, curves: Sequence[Named], system: str) -> Table:
    """Every so many bins of the first curve; the others where they have the same bins."""
    first = curves[0][1]
    step = max(1, -(-len(first.speed_rpm) // MOST_LINES))
    places = range(0, len(first.speed_rpm), step)
    heads = ["Engine speed, rpm"]
    for name, _ in curves:
        for kind in ("power", "torque"):
            unit = quantities.display_unit(kind, system)
            heads.append(f">{name}: {kind}, {unit}")
    banded = False
    if difference is not None:
        unit = quantities.display_unit("power", system)
        heads.append(f">Difference, {unit}")
        banded = any(math.isfinite(edge) for edge in difference.low_kw)
        heads += [f">95 % band, {unit}"] if banded else []
    rows = []
    for place in places:
        speed = float(first.speed_rpm[place])
        cells = [quantities.show(speed, "speed", system, unit=False)]
        for _, view in curves:
            cells += _at(view, speed, system)
        if difference is not None:
            cells += _difference_at(difference, speed, system)[: 1 + banded]
        rows.append(tuple(cells))
    return Table("The curves in figures", columns(*heads), tuple(rows))


def _place(speeds: Iterable[float], speed: float) -> int | None:
    return next((place for place, one in enumerate(speeds) if abs(one - speed) < 1e-6), None)


def _at(view: CurveView, speed: float, system: str) -> list[str]:
    place = _place(view.speed_rpm, speed)
    if place is None:
        return [showing.NOTHING] * 2
    return [
        quantities.show(float(values[place]), kind, system, unit=False)
        for values, kind in ((view.power_kw, "power"), (view.torque_nm, "torque"))
    ]


def _difference_at(view: DifferenceView, speed: float, system: str) -> list[str]:
    place = _place(view.speed_rpm, speed)
    if place is None or not math.isfinite(view.power_kw[place]):
        return [showing.NOTHING] * 2
    value, low, high = (
        showing.signed(float(one[place]), system) if math.isfinite(one[place]) else ""
        for one in (view.power_kw, view.low_kw, view.high_kw)
    )
    return [value, f"{low} to {high}" if low and high else showing.NOTHING]
