"""Figures that can be read across the cell: block digits and shaped signs, any height.

Each glyph is a small grid of cells; the grid's columns and rows are stretched to the height
asked for, so that strokes stay even. Signs are shapes of their own: a triangle up, a triangle
down, two bars, a question mark.
"""

from __future__ import annotations

from functools import lru_cache

from logbook.reports.showing import GAIN_SIGN, LOSS_SIGN

SMALLEST = 5

_GLYPHS: dict[str, tuple[str, ...]] = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("## ", " # ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "−": ("   ", "   ", "###", "   ", "   "),
    ".": (" ", " ", " ", " ", "#"),
    "=": ("   ", "###", "   ", "###", "   "),
    "?": ("###", "  #", " ##", "   ", " # "),
}


def role_of(verdict: str) -> str:
    """The color role of a verdict."""
    for start, role in (("gain", "gain"), ("loss", "loss"), ("nothing", "nothing")):
        if verdict.startswith(start):
            return role
    return "unsettled"


@lru_cache(maxsize=512)
def _glyph(character: str, height: int) -> tuple[str, ...]:
    if character == GAIN_SIGN:
        return tuple("█" * (2 * row + 1) for row in range(height))
    if character == LOSS_SIGN:
        return tuple(reversed(_glyph(GAIN_SIGN, height)))
    if character == "+":
        return _plus(height)
    grid = _GLYPHS[character]
    widths = _columns(height) if len(grid[0]) == 3 else (_columns(height)[0],)
    drawn: list[str] = []
    for row, times in zip(grid, _rows(height), strict=True):
        text = "".join(
            ("█" if mark == "#" else " ") * w for mark, w in zip(row, widths, strict=True)
        )
        drawn.extend([text] * times)
    return tuple(drawn)


def _plus(height: int) -> tuple[str, ...]:
    """Even arms: one stroke across, one upright of the same weight."""
    top, upper, bar, *_ = _rows(height)
    upright = arm = 2 * bar
    across = "█" * (upright + 2 * arm)
    stroke = " " * arm + "█" * upright + " " * arm
    blank = " " * len(across)
    first, last = top + upper, top + upper + bar
    rows = []
    for row in range(height):
        if first <= row < last:
            rows.append(across)
        elif first - bar <= row < last + bar:
            rows.append(stroke)
        else:
            rows.append(blank)
    return tuple(rows)


def _bar(height: int) -> int:
    return max(1, (height + 2) // 5)


def _rows(height: int) -> tuple[int, int, int, int, int]:
    """Five grid rows over `height` rows: three bars of even thickness, two gaps between."""
    bar = _bar(height)
    gaps = height - 3 * bar
    return (bar, gaps - gaps // 2, bar, gaps // 2, bar)


def _columns(height: int) -> tuple[int, int, int]:
    """A cell is about twice as high as wide: an upright stroke takes two cells per bar row."""
    bar = 2 * _bar(height)
    return (bar, max(2, height - bar - 1), bar)


@lru_cache(maxsize=128)
def big(text: str, height: int = SMALLEST) -> tuple[str, ...]:
    """`text` (digits, signs, a point) in block letters of `height` rows (at least five).

    All rows are equally long. A triangle is centered on its rows.
    """
    height = max(height, SMALLEST)
    rows = [""] * height
    for index, character in enumerate(text):
        glyph = _glyph(character, height)
        width = max(len(part) for part in glyph)
        wide = height >= 7 or text[index - 1 : index] in ("▲", "▼")
        gap = "" if not index else " " * (2 if wide else 1)
        rows = [row + gap + part.center(width) for row, part in zip(rows, glyph, strict=True)]
    return tuple(rows)


def tallest(text: str, width: int, height: int) -> tuple[str, ...] | None:
    """The largest block letters that fit into `width` × `height` cells, or ``None``."""
    for rows in range(height, SMALLEST - 1, -1):
        drawn = big(text, rows)
        if len(drawn[0]) <= width:
            return drawn
    return None
