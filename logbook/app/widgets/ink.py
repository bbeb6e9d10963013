"""Lines of text with a meaning, made into strips: the one way text reaches the terminal.

A line is a tuple of (text, role) spans. Everything drawn by our own widgets passes `strip`,
where control characters are made visible and a line that is too long ends in ``…``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from logbook.app.theme import ink
from logbook.plain import plain

if TYPE_CHECKING:
    from typing import Any

    from textual.app import App

Span = tuple[str, str]
Line = tuple[Span, ...]
Draw = Callable[[int], Sequence[Line]]
"""Draws something for a width in cells."""
BLANK: Line = ()
CUT = "…"


def one(text: str, role: str = "") -> Line:
    """A line of one span."""
    return ((text, role),)


def width_of(line: Iterable[Span]) -> int:
    """Cells a line takes."""
    return sum(cell_len(plain(text)) for text, _ in line)


def fit(text: str, width: int) -> str:
    """`text` cut to `width` cells, with ``…`` where something was left away."""
    text = plain(text)
    if cell_len(text) <= width:
        return text
    if width <= 0:
        return ""
    return set_cell_size(text, width - 1).rstrip() + CUT


def pad(text: str, width: int, align: str = "left") -> str:
    """`text` in exactly `width` cells."""
    text = fit(text, width)
    gap = " " * (width - cell_len(text))
    return gap + text if align == "right" else text + gap


def fit_line(line: Line, width: int) -> Line:
    """A line cut to `width` cells, with ``…`` where something was left away."""
    line = tuple((plain(text), role) for text, role in line)
    if sum(cell_len(text) for text, _ in line) <= width:
        return line
    kept: list[Span] = []
    left = width
    for shown, role in line:
        if cell_len(shown) >= left:
            kept.append((fit(shown + " " * 2, left), role))
            break
        kept.append((shown, role))
        left -= cell_len(shown)
    return tuple(kept)


def join(parts: Iterable[Line], between: str = " · ") -> Line:
    """Lines one after another with a quiet mark between; empty ones are left away."""
    spans: list[Span] = []
    for part in parts:
        if not width_of(part):
            continue
        if spans:
            spans.append((between, "quiet"))
        spans.extend(part)
    return tuple(spans)


def rows_of(parts: Iterable[Line], width: int) -> list[Line]:
    """Parts side by side, in as many rows as they need."""
    rows: list[list[Line]] = [[]]
    for part in parts:
        if rows[-1] and width_of(join([*rows[-1], part])) > width:
            rows.append([])
        rows[-1].append(part)
    return [join(row) for row in rows if row]


def wrap(text: str, width: int, role: str = "", *, indent: str = "") -> list[Line]:
    """`text` in lines of at most `width` cells, broken at blanks; later ones indented."""
    lines: list[Line] = []
    for paragraph in plain(text, lines=True).split("\n"):
        current = ""
        for word in _pieces(paragraph, width - len(indent)):
            start = indent if lines else ""
            candidate = f"{current} {word}" if current else start + word
            if cell_len(candidate) <= width or not current:
                current = candidate
            else:
                lines.append(((fit(current, width), role),))
                current = indent + word
        lines.append(((fit(current, width), role),))
    return lines


def _pieces(paragraph: str, width: int) -> list[str]:
    """The words of a paragraph; one that is too long for a line is broken, not cut."""
    words: list[str] = []
    for word in paragraph.split(" "):
        while cell_len(word) > max(width, 4):
            head = set_cell_size(word, max(width, 4)).rstrip()
            words.append(head)
            word = word[len(head) :]
        words.append(word)
    return words


def at_most(lines: Sequence[Line], most: int) -> list[Line]:
    """The lines, or as many as fit with a last one that says how many do not."""
    if len(lines) <= most:
        return list(lines)
    more = len(lines) - most + 1
    return [*lines[: most - 1], one(f"{CUT} {more} more lines in a taller window", "quiet")]


def strip(
    app: App[Any], line: Line, width: int, base: Style, *, over: Style | None = None
) -> Strip:
    """A line as a strip of exactly `width` cells. `over` is laid over every span (a cursor);
    under it quiet text is as plain as the rest, for gray reversed is a patch."""
    segments: list[Segment] = []
    used = 0
    for shown, role in fit_line(line, width):
        used += cell_len(shown)
        style = base + ink(app, "" if over and role == "quiet" else role)
        segments.append(Segment(shown, style + over if over else style))
    if used < width:
        segments.append(Segment(" " * (width - used), base + over if over else base))
    return Strip(segments, max(used, width)).crop(0, width)
