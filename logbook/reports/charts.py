"""Pictures of a printed report: matplotlib draws, the drawing is made fit for a page.

matplotlib is loaded when the first picture is drawn. No line is told from another by color
alone: each has its own dash and its name. Nothing in a drawing points outside it, and its ids
are its own, so that several can stand in one page.
"""

from __future__ import annotations

import io
import logging
import math
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias
from xml.etree import ElementTree

from logbook.plain import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, QUIET, RULE, SHADE, LINE = "#111111", "#555555", "#d8d8d8", "#dcdcdc", "#0b3d66"
WIDTH_IN = 7.0
_SVG, _XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
# One style a curve, told apart in gray: solid, dashed, dotted, dash-dot.
_STYLES: tuple[dict[str, Any], ...] = (
    {"color": LINE, "linewidth": 1.9, "linestyle": "-"},
    {"color": QUIET, "linewidth": 1.4, "linestyle": (0, (6, 2.5))},
    {"color": INK, "linewidth": 1.4, "linestyle": (0, (1.2, 1.6))},
    {"color": QUIET, "linewidth": 1.2, "linestyle": (0, (7, 2, 1.5, 2))},
)
# Any: which keys there are differs from one release of matplotlib to the next.
_SETTINGS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "logbook",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans", "Liberation Sans", "Arial"],
    "font.size": 8.5,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": RULE,
    "grid.linewidth": 0.6,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "legend.frameon": False,
    "text.parse_math": False,
}

Range: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class DifferenceChart:
    """A difference over engine speed (rpm) with its band, in `unit`; `band` is the speeds that
    count. NaN where there is none."""

    name: str
    unit: str
    speed: Sequence[float]
    value: Sequence[float]
    low: Sequence[float]
    high: Sequence[float]
    band: Range | None


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve over engine speed: power and torque in the chart's units."""

    name: str
    speed: Sequence[float]
    power: Sequence[float]
    torque: Sequence[float]


@dataclass(frozen=True, slots=True)
class CurvesChart:
    """Up to four curves over each other, power above torque; the first stands out."""

    power_unit: str
    torque_unit: str
    curves: tuple[Curve, ...]
    band: Range | None


@dataclass(frozen=True, slots=True)
class TimingChart:
    """A figure (`label`) in percent of its best against timing in degrees: every pull, the fit
    with its band where there is one, the engine's limit."""

    label: str
    timing: Sequence[float]
    percent: Sequence[float]
    fit: tuple[Sequence[float], Sequence[float], Sequence[float], Sequence[float]] | None
    limit: float | None


Chart: TypeAlias = DifferenceChart | CurvesChart | TimingChart


def svg(chart: Chart, title: str, description: str, key: str) -> str:
    """The picture as one ``<svg>`` element that says what it shows. `key` sets its ids apart from
    those of other pictures on the page."""
    drawn = io.StringIO()
    with _settings():
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure

        figure = Figure(layout="constrained")
        FigureCanvasSVG(figure)
        match chart:
            case DifferenceChart():
                _difference(figure, chart)
            case CurvesChart():
                _curves(figure, chart)
            case TimingChart():
                _timing(figure, chart)
        for patch in (figure.patch, *(axes.patch for axes in figure.axes)):
            patch.set_visible(False)  # the page's own white
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        figure.savefig(drawn, format="svg", metadata=nothing)
    return _for_the_page(drawn.getvalue(), plain(title), plain(description), key)


@contextmanager
def _settings() -> Iterator[None]:
    """The settings above, and nothing said to a terminal: neither that fonts are being listed,
    nor that a font lacks a character of somebody's words (whoever shows the page has one)."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib

    with matplotlib.rc_context(_SETTINGS), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing", category=UserWarning)
        yield


def _difference(figure: Figure, chart: DifferenceChart) -> None:
    figure.set_size_inches(WIDTH_IN, 2.9)
    axes = figure.add_subplot()
    axes.axhline(0.0, color=INK, linewidth=0.9)
    if any(map(math.isfinite, chart.low)):
        axes.fill_between(
            chart.speed, chart.low, chart.high, color=SHADE, linewidth=0, label="95 % band"
        )
        for edge in (chart.low, chart.high):
            axes.plot(chart.speed, edge, color=QUIET, linewidth=0.6)
    axes.plot(chart.speed, chart.value, label=plain(chart.name), **_STYLES[0])
    _limit(axes, chart)
    axes.set_ylabel(f"Difference, {chart.unit}")
    axes.yaxis.set_major_formatter(lambda value, _: signed(value))
    _speed_axis(axes, chart.band)
    _names(axes)


def _limit(axes: Axes, chart: DifferenceChart) -> None:
    """Band edges so far out that the curve itself would turn flat are cut off."""
    known = [abs(value) for value in chart.value if math.isfinite(value)]
    most = 3.0 * max(known, default=0.0)
    edges = [edge for edge in (*chart.low, *chart.high) if math.isfinite(edge)]
    if most and any(abs(edge) > most for edge in edges):
        axes.set_ylim(max(min(edges), -most), min(max(edges), most))


def _curves(figure: Figure, chart: CurvesChart) -> None:
    figure.set_size_inches(WIDTH_IN, 4.6)
    power, torque = figure.subplots(2, 1, sharex=True, height_ratios=(1.15, 1.0))
    for axes, unit, label in (
        (power, chart.power_unit, "Power"),
        (torque, chart.torque_unit, "Torque"),
    ):
        for curve, style in reversed(list(zip(chart.curves, _STYLES, strict=False))):
            values = curve.power if axes is power else curve.torque
            axes.plot(curve.speed, values, label=plain(curve.name), **style)
        axes.set_ylabel(f"{label}, {unit}")
    _speed_axis(torque, chart.band)
    _names(power, reverse=True)


def _timing(figure: Figure, chart: TimingChart) -> None:
    figure.set_size_inches(WIDTH_IN, 2.7)
    axes = figure.add_subplot()
    if chart.fit is not None:
        degrees, percent, low, high = chart.fit
        axes.fill_between(degrees, low, high, color=SHADE, linewidth=0, label="95 % band")
        axes.plot(degrees, percent, label="fit", **_STYLES[0])
    axes.plot(chart.timing, chart.percent, "o", color=INK, markersize=4.5, label="a pull")
    if chart.limit is not None:
        axes.axvline(chart.limit, color=INK, linewidth=2.4, label=f"limit {chart.limit:g}°")
    near = [*chart.percent]
    room = max(0.3, 0.25 * (max(near) - min(near)))
    axes.set_ylim(min(near) - room, max(near) + room)
    axes.set_ylabel(f"{chart.label}, %")
    axes.set_xlabel("Timing, ° before top dead center")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:.1f}")
    _names(axes)


def _speed_axis(axes: Axes, band: Range | None) -> None:
    axes.set_xlabel("Engine speed, rpm")
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:.0f}")
    if band is not None:
        axes.plot(
            band, (0.0, 0.0), transform=axes.get_xaxis_transform(), color=INK, linewidth=4.0,
            solid_capstyle="butt", clip_on=False, label="speeds that count",
        )  # fmt: skip


def _names(axes: Axes, *, reverse: bool = False) -> None:
    handles, labels = axes.get_legend_handles_labels()
    if reverse:
        handles, labels = handles[::-1], labels[::-1]
    axes.legend(handles, labels, loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=4,
                borderaxespad=0.2, handlelength=2.6)  # fmt: skip


def signed(value: float) -> str:
    """A mark on an axis of differences: ``+2``, ``−0.5``, ``0``."""
    text = f"{value:+.6g}".replace("-", "−")
    return "0" if float(f"{value:.6g}") == 0 else text


def _for_the_page(drawn: str, title: str, description: str, key: str) -> str:
    """The drawing without prolog and page color, named, with ids that begin with `key`."""
    for prefix, space in (("", _SVG), ("xlink", _XLINK)):
        ElementTree.register_namespace(prefix, space)
    root = ElementTree.fromstring(drawn)
    for element in root.iter():
        if "id" in element.attrib:
            element.set("id", f"{key}-{element.get('id')}")
        for name, value in element.attrib.items():
            if value.startswith("#") and name.endswith("href"):
                element.set(name, f"#{key}-{value[1:]}")
            elif "url(#" in value:
                element.set(name, value.replace("url(#", f"url(#{key}-"))
    for name in ("width", "height", "version"):
        root.attrib.pop(name, None)
    for kept in root.findall(f"{{{_SVG}}}defs"):
        if kept.find(f"{{{_SVG}}}style") is not None:
            root.remove(kept)  # a style within a page would be one for the whole page
    root.set("style", "stroke-linejoin: round; stroke-linecap: butt")
    root.set("role", "img")
    root.set("aria-labelledby", f"{key}-title {key}-desc")
    for place, (tag, text) in enumerate((("title", title), ("desc", description))):
        named = ElementTree.Element(f"{{{_SVG}}}{tag}", {"id": f"{key}-{tag}"})
        named.text = text
        root.insert(place, named)
    return ElementTree.tostring(root, encoding="unicode")
