"""A calibration for the screen: verdict and figures, and what is left over drawn pair by pair."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.app.widgets.ink import Line, one, rows_of, wrap
from logbook.app.widgets.points import Dot, Level, points_picture
from logbook.reports.calibration_tables import (
    equation,
    figure_lines,
    verdict_words,
    weights_words,
)

if TYPE_CHECKING:
    from logbook.cases.calibration_view import CalibrationView

OFF_LINE, OFF_PARABOLA, OFF_REFERENCE = "off the line", "off the parabola", "off the reference"
PICTURES = (OFF_LINE, OFF_PARABOLA, OFF_REFERENCE)
UP_MARK, DOWN_MARK = "▲", "▽"
MOST_ROWS = 14

# In the list above, or drawn.
_ELSEWHERE = frozenset({"Verdict", "Due", "Tolerance", "Straightness", "Line", "Parabola"})
_ROLES = {"within tolerance": "gain", "out of tolerance": "loss", "no tolerance set": "quiet"}


def verdict_role(view: CalibrationView) -> str:
    """The role its verdict is drawn in; overdue is a caution whatever it says."""
    return "caution" if view.overdue else _ROLES[view.verdict]


def calibration_lines(view: CalibrationView, picture: str, width: int, height: int) -> list[Line]:
    """The words of a calibration, and the picture in what is left of the height."""
    words = _words(view, picture, width)
    drawn = residual_picture(view, picture, width, min(height - len(words), MOST_ROWS))
    return [*words, *drawn]


def _words(view: CalibrationView, picture: str, width: int) -> list[Line]:
    parts: list[Line] = [one(verdict_words(view), verdict_role(view))]
    parts += [
        ((f"{label.lower()} ", "quiet"), (text, ""))
        for label, text in figure_lines(view)
        if text and label not in _ELSEWHERE
    ]
    lines = rows_of(parts, width)
    if view.figures.curved:
        lines += wrap("Curved: the parabola differs from the line at 95 %.", width, "caution")
    bent = picture == OFF_PARABOLA and view.parabola is not None
    fitted = view.parabola if bent and view.parabola else view.line
    lines += wrap(equation(fitted), width, "quiet", indent="  ")
    if hung := weights_words(view.calibration):
        lines += wrap(f"Hung: {hung}", width, "quiet", indent="  ")
    return lines


def residual_picture(view: CalibrationView, picture: str, width: int, height: int) -> list[Line]:
    """What is left over at each pair, ▲ with the reference rising, ▽ falling. Against the
    reference itself the tolerance is drawn in."""
    one_, levels = view.calibration, [Level(0.0, "─")]
    if picture == OFF_PARABOLA and view.parabola is not None:
        left = view.parabola.residuals
    elif picture == OFF_REFERENCE:
        left = tuple(
            reading - reference
            for reference, reading in zip(one_.reference_values, one_.readings, strict=True)
        )
        if view.tolerance_percent is not None:
            edge = view.tolerance_percent / 100.0 * view.figures.span
            levels += [Level(edge, "┄", "caution"), Level(-edge, "┄", "caution")]
    else:
        picture, left = OFF_LINE, view.line.residuals
    dots = [
        Dot(reference, residual, "strong", UP_MARK if way == "up" else DOWN_MARK)
        for reference, residual, way in zip(
            one_.reference_values, left, one_.directions, strict=True
        )
    ]
    title: Line = (
        (f"Readings {picture}, {one_.unit}  ", "strong"),
        ("▲ rising  ▽ falling" + ("  ┄ tolerance" if len(levels) > 1 else ""), "quiet"),
    )
    low, high = min(one_.reference_values), max(one_.reference_values)
    under = [(low, f"{low:.6g}"), (high, f"{high:.6g} {one_.unit}"),
             ((low + high) / 2, f"{(low + high) / 2:.6g}")]  # fmt: skip
    return points_picture(title, dots, levels, width, height, under=under)
