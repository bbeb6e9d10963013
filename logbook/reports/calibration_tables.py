"""Calibrations as tables for people, with a residual plot drawn in characters."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.text import Text

from logbook.cases.calibration_view import instrument_name, off_words, tolerance_words
from logbook.reports import showing
from logbook.reports.tables import NOTHING, grid, heading, sheet, when

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from logbook.cases.calibration_view import CalibrationView
    from logbook.engineering.calibration import CalibrationFit
    from logbook.records.calibration import Calibration

VERDICT_SIGNS = {"within tolerance": "✓", "out of tolerance": "✗", "no tolerance set": "·"}
_HALF_WIDTH = 12  # characters on either side of the residual plot's middle


def verdict_words(view: CalibrationView) -> str:
    """``✓ within tolerance``, with a sign of its own where it is overdue."""
    words = f"{VERDICT_SIGNS[view.verdict]} {view.verdict}"
    return f"{words}, ⚠ overdue" if view.overdue else words


def percent_of_span(value: float | None) -> str:
    """``+0.08 %``, a dash where it is not known."""
    return NOTHING if value is None else showing.percent(value, 2)


def calibrations(found: Iterable[CalibrationView]) -> Table:
    """Calibrations, newest first."""
    return grid(
        ("Id", "Cell", "Instrument", "Date", "Span error", "Worst", "Tolerance", "Verdict", "Due",
         "By"),
        (
            (
                view.calibration.id[:13],
                view.cell.name,
                instrument_name(view.calibration),
                when(view.calibration.calibrated_at, view.cell.time_zone),
                percent_of_span(view.figures.span_error_percent),
                off_words(view, view.figures.worst_percent, signed=True),
                tolerance_words(view),
                verdict_words(view),
                view.calibration.due_on or "",
                view.calibration.who,
            )
            for view in found
        ),
        right="efg",
    )  # fmt: skip


def figure_lines(view: CalibrationView) -> list[tuple[str, str]]:
    """What a calibration says, label and value; percent are of the span."""
    one, figures = view.calibration, view.figures
    curved = {True: "curved: the parabola differs from the line at 95 %",
              False: "straight within what the readings scatter", None: ""}  # fmt: skip
    return [
        ("Verdict", verdict_words(view)),
        ("Due", one.due_on or ""),
        ("Span", f"{figures.span:.6g} {one.unit}"),
        ("Span error", percent_of_span(figures.span_error_percent)),
        ("Zero error", percent_of_span(figures.zero_error_percent)),
        ("Linearity", percent_of_span(figures.linearity_percent)),
        ("Hysteresis", percent_of_span(figures.hysteresis_percent)),
        ("Shift of the zero", percent_of_span(figures.zero_shift_percent)),
        ("Worst reading",
         f"{off_words(view, figures.worst_percent, signed=True)} at {figures.worst_at:.6g}"
         f" {one.unit}"),
        ("Tolerance", tolerance_words(view)),
        ("Straightness", curved[figures.curved]),
        ("Line", equation(view.line)),
        ("Parabola", equation(view.parabola) if view.parabola else ""),
    ]  # fmt: skip


def equation(fit: CalibrationFit) -> str:
    """``reading = 0.0123 + 1.00077·reference``, with the scatter left over."""
    powers = ("", "·reference", "·reference²")
    terms = [f"{c:.7g}{power}" for c, power in zip(fit.coefficients, powers, strict=False)]
    scatter = "" if fit.residual_sd is None else f", scatter {fit.residual_sd:.3g}"
    return "reading = " + " + ".join(terms).replace("+ -", "− ").replace("-", "−") + scatter


def calibration_parts(view: CalibrationView) -> list[RenderableType]:
    """A calibration: head, what it says, its pairs with their residuals drawn."""
    one = view.calibration
    head = sheet(
        [
            ("Calibration", one.id),
            ("Instrument", f"{instrument_name(one)} of {view.cell.name}"),
            ("Date", when(one.calibrated_at, view.cell.time_zone)),
            ("By", one.who),
            *figure_lines(view),
            ("Weights", weights_words(one)),
            ("Zero before", "" if one.zero_before is None else f"{one.zero_before:g} {one.unit}"),
            ("Zero after", "" if one.zero_after is None else f"{one.zero_after:g} {one.unit}"),
            ("Note", one.notes),
        ]
    )
    reach = max((abs(r) for r in view.line.residuals), default=0.0)
    pairs = grid(
        (
            "",
            f"Reference, {one.unit}",
            f"Reading, {one.unit}",
            f"Off the line, {one.unit}",
            f"±{reach:.2g} {one.unit}",
        ),
        (
            (
                "↑" if way == "up" else "↓",
                f"{reference:.6g}",
                f"{reading:.6g}",
                f"{residual:+.3g}".replace("-", "−"),
                residual_bar(residual, reach),
            )
            for reference, reading, way, residual in zip(
                one.reference_values, one.readings, one.directions, view.line.residuals,
                strict=True,
            )
        ),
        right="bcd",
    )  # fmt: skip
    return [head, Text(), heading("Pairs as they were taken"), pairs]


def weights_words(one: Calibration) -> str:
    """How the references were hung, where they were."""
    if one.arm_mm is None:
        return ""
    return (
        f"masses in {one.typed.get('weights', '')} on an arm of {one.arm_mm:g} mm,"
        f" gravity {one.gravity_m_s2:.5g} m/s²"
    )


def residual_bar(residual: float, reach: float) -> str:
    """A residual as a mark left or right of the middle: ``│``, ``●``."""
    place = round(residual / reach * _HALF_WIDTH) if reach else 0
    cells = [" "] * (2 * _HALF_WIDTH + 1)
    cells[_HALF_WIDTH] = "│"
    cells[_HALF_WIDTH + place] = "●"
    return "".join(cells)
