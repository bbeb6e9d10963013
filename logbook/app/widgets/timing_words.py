"""The timing answer in block figures, words and a picture. Pure: a view in, lines out."""

from __future__ import annotations

import math

from logbook.app.widgets.answer_words import CAUTION, caution_lines
from logbook.app.widgets.braille import Plot, even_scale, ticks
from logbook.app.widgets.figures import SMALLEST, tallest
from logbook.app.widgets.ink import BLANK, Line, fit_line, one, pad, wrap
from logbook.app.widgets.points import cells_of, column_of
from logbook.cases.timing import TimingView

PICTURE_ROWS = 8
ROOM_BESIDE = 30


def timing_lines(view: TimingView, width: int) -> list[Line]:
    """The next timing first and largest, the limit always beside it; then what the pulls say."""
    lines = [*_answer(view, width), *_bounds(view, width)]
    lines += caution_lines(view.cautions, width)
    lines += [BLANK, *_best(view, width)]
    lines += timing_picture(view, width, PICTURE_ROWS)
    lines += [*_thirds(view, width), *_left_out(view, width)]
    return lines


def limit_words(view: TimingView) -> str:
    """The engine's limit, or that there is none on its sheet."""
    if view.limit_deg is None:
        return "no limit on the sheet"
    return f"limit {view.limit_deg:g}°"


def stop_words(view: TimingView) -> str:
    """Why no timing is advised, or ``""``."""
    if view.advice is not None and view.advice.next_deg is not None:
        return ""
    return (view.advice.stop if view.advice else "") or view.bounds.stop or view.why_none


def _answer(view: TimingView, width: int) -> list[Line]:
    advice, stop = view.advice, stop_words(view)
    shown = None
    if advice is not None:
        shown = advice.next_deg if advice.next_deg is not None else advice.now_deg
    if advice is None or shown is None:
        return [one(f"STOP  {limit_words(view)}", "caution"), *wrap(stop, width, "strong")]
    role = "accent" if advice.next_deg is not None else "strong"
    drawn = tallest(f"{shown:g}", max(width - ROOM_BESIDE, 8), SMALLEST) or (f"{shown:g}",)
    if advice.next_deg is not None:
        what = "pull this timing next"
    elif view.answer is not None and view.answer.trusted:
        what = "the choice; stop here"
    else:
        what = "the choice so far, in doubt"
    beside = {0: "°", 1: what, 3: limit_words(view)}
    if advice.next_deg is not None and advice.now_deg is not None:
        beside[2] = f"the choice so far: {advice.now_deg:g}°"
    if advice.least_deg is not None:
        beside[4] = f"least within 0.2 %: {advice.least_deg:g}°"
    lines: list[Line] = [
        ((row, role), (f" {beside.get(index, '')}", "strong")) for index, row in enumerate(drawn)
    ]
    return [*lines, *wrap(advice.why or stop, width)]


def _bounds(view: TimingView, width: int) -> list[Line]:
    lines: list[Line] = []
    for sentence in view.bounds.says:
        asks = "knock" in sentence.casefold() or "no timing limit" in sentence
        role = "caution" if asks else "quiet"
        mark = CAUTION if asks else "  "
        first, *rest = wrap(sentence, width - 2, role)
        lines.append(((mark, role), *first))
        lines.extend((("  ", ""), *line) for line in rest)
    return lines


def _best(view: TimingView, width: int) -> list[Line]:
    answer = view.answer
    if answer is None:
        return []
    fit = answer.fit
    if fit.best_deg is None:
        lines = wrap(fit.why_not, width, "strong")
    else:
        low, high = fit.interval_deg
        words = f"Best {fit.best_deg:.1f}°, 95 % {_edge(low)} to {_edge(high)}"
        if fit.least_deg is not None:
            words += f" · least within 0.2 % {fit.least_deg:.1f}°"
        lines = wrap(words, width, "strong")
        losses = " · ".join(f"{d:+d}° {loss:.2f} %" for d, loss in fit.loss_percent.items())
        lines += wrap(f"Lost beside it: {losses}".replace("-", "−"), width, "quiet")
    for doubt in answer.doubts:
        lines += [((CAUTION, "caution"), *line) for line in wrap(doubt.text, width - 2, "caution")]
    if answer.settle_deg is not None:
        lines += wrap(f"A pull at {answer.settle_deg:g}° would settle it.", width)
    return lines


def _edge(value: float | None) -> str:
    return "open" if value is None else f"{value:.1f}°"


def timing_picture(view: TimingView, width: int, rows: int) -> list[Line]:
    """Torque in percent against timing: the fitted curve with its band, ● for every pull, ┃ at
    the engine's limit. Empty where nothing was pulled or there is no room."""
    if not view.tested or width < 30:
        return []
    degrees = [tested.timing_deg for tested in view.tested]
    edges = [*degrees, *([view.limit_deg] if view.limit_deg is not None else [])]
    left, right = min(edges) - 1, max(edges) + 1
    percents = [tested.percent for tested in view.tested]
    bottom, top, marks = even_scale(min(percents) - 0.2, max(percents) + 0.2, rows)
    gutter = 7
    plot = Plot(width - gutter, rows, (left, right), (bottom, top))
    if view.drawn is not None:
        x = [float(value) for value in view.drawn.timing]
        curves = (view.drawn.torque, view.drawn.low, view.drawn.high)
        torque, low, high = ([100 * float(v) / view.unit for v in curve] for curve in curves)
        low, high = _kept(low, bottom), _kept(high, top)
        plot.shade(x, low, high)
        plot.curve(x, torque, "curve")
    grid = [cells_of(row) for row in plot.rows()]
    if view.limit_deg is not None:
        column = column_of(view.limit_deg, plot)
        for row in grid:
            row[column] = ("┃", "caution")
    for tested in view.tested:
        row_at = plot.row_of(tested.percent, rows)
        if 0 <= row_at < rows:
            grid[row_at][column_of(tested.timing_deg, plot)] = ("●", "strong")
    labels = {plot.row_of(value, rows): f"{value:.1f}" for value in marks}
    title: Line = (
        (f"{view.scored_on.capitalize()}, % of best  ", "strong"),
        ("● pull  ⠒⠒ fit  ░ 95 % band" + ("  ┃ limit" if view.limit_deg is not None else ""),
         "quiet"),
    )  # fmt: skip
    lines: list[Line] = [fit_line(title, width)]
    for index, cells in enumerate(grid):
        text = labels.get(index, "")
        edge = "┤" if text else "│"
        lines.append(((pad(text, gutter - 1, "right") + edge, "quiet"), *cells))
    return [*lines, _axis(plot, gutter, left, right)]


def _kept(values: list[float], edge: float) -> list[float]:
    """Without infinite ends, which have no place in a picture."""
    return [value if math.isfinite(value) else edge for value in values]


def _axis(plot: Plot, gutter: int, left: float, right: float) -> Line:
    cells = [" "] * plot.width
    for value in ticks(left, right, max(2, plot.width // 8)):
        text = f"{value:g}°"
        start = min(column_of(value, plot), plot.width - len(text))
        if all(cell == " " for cell in cells[max(0, start - 1) : start + len(text) + 1]):
            cells[start : start + len(text)] = text
    return ((" " * gutter + "".join(cells), "quiet"),)


def _thirds(view: TimingView, width: int) -> list[Line]:
    thirds = view.answer.thirds if view.answer else ()
    if not thirds:
        return []
    parts = [
        f"{low:.0f}–{high:.0f} rpm "
        + (f"{fit.best_deg:.1f}°" if fit.best_deg is not None else "not bracketed")
        for (low, high), fit in zip(view.thirds_rpm, thirds, strict=True)
    ]
    return wrap("Best by third of the band: " + " · ".join(parts), width, "quiet")


def _left_out(view: TimingView, width: int) -> list[Line]:
    lines: list[Line] = []
    for _, number, why in view.left_out:
        lines += wrap(f"Pull {number} left out: {why}", width, "quiet", indent="  ")
    return [BLANK, *lines] if lines else []
