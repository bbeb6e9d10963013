"""Speed and load against sample, with what is taken as the pull shaded and other parts named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook import quantities
from logbook.app.widgets.braille import Plot, spans_of
from logbook.app.widgets.curve import picture, reach_of
from logbook.app.widgets.ink import Line
from logbook.cases.edges import EdgesView, Marked

if TYPE_CHECKING:
    from logbook.cases.results import Array

_GUTTER = 6
_AROUND = 60  # samples at either side of an edge that is looked at closely
WHOLE, FIRST, LAST = "whole", "first", "last"


def window(view: EdgesView, taken: tuple[int, int], look: str) -> tuple[int, int]:
    """The samples to draw: all of them, or those around an edge."""
    if look == WHOLE:
        return 0, view.count - 1
    edge = taken[0] if look == FIRST else taken[1]
    return max(0, edge - _AROUND), min(view.count - 1, edge + _AROUND)


def pictures(
    view: EdgesView, taken: tuple[int, int], look: str, width: int, height: int, system: str
) -> list[Line]:
    """The speed above the torque (else the power), and a line that names the parts."""
    load = "torque" if view.of("torque") is not None else "power"
    lines: list[Line] = []
    strip = _parts_line(view, taken, window(view, taken, look), width)
    room = height - (1 if strip else 0)
    for quantity, rows in (("engine speed", room // 2), (load, room - room // 2)):
        lines += _picture(view, quantity, taken, look, width, rows, system)
    return [*lines, strip] if lines and strip else lines


def _picture(
    view: EdgesView,
    quantity: str,
    taken: tuple[int, int],
    look: str,
    width: int,
    height: int,
    system: str,
) -> list[Line]:
    found = view.of(quantity)
    if found is None:
        return []
    kind = "speed" if quantity == "engine speed" else quantity
    unit = quantities.display_unit(kind, system)
    low, high = window(view, taken, look)
    factor, offset = quantities.linear(unit, kind)
    seen, at_sample = _thinned((found[low : high + 1] - offset) / factor, 2 * width)
    shown, samples = seen.tolist(), (at_sample + float(view.begin + low + 1)).tolist()
    reach = reach_of(shown)
    first, last = (float(view.begin + at + 1) for at in taken)

    def draw(plot: Plot) -> None:
        bottom, top = plot.y_range
        edges = [max(first, samples[0]) - 0.5, min(last, samples[-1]) + 0.5]
        if edges[0] < edges[1]:
            plot.shade(edges, [bottom, bottom], [top - 1e-9, top - 1e-9])
        plot.curve(samples, shown, "curve")

    title: Line = (
        (f"{quantity.capitalize()}, {unit}", "strong"),
        ("  ░ taken as the pull" if quantity == "engine speed" else "", "quiet"),
    )
    return picture(title, samples, reach, width, height, (first, last), draw,
                   unit="sample", gutter=_GUTTER)  # fmt: skip


def _thinned(values: Array, columns: int) -> tuple[Array, Array]:
    """What a picture of so many columns can show of many values: of each column the lowest and
    the highest, in their order, and which they are."""
    import numpy as np

    each = len(values) // columns
    if each < 4:
        return values, np.arange(len(values), dtype=np.float64)
    whole = values[: each * columns].reshape(columns, each)
    filled = np.where(np.isnan(whole), np.inf, whole), np.where(np.isnan(whole), -np.inf, whole)
    begins = np.arange(columns) * each
    picked = np.unique(
        np.concatenate(
            [
                [0],
                begins + filled[0].argmin(axis=1),
                begins + filled[1].argmax(axis=1),
                np.arange(each * columns, len(values)),
                [len(values) - 1],
            ]
        )
    )
    return values[picked], picked.astype(np.float64)


def _parts_line(view: EdgesView, taken: tuple[int, int], seen: tuple[int, int], width: int) -> Line:
    """Which samples belong to which pull or part, under the pictures; nothing for one alone."""
    own = Marked(f"pull {view.number}" if view.number else "this pull", *taken)
    if not view.others:
        return ()
    cells = width - _GUTTER
    places: list[tuple[str, str]] = [(" ", "")] * cells
    low, high = seen
    for mark, role in [*((other, "quiet") for other in view.others), (own, "accent")]:
        if mark.last < low or mark.first > high:
            continue
        start, end = (
            round((min(max(at, low), high) - low) / max(1, high - low) * (cells - 1))
            for at in (mark.first, mark.last)
        )
        text = f"{mark.label} "[: end - start + 1].ljust(end - start + 1, "━")
        places[start : end + 1] = [(letter, role) for letter in text]
    return ((" " * _GUTTER, ""), *spans_of(places))
