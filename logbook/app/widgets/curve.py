"""The two pictures beside an answer: the difference curve with its error band, and the curves
laid over each other. Lines are solid and dashed, and named above the picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from logbook import quantities
from logbook.app.widgets.braille import Plot, even_scale, ticks
from logbook.app.widgets.ink import Line, fit_line, pad
from logbook.cases.results import CurveView, DifferenceView

SMALLEST = 5
SOLID, DASHED = "⠒⠒", "⠂⠐"
_MARGIN = 0.02


def difference_picture(
    view: DifferenceView,
    width: int,
    height: int,
    system: str,
    *,
    names: tuple[str, str],
    band: tuple[float, float] | None = None,
) -> list[Line]:
    """The difference in power over speed with its band, in at most `height` lines.

    `names` are the pull's and the reference's; `band` (rpm) is marked on the speed axis.
    Empty where there is no room for a picture or nothing to draw.
    """
    unit = quantities.display_unit("power", system)
    speeds = _numbers(view.speed_rpm)
    power, low, high = (
        _shown(values, "power", unit) for values in (view.power_kw, view.low_kw, view.high_kw)
    )
    reach = reach_of([*power, *_within(low + high, power), 0.0])
    title: Line = (
        (f"Difference, {unit} ", "strong"),
        (f" {SOLID} {names[0]} − {names[1]}", "curve"),
        ("  ░ 95 % band" if width >= 50 else "  ░ band", "quiet"),
    )
    return picture(
        title, speeds, reach, width, height, band,
        lambda plot: _draw_difference(plot, speeds, power, low, high),
    )  # fmt: skip


def overlay_picture(
    curve: CurveView,
    reference: CurveView | None,
    width: int,
    height: int,
    system: str,
    *,
    quantity: str = "power",
    band: tuple[float, float] | None = None,
) -> list[Line]:
    """A curve over the dashed one of its reference, if it has one; `quantity` ``"power"`` or
    ``"torque"``."""
    unit = quantities.display_unit(quantity, system)
    drawn = [
        (one, _numbers(one.speed_rpm), _shown(_values(one, quantity), quantity, unit))
        for one in (curve, reference)
        if one is not None
    ]
    title: list[tuple[str, str]] = [(f"{quantity.capitalize()}, {unit}  ", "strong")]
    for (one, _, _), face, role in zip(drawn, (SOLID, DASHED), ("curve", "other"), strict=False):
        title.append((f"{face} {one.label}  ", role))

    def draw(plot: Plot) -> None:
        for index, (_, speeds, values) in reversed(list(enumerate(drawn))):
            plot.curve(speeds, values, ("curve", "other")[index], dashed=index == 1)

    speeds = [speed for _, some, _ in drawn for speed in some]
    reach = reach_of([value for _, _, some in drawn for value in some])
    return picture(tuple(title), speeds, reach, width, height, band, draw)


def _values(curve: CurveView, quantity: str) -> Iterable[float]:
    return curve.power_kw if quantity == "power" else curve.torque_nm


def _draw_difference(
    plot: Plot,
    speeds: Sequence[float],
    power: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
) -> None:
    plot.zero_line()
    plot.shade(speeds, low, high)
    plot.curve(speeds, power, "curve")


def picture(
    title: Line,
    speeds: Sequence[float],
    reach: tuple[float, float] | None,
    width: int,
    height: int,
    band: tuple[float, float] | None,
    draw: Callable[[Plot], None],
    *,
    unit: str = "rpm",
    gutter: int = 0,
) -> list[Line]:
    """A titled plot with a scale at its left, `gutter` cells at least, and an axis in `unit`.

    `reach` is the range of values to cover; `band` is marked on the axis. Empty without room.
    """
    if height < SMALLEST or width < 24 or reach is None or len(speeds) < 2:
        return []
    rows = height - 2
    bottom, top, marks = even_scale(*reach, rows)
    labels = {value: _label(value, marks) for value in marks}
    gutter = max(gutter, max((len(text) for text in labels.values()), default=0) + 1)
    plot = Plot(width - gutter, rows, (min(speeds), max(speeds)), (bottom, top))
    draw(plot)
    beside = {plot.row_of(value, rows): text for value, text in labels.items()}
    lines: list[Line] = [fit_line(title, width)]
    for index, row in enumerate(plot.rows()):
        text = beside.get(index, "")
        edge = "┤" if text else "│"
        lines.append(((pad(text, gutter - 1, "right") + edge, "quiet"), *row))
    lines.append(_axis(plot, gutter, band, unit))
    return lines


def _axis(plot: Plot, gutter: int, band: tuple[float, float] | None, unit: str) -> Line:
    """The axis: round numbers under the picture, the band's part underlined by ``▔``."""
    low, high = plot.x_range
    cells = [" "] * plot.width
    if band:
        for column in range(plot.width):
            if band[0] <= plot.x_at(column, plot.width) <= band[1]:
                cells[column] = "▔"
    for speed in ticks(low, high, max(2, plot.width // 10)):
        text = f"{speed:.0f}"
        middle = round((speed - low) / (high - low) * plot.width)
        start = min(max(0, middle - len(text) // 2), plot.width - len(text))
        if all(cell in " ▔" for cell in cells[max(0, start - 1) : start + len(text) + 1]):
            cells[start : start + len(text)] = text
    axis = "".join(cells)
    tail = f" {unit}"
    if axis.rstrip("▔ ").endswith("0") and axis.endswith(" " * len(tail)):
        axis = axis[: -len(tail)] + tail
    return ((" " * gutter + axis, "quiet"),)


def _numbers(values: Iterable[float]) -> list[float]:
    return [float(value) for value in values]


def _shown(values: Iterable[float], kind: str, unit: str) -> list[float]:
    return [quantities.from_stored(float(value), unit, kind) for value in values]


def _within(edges: Sequence[float], values: Sequence[float]) -> list[float]:
    """The band's edges, without those so far out that the curve itself would turn flat."""
    known = [abs(v) for v in values if math.isfinite(v)]
    most = 3 * max(known, default=0.0)
    return [edge for edge in edges if abs(edge) <= most]


def reach_of(values: Sequence[float]) -> tuple[float, float] | None:
    """From the least to the greatest value, with a little room; ``None`` where none is known."""
    known = [value for value in values if math.isfinite(value)]
    if not known:
        return None
    low, high = min(known), max(known)
    room = (high - low) * _MARGIN or max(abs(high) * _MARGIN, 0.1)
    return low - room, high + room


def _label(value: float, marks: Sequence[float]) -> str:
    step = marks[1] - marks[0] if len(marks) > 1 else abs(value) or 1.0
    digits = max(0, -math.floor(math.log10(step) + 1e-9)) if step < 1 else 0
    text = f"{value:.{digits}f}"
    if marks[0] < 0 < value:
        text = "+" + text
    return "0" if float(text) == 0 else text.replace("-", "−")
