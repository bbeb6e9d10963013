"""Two sides beside each other: a label and two values a line, folded where they are long."""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import cell_len

from logbook import quantities
from logbook.app.widgets.ink import BLANK, Line, one, pad, wrap
from logbook.cases.results import Differing
from logbook.records.score import Figures
from logbook.reports import showing

NARROW, FIGURE = 40, 7  # narrower than this a value's column holds a figure and no more
_FIGURES = (
    ("Band power", "power", "band_power_kw"),
    ("Band torque", "torque", "band_torque_nm"),
    ("Peak power", "power", "peak_power_kw"),
    ("at", "speed", "peak_power_rpm"),
    ("Peak torque", "torque", "peak_torque_nm"),
    ("at", "speed", "peak_torque_rpm"),
)


def pair(what: str, left: str, right: str, width: int, role: str = "") -> list[Line]:
    """A label and its two values; the right one is the stronger. Where a word is longer than its
    column they stand under each other."""
    narrow = width < NARROW
    align, gap = ("right", "") if narrow else ("left", " ")
    label = width - 2 * FIGURE - 1 if narrow else max(10, min(18, width // 3))
    side = FIGURE if narrow else (width - label - 2) // 2
    if any(
        cell_len(word) > size
        for text, size in ((what, label), (left, side), (right, side))
        for word in text.split()
    ):
        return _stacked(what, left, right, width, role)
    parts = [wrap(text, size) for text, size in ((what, label), (left, side), (right, side))]
    rows: list[Line] = []
    for index in range(max(len(part) for part in parts)):
        cells = [part[index][0][0] if index < len(part) else "" for part in parts]
        rows.append(
            (
                (pad(cells[0], label) + gap, "quiet"),
                (pad(cells[1], side, align) + " ", role),
                (pad(cells[2], side, align), role or "strong"),
            )
        )
    return rows


def _stacked(what: str, left: str, right: str, width: int, role: str) -> list[Line]:
    lines = wrap(what, width, "quiet") if what else []
    for lead, text, own in (("  ", left, role), ("→ ", right, role or "strong")):
        for number, line in enumerate(wrap(text, width - len(lead), own)):
            lines.append(((lead if not number else "  ", "quiet"), *line))
    return lines


def figure_pairs(left: Figures, right: Figures, width: int, system: str) -> list[Line]:
    """Band averages and peaks."""
    lines: list[Line] = []
    for name, kind, attribute in _FIGURES:
        one_text, other_text = (
            quantities.show(getattr(figures, attribute), kind, system, unit=False)
            for figures in (left, right)
        )
        unit = quantities.display_unit(kind, system)
        lines += pair(f"{name}, {unit}", one_text, other_text, width)
    return lines


def differing_pairs(differing: Iterable[Differing], width: int) -> list[Line]:
    """Everything that differs, under its own heading."""
    items = list(differing)
    count = "One thing that differs" if len(items) == 1 else f"{len(items)} things that differ"
    lines = [BLANK, one(count, "strong")]
    for item in items:
        left, right = item.left or showing.NOTHING, item.right or showing.NOTHING
        lines += pair(item.what, left, right, width)
    return lines
