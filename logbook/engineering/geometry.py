"""Does an engine's bore and stroke fit the displacement that it is known by?

A check of what was typed, not of the engine: digits that changed places, bore and stroke
exchanged, a wrong number of cylinders.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.engineering.engine import displacement_l
from logbook.refusals import BadInput

FITS, NEAR, WRONG = "fits", "near", "wrong"

NAMED_WITHIN = 0.025
"""An engine is often called by a rounded displacement: up to 2.5 % off is only a name (common
practice, no source)."""

_MOST_CYLINDERS = 16


@dataclass(frozen=True, slots=True)
class Agreement:
    """A displacement from bore and stroke against the one stated.

    Attributes
    ----------
    computed_l, stated_l : the two, L.
    apart : computed over stated, less 1.
    rounding : how far apart the digits given allow them to be.
    verdict : `FITS` within the rounding, `NEAR` where a rounded name explains it, else `WRONG`.
    bore_mm, stroke_mm : the bore (with the stroke as given) and the stroke (with the bore as
        given) that would agree.
    exchanged : bore and stroke would agree if they changed places; only where `WRONG`.
    cylinders : the numbers of cylinders that would agree; only where `WRONG`.
    """

    computed_l: float
    stated_l: float
    apart: float
    rounding: float
    verdict: str
    bore_mm: float
    stroke_mm: float
    exchanged: bool
    cylinders: tuple[int, ...]


def geometry_agreement(
    bore_mm: float,
    stroke_mm: float,
    cylinders: int,
    stated_l: float,
    *,
    bore_step_mm: float = 0.0,
    stroke_step_mm: float = 0.0,
    stated_step_l: float = 0.0,
) -> Agreement:
    """Compare π/4·bore²·stroke·cylinders with a stated displacement.

    Parameters
    ----------
    bore_step_mm, stroke_step_mm, stated_step_l : the step of the last digit of each as it was
        given (0.254 mm for a bore typed as 3.46 in); half of it is what rounding may have taken.

    Raises
    ------
    BadInput
        Bore, stroke, cylinders or displacement not above zero.
    """
    if not (math.isfinite(stated_l) and stated_l > 0):
        raise BadInput(
            f"{stated_l:g} is not above zero", where="Displacement", wanted="such as 2 L"
        )
    computed = displacement_l(bore_mm, stroke_mm, cylinders)
    apart = computed / stated_l - 1.0
    rounding = bore_step_mm / bore_mm + (stroke_step_mm / stroke_mm + stated_step_l / stated_l) / 2
    within = max(rounding, NAMED_WITHIN)
    wrong = abs(apart) > within

    def fits(bore: float, stroke: float, count: int) -> bool:
        return abs(displacement_l(bore, stroke, count) / stated_l - 1.0) <= within

    return Agreement(
        computed_l=computed,
        stated_l=stated_l,
        apart=apart,
        rounding=rounding,
        verdict=WRONG if wrong else FITS if abs(apart) <= rounding + 1e-9 else NEAR,
        bore_mm=bore_mm / math.sqrt(1.0 + apart),
        stroke_mm=stroke_mm / (1.0 + apart),
        exchanged=wrong and fits(stroke_mm, bore_mm, cylinders),
        cylinders=tuple(
            count
            for count in range(1, _MOST_CYLINDERS + 1)
            if wrong and fits(bore_mm, stroke_mm, count)
        ),
    )
