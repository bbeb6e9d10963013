"""A picture of single values: a dot for each, level lines behind them, words under the axis.

Pure: numbers in, lines of text out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from logbook.app.widgets.braille import Plot, even_scale
from logbook.app.widgets.ink import Line, fit_line, pad

SMALLEST = 5
DOT = "●"
_GUTTER = 8
_ROOM = 0.08


class Dot(NamedTuple):
    """One value and the role it is drawn in; `mark` tells kinds of dots apart without color."""

    x: float
    y: float
    role: str = "strong"
    mark: str = DOT


class Level(NamedTuple):
    """A line across the picture, drawn with `mark`."""

    y: float
    mark: str
    role: str = "quiet"


def points_picture(
    title: Line,
    dots: Sequence[Dot],
    levels: Sequence[Level],
    width: int,
    height: int,
    *,
    under: Sequence[tuple[float, str]],
    bars: Sequence[float] = (),
) -> list[Line]:
    """The picture in at most `height` lines; nothing where there is no room.

    Parameters
    ----------
    under : x and word for the axis, left to right; one that would touch another is left out.
    bars : x of upright lines, such as where another build begins.
    """
    rows = height - 2
    if height < SMALLEST or width < 30 or not dots:
        return []
    x_range = _range([dot.x for dot in dots], 0.02)
    y_range = _range([*(dot.y for dot in dots), *(level.y for level in levels)], _ROOM)
    bottom, top, marks = even_scale(*y_range, rows)
    plot = Plot(width - _GUTTER, rows, x_range, (bottom, top))
    grid = [cells_of(row) for row in plot.rows()]
    for x in bars:
        for row in grid:
            row[column_of(x, plot)] = ("┊", "quiet")
    for level in levels:
        at = plot.row_of(level.y, rows)
        if 0 <= at < rows:
            grid[at] = [(level.mark, level.role)] * plot.width
    for dot in dots:
        at = min(max(plot.row_of(dot.y, rows), 0), rows - 1)
        grid[at][column_of(dot.x, plot)] = (dot.mark, dot.role)
    labels = {plot.row_of(value, rows): _figure(value, marks) for value in marks}
    lines: list[Line] = [fit_line(title, width)]
    for index, cells in enumerate(grid):
        text = labels.get(index, "")
        edge = "┤" if text else "│"
        lines.append(((pad(text, _GUTTER - 1, "right") + edge, "quiet"), *cells))
    return [*lines, _axis(plot, under)]


def cells_of(line: Line) -> list[tuple[str, str]]:
    """A drawn row cell by cell, to be drawn over."""
    return [(character, role) for text, role in line for character in text]


def column_of(x: float, plot: Plot) -> int:
    """The column of a value, within the field."""
    low, high = plot.x_range
    return min(plot.width - 1, max(0, int((x - low) / (high - low) * plot.width)))


def _range(values: Sequence[float], share: float) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = (high - low) * share or max(abs(high) * 0.05, 0.5)
    return low - room, high + room


def _figure(value: float, marks: Sequence[float]) -> str:
    step = marks[1] - marks[0] if len(marks) > 1 else abs(value) or 1.0
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{value:.{digits}f}"
    return "0" if float(text) == 0 else text.replace("-", "−")


def _axis(plot: Plot, under: Sequence[tuple[float, str]]) -> Line:
    cells = [" "] * plot.width
    for x, text in under:
        start = max(0, min(column_of(x, plot) - len(text) // 2, plot.width - len(text)))
        if all(cell == " " for cell in cells[max(0, start - 1) : start + len(text) + 1]):
            cells[start : start + len(text)] = text[: plot.width]
    return ((" " * _GUTTER + "".join(cells), "quiet"),)
