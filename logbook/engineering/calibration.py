"""Calibration of an instrument: a line and a parabola through its readings, and what they say.

Readings are fitted over the reference, because the reference is what is known: reading = b₀ +
b₁·reference (+ b₂·reference²), by least squares on a reference scaled to ±1, or the digits of a
load in newtons would drown the curvature. Figures in percent are of the span, the width of the
reference. Sources: Draper & Smith, *Applied Regression Analysis* (1998), chapters 1 and 5; the
names of the figures after ISA-51.1 (linearity, hysteresis, span; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.records.calibration import DOWN, UP
from logbook.refusals import BadInput

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

LINE, PARABOLA = 1, 2
LEVEL = 0.95

WITHIN, BEYOND, UNJUDGED = "within tolerance", "out of tolerance", "no tolerance set"


@dataclass(frozen=True, slots=True)
class CalibrationFit:
    """A polynomial of readings over references.

    Attributes
    ----------
    coefficients : of 1, reference, reference² …, in the units of reading and reference.
    standard_errors : of each; ``None`` where no degree of freedom is left.
    residuals : reading less fit, in the order of the readings.
    residual_sd : their standard deviation, ``None`` where no degree of freedom is left.
    degrees_of_freedom : readings less coefficients.
    low, high : the references between which it was fitted.
    """

    coefficients: tuple[float, ...]
    standard_errors: tuple[float, ...] | None
    residuals: tuple[float, ...]
    residual_sd: float | None
    degrees_of_freedom: int
    low: float
    high: float

    @property
    def degree(self) -> int:
        """1 for a line, 2 for a parabola."""
        return len(self.coefficients) - 1

    def reading_at(self, reference: float) -> float:
        """The reading that the fit gives at a reference."""
        return sum(c * reference**power for power, c in enumerate(self.coefficients))


@dataclass(frozen=True, slots=True)
class CalibrationFigures:
    """What a calibration says of the instrument as it was found; percent of the span.

    Attributes
    ----------
    span : width of the references, in their unit.
    span_error_percent : slope of the line less 1: readings too high (above 0) or too low.
    zero_error_percent : the line at reference zero.
    linearity_percent : the farthest reading from the line.
    hysteresis_percent : the widest difference of readings down less up at one reference; ``None``
        where no reference was read in both directions.
    zero_shift_percent : zero after less zero before; ``None`` where they were not read.
    worst_percent : the farthest reading from its reference, sign kept.
    worst_at : the reference where it is.
    curved : the parabola's curvature differs from zero at 95 %; ``None`` where nothing tells.
    """

    span: float
    span_error_percent: float
    zero_error_percent: float
    linearity_percent: float
    hysteresis_percent: float | None
    zero_shift_percent: float | None
    worst_percent: float
    worst_at: float
    curved: bool | None


def fit(reference: Sequence[float], reading: Sequence[float], degree: int) -> CalibrationFit:
    """Least squares of readings over references with a polynomial of a degree.

    Parameters
    ----------
    reference, reading : as many of each, any units.
    degree : `LINE` or `PARABOLA`.

    Raises
    ------
    BadInput
        Fewer distinct references than coefficients, pairs that do not match, or no numbers.
    """
    import numpy as np

    x, y = _pairs(reference, reading)
    size = degree + 1
    if np.unique(x).size < size:
        raise BadInput(
            f"{np.unique(x).size} different references do not make a"
            f" {'line' if degree == LINE else 'parabola'}",
            where="Calibration",
            wanted=f"at least {size} different references",
        )
    center, half = float(x.max() + x.min()) / 2.0, float(x.max() - x.min()) / 2.0
    columns = np.vander((x - center) / half, size, increasing=True)
    q, r = np.linalg.qr(columns)
    inverse = np.linalg.inv(r)
    scaled = inverse @ (q.T @ y)
    # A second pass on what is left over takes the rounding of the first away.
    scaled = scaled + inverse @ (q.T @ (y - columns @ scaled))
    back = _unscaled(center, half, size)
    residuals = y - columns @ scaled
    free = x.size - size
    residual_sd = float(np.sqrt(np.sum(residuals**2) / free)) if free else None
    errors = None
    if residual_sd is not None:
        errors = residual_sd * np.sqrt(np.sum((back @ inverse) ** 2, axis=1))
    return CalibrationFit(
        coefficients=tuple(float(c) for c in back @ scaled),
        standard_errors=None if errors is None else tuple(float(e) for e in errors),
        residuals=tuple(float(e) for e in residuals),
        residual_sd=residual_sd,
        degrees_of_freedom=free,
        low=float(x.min()),
        high=float(x.max()),
    )


def _pairs(reference: Sequence[float], reading: Sequence[float]) -> tuple[Array, Array]:
    import numpy as np

    x, y = np.asarray(reference, dtype=np.float64), np.asarray(reading, dtype=np.float64)
    if x.size != y.size or x.ndim != 1:
        raise BadInput(
            f"{x.size} references and {y.size} readings do not go together",
            where="Calibration",
            wanted="a reading for each reference",
        )
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise BadInput("a value is not a number", where="Calibration", wanted="finite numbers")
    return x, y


def _unscaled(center: float, half: float, size: int) -> Array:
    """The matrix that turns coefficients of ((x − center)/half)ᵏ into those of xᵏ."""
    import numpy as np

    matrix = np.zeros((size, size))
    for power in range(size):
        for part in range(power + 1):
            matrix[part, power] = math.comb(power, part) * (-center) ** (power - part) / half**power
    return matrix


def figures(
    reference: Sequence[float],
    reading: Sequence[float],
    directions: Sequence[str] = (),
    *,
    zero_before: float | None = None,
    zero_after: float | None = None,
) -> CalibrationFigures:
    """Span, zero, linearity, hysteresis of an instrument that shows the reference's own unit.

    Parameters
    ----------
    reference, reading : as for `fit`, in one unit.
    directions : `UP` or `DOWN` for each reading, or nothing: then there is no hysteresis.
    zero_before, zero_after : readings with nothing on, before and after.
    """
    import numpy as np

    line = fit(reference, reading, LINE)
    x, y = _pairs(reference, reading)
    span = line.high - line.low
    error = y - x
    worst = int(np.argmax(np.abs(error)))
    shift = None
    if zero_before is not None and zero_after is not None:
        shift = 100.0 * (zero_after - zero_before) / span
    return CalibrationFigures(
        span=span,
        span_error_percent=100.0 * (line.coefficients[1] - 1.0),
        zero_error_percent=100.0 * line.coefficients[0] / span,
        linearity_percent=100.0 * max(abs(e) for e in line.residuals) / span,
        hysteresis_percent=_hysteresis(x, y, directions, span),
        zero_shift_percent=shift,
        worst_percent=100.0 * float(error[worst]) / span,
        worst_at=float(x[worst]),
        curved=_curved(reference, reading),
    )


def _hysteresis(x: Array, y: Array, directions: Sequence[str], span: float) -> float | None:
    """The widest of down less up, each the mean of its readings at one reference."""
    import numpy as np

    if not directions:
        return None
    if len(directions) != x.size or any(d not in (UP, DOWN) for d in directions):
        raise BadInput(
            "each reading needs its direction", where="Calibration", wanted="up or down for each"
        )
    way = np.asarray(directions)
    found = []
    for value in np.unique(x):
        up, down = y[(x == value) & (way == UP)], y[(x == value) & (way == DOWN)]
        if up.size and down.size:
            found.append(float(down.mean() - up.mean()))
    return 100.0 * max(found, key=abs) / span if found else None


def _curved(reference: Sequence[float], reading: Sequence[float]) -> bool | None:
    import numpy as np
    from scipy.special import stdtrit

    if np.unique(np.asarray(reference)).size < 3 or len(reference) < 4:
        return None
    bent = fit(reference, reading, PARABOLA)
    if bent.standard_errors is None:
        return None
    reach = float(stdtrit(bent.degrees_of_freedom, (1.0 + LEVEL) / 2.0))
    return abs(bent.coefficients[2]) > reach * bent.standard_errors[2]


def judge(found: CalibrationFigures, tolerance_percent: float | None) -> str:
    """`WITHIN` or `BEYOND` a tolerance in percent of the span, or `UNJUDGED` without one.

    What counts is the farthest reading from its reference and the zero's shift: both go straight
    into every pull.
    """
    if tolerance_percent is None:
        return UNJUDGED
    if not (math.isfinite(tolerance_percent) and tolerance_percent > 0):
        raise BadInput(f"{tolerance_percent:g} % is not above zero", where="Tolerance")
    shift = found.zero_shift_percent or 0.0
    farthest = max(abs(found.worst_percent), abs(shift))
    return WITHIN if farthest <= tolerance_percent * (1.0 + 1e-9) else BEYOND


def true_values(readings: npt.ArrayLike, fitted: CalibrationFit) -> Array:
    """What the instrument's readings stood for, by a calibration: its fit turned round.

    Parameters
    ----------
    readings : shape (any,), in the unit of the calibration's readings; NaN stays NaN.

    Returns
    -------
    Values in the unit of the references, same shape. Beyond `fitted.low` to `fitted.high` the fit
    is carried on; say so.

    Raises
    ------
    BadInput
        Where the parabola turns back before it reaches a reading, or between the references it was
        fitted to, so that a reading stands for two values; or where the line is level.
    """
    import numpy as np

    y = np.asarray(readings, dtype=np.float64)
    middle = (fitted.low + fitted.high) / 2.0
    b2 = fitted.coefficients[2] if fitted.degree == PARABOLA else 0.0
    slope = fitted.coefficients[1] + 2.0 * b2 * middle
    # The parabola turns back at u = −slope/(2·b₂), half the width away at the least.
    if abs(b2) * (fitted.high - fitted.low) > abs(slope) * (1.0 + 1e-12):
        raise BadInput(
            f"the parabola turns back at {middle - slope / (2.0 * b2):.4g}, between its references"
            f" {fitted.low:.4g} and {fitted.high:.4g}: a reading stands for two values",
            where="Calibration",
            wanted="the straight line, or a look at the readings for a slip",
        )
    if slope == 0.0:
        raise BadInput("the fit is level", where="Calibration", wanted="readings that rise")
    # b₂u² + slope·u + (middle reading − y) = 0 with u from the middle of the range, on the branch
    # that the readings are on, in the form that loses no digits when b₂ is small.
    above = y - fitted.reading_at(middle)
    inside = slope**2 + 4.0 * b2 * above
    if (inside < 0).any():
        raise BadInput(
            "the parabola turns back before it reaches these readings",
            where="Calibration",
            wanted="the straight line, or a calibration over the range of the pulls",
        )
    return np.asarray(middle + 2.0 * above / (slope + math.copysign(1.0, slope) * np.sqrt(inside)))
