"""A small plotting field of braille dots: two dots across and four down in every cell.

Lines are told apart by their pattern (solid, dashed), not by color; a shaded band and a zero
line lie underneath. Pure: numbers in, lines of text out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from logbook.app.widgets.ink import Line

_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_DASH = 3
SHADE, ZERO = "░", "─"


def nice_step(span: float, most: int) -> float:
    """The smallest round step (1, 2 or 5 times a power of ten) of which `most` cover `span`."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw)) if raw > 0 else 1.0
    return next((power * m for m in (1, 2, 5, 10) if power * m >= raw * 0.999), power * 10)


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values within ``low … high``, at most about `most` of them."""
    step = nice_step(high - low, most)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [index * step for index in range(first, last + 1)]


def even_scale(low: float, high: float, rows: int) -> tuple[float, float, list[float]]:
    """A range that covers ``low … high`` with round ticks in the middle of rows, evenly apart.

    Of the scales that fit, the one that fills the rows best. Returns (low, high, ticks); fewer
    than two ticks only where there is hardly a row.
    """
    power = math.floor(math.log10(high - low))
    best: tuple[float, int] | None = None
    for exponent in (power - 1, power, power + 1):
        for digit in (1, 2, 5):
            step = digit * 10.0**exponent
            for per_step in range(1, 7):
                cell = step / per_step
                first, last = round(low / cell), round(high / cell)
                marks = last // per_step + (-first) // per_step + 1
                if last - first >= rows or marks < 2 or marks * 2 > max(rows, 5):
                    continue
                if best is None or cell < best[0] * 0.999:
                    best = (cell, per_step)
    if best is None:
        return low, high, []
    cell, per_step = best
    first, last = round(low / cell), round(high / cell)
    top = last + (rows - 1 - (last - first)) // 2
    bottom = top - rows + 1
    marks_at = range(math.ceil(bottom / per_step) * per_step, top + 1, per_step)
    return (bottom - 0.5) * cell, (top + 0.5) * cell, [index * cell for index in marks_at]


def at(speeds: Sequence[float], values: Sequence[float], speed: float) -> float | None:
    """Linear interpolation; ``None`` outside, or beside a missing value."""
    if not speeds or not speeds[0] <= speed <= speeds[-1]:
        return None
    low, high = 0, len(speeds) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if speeds[middle] <= speed else (low, middle)
    left, right = values[low], values[high]
    if not (math.isfinite(left) and math.isfinite(right)):
        return None
    width = speeds[high] - speeds[low]
    share = (speed - speeds[low]) / width if width else 0.0
    return left + share * (right - left)


@dataclass(slots=True)
class Plot:
    """A field of `width` × `height` cells over ``x_range`` and ``y_range``."""

    width: int
    height: int
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    _bits: dict[tuple[int, int], int] = field(default_factory=dict)
    _roles: dict[tuple[int, int], str] = field(default_factory=dict)
    _shaded: set[tuple[int, int]] = field(default_factory=set)
    _zero: int | None = None

    def x_at(self, column: float, columns: int) -> float:
        """The x value of a column's middle when the field has `columns` of them."""
        low, high = self.x_range
        return low + (column + 0.5) / columns * (high - low)

    def row_of(self, value: float, rows: int) -> int:
        """The row of a value when the field has `rows`; 0 is the top. May lie outside."""
        low, high = self.y_range
        return math.floor((high - value) / (high - low) * rows)

    def zero_line(self) -> None:
        """Draw a line at zero, underneath everything."""
        row = self.row_of(0.0, self.height)
        self._zero = row if 0 <= row < self.height else None

    def shade(self, speeds: Sequence[float], low: Sequence[float], high: Sequence[float]) -> None:
        """Shade the cells between two curves; at least one cell where both are known."""
        for column in range(self.width):
            x = self.x_at(column, self.width)
            bottom, top = at(speeds, low, x), at(speeds, high, x)
            if bottom is None or top is None:
                continue
            first = max(0, self.row_of(top, self.height))
            last = min(self.height - 1, self.row_of(bottom, self.height))
            self._shaded.update((column, row) for row in range(first, last + 1))

    def curve(
        self, speeds: Sequence[float], values: Sequence[float], role: str, *, dashed: bool = False
    ) -> None:
        """Draw a curve, its dots joined upright so that steep parts have no gaps."""
        before: int | None = None
        for x in range(2 * self.width):
            value = at(speeds, values, self.x_at(x, 2 * self.width))
            if value is None:
                before = None
                continue
            y = self.row_of(value, 4 * self.height)
            if not dashed or (x // _DASH) % 2 == 0:
                for dot in _between(before, y):
                    self._dot(x, dot, role)
            before = y

    def _dot(self, x: int, y: int, role: str) -> None:
        if not (0 <= x < 2 * self.width and 0 <= y < 4 * self.height):
            return
        cell = (x // 2, y // 4)
        self._bits[cell] = self._bits.get(cell, 0) | _DOTS[y % 4][x % 2]
        self._roles[cell] = role

    def rows(self) -> list[Line]:
        """The field as lines of spans."""
        return [
            spans_of(self._cell(column, row) for column in range(self.width))
            for row in range(self.height)
        ]

    def _cell(self, column: int, row: int) -> tuple[str, str]:
        cell = (column, row)
        if bits := self._bits.get(cell):
            return chr(0x2800 + bits), self._roles[cell]
        shaded = cell in self._shaded
        if row == self._zero and not (shaded and column % 2):
            return ZERO, "quiet"
        return (SHADE, "quiet") if shaded else (" ", "")


def _between(before: int | None, now: int) -> range:
    if before is None or before == now:
        return range(now, now + 1)
    return range(before + 1, now + 1) if before < now else range(now, before)


def spans_of(cells: Iterable[tuple[str, str]]) -> Line:
    """Cells of a line, those beside each other with one role as one span."""
    spans: list[tuple[str, str]] = []
    for text, role in cells:
        if spans and spans[-1][1] == role:
            spans[-1] = (spans[-1][0] + text, role)
        else:
            spans.append((text, role))
    return tuple(spans)
