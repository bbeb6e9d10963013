"""Bores, pistons and rings: shape of a bore, clearance of a piston, end gap of a ring.

Lengths in mm, all measured at one temperature (20 °C by ISO 1): an aluminum piston measured 10 K
warmer than its bore takes about 0.02 mm of clearance away on 86 mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.engineering.tolerance import Tolerance
from logbook.refusals import BadInput

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

RING_GAP_PER_BORE: Mapping[str, float] = {
    "top ring": 0.0040,
    "second ring": 0.0050,
}
"""Least end gap per mm of bore, which is also thousandths of an inch per inch of bore over 1000:
0.0040 for the top ring, 0.0050 for the second of a naturally aspirated engine (common practice,
no source). The ring maker's sheet, or the shop's own rule, goes before it."""

MOST_GAP_PER_LEAST = 1.5
"""A gap of more than one and a half times the least is a ring for another bore (common practice,
no source)."""

STRAIGHT, TOP_WIDE, BOTTOM_WIDE, BARREL, WAIST = (
    "straight",
    "wider at the top",
    "wider at the bottom",
    "barrel",
    "waist",
)


@dataclass(frozen=True, slots=True)
class BoreShape:
    """A bore as the gauge found it, mm.

    `taper_mm` is the largest difference along one direction, `out_of_round_mm` the largest
    difference of diameters at one height (twice the deviation from roundness of ISO 1101, as
    shops count it). ``None`` where the readings do not tell. `form` says where it is wide.
    """

    smallest_mm: float
    largest_mm: float
    mean_mm: float
    taper_mm: float | None
    out_of_round_mm: float | None
    form: str | None


@dataclass(frozen=True, slots=True)
class Clearance:
    """Piston-to-bore clearance on the diameter, mm, where the bore is tightest and widest."""

    least_mm: float
    most_mm: float


def bore_shape(diameters_mm: npt.ArrayLike) -> BoreShape:
    """Taper and out-of-round of a bore from a dial bore gauge's readings.

    Common practice, no source, in what is called taper and out-of-round.

    Parameters
    ----------
    diameters_mm : shape (heights, directions), the heights from the top down; NaN where nothing
        was measured.

    Raises
    ------
    BadInput
        Without a single reading, or with one that is not above zero.
    """
    import numpy as np

    grid = np.atleast_2d(np.asarray(diameters_mm, dtype=np.float64))
    known = np.isfinite(grid)
    if grid.ndim != 2 or not known.any():
        raise BadInput("no diameter was measured", where="Bore", wanted="a grid of diameters")
    if not (grid[known] > 0).all():
        raise BadInput(
            f"{grid[known].min():g} mm is no diameter", where="Bore", wanted="values above zero"
        )
    taper = [_span(column) for column in grid.T if np.isfinite(column).sum() > 1]
    round_ = [_span(row) for row in grid if np.isfinite(row).sum() > 1]
    return BoreShape(
        smallest_mm=float(grid[known].min()),
        largest_mm=float(grid[known].max()),
        mean_mm=float(grid[known].mean()),
        taper_mm=max(taper, default=None),
        out_of_round_mm=max(round_, default=None),
        form=_form(_by_height(grid[known.any(axis=1)])),
    )


def _span(values: npt.ArrayLike) -> float:
    import numpy as np

    return float(np.nanmax(values) - np.nanmin(values))


def _by_height(grid: npt.NDArray[np.float64]) -> list[float]:
    """The mean diameter at each height, from the directions that were measured at all of them:
    an oval bore would change its form where one direction is missing. Empty without any."""
    import numpy as np

    whole = grid[:, np.isfinite(grid).all(axis=0)]
    return [float(row.mean()) for row in whole] if whole.size else []


def _form(by_height_mm: list[float]) -> str | None:
    """Where the bore is wide, from its mean diameter at each height."""
    if len(by_height_mm) < 2:
        return None
    top, bottom = by_height_mm[0], by_height_mm[-1]
    widest, narrowest = max(by_height_mm), min(by_height_mm)
    if widest - narrowest <= 1e-6:
        return STRAIGHT
    outside = max(widest - max(top, bottom), min(top, bottom) - narrowest)
    if outside > abs(top - bottom):
        return BARREL if widest - max(top, bottom) == outside else WAIST
    return TOP_WIDE if top > bottom else BOTTOM_WIDE


def piston_clearance(bore: BoreShape, skirt_mm: float) -> Clearance:
    """Clearance of a piston in its bore: bore less skirt, both on the diameter.

    The skirt is measured where its maker says, most often at right angles to the pin. A
    negative clearance is given as it is: the piston does not go in.
    """
    if not (math.isfinite(skirt_mm) and skirt_mm > 0):
        raise BadInput(f"{skirt_mm:g} mm is no piston", where="Skirt", wanted="a value above zero")
    return Clearance(bore.smallest_mm - skirt_mm, bore.largest_mm - skirt_mm)


def ring_gap_tolerance(
    bore_mm: float, gap_per_bore: float, most_mm: float | None = None
) -> Tolerance:
    """The end gap that a ring has to have in its bore, mm.

    Common practice, no source: least gap = bore × `gap_per_bore`. A tighter ring is reclaimed
    by filing its ends; one wider than `most_mm` (`MOST_GAP_PER_LEAST` times the least where not
    given) is out.

    Parameters
    ----------
    gap_per_bore : mm of gap per mm of bore; thousandths of an inch per inch of bore over 1000.
    """
    for field, value in (("Bore", bore_mm), ("Ring gap rule", gap_per_bore)):
        if not (math.isfinite(value) and value > 0):
            raise BadInput(f"{value:g} is not above zero", where=field, wanted="a value above it")
    if gap_per_bore > 0.1:
        raise BadInput(
            f"{gap_per_bore:g} of the bore is no ring gap",
            where="Ring gap rule",
            wanted="such as 0.0040 (4 thousandths per inch of bore)",
        )
    least = bore_mm * gap_per_bore
    most = MOST_GAP_PER_LEAST * least if most_mm is None else most_mm
    return Tolerance(low=least, high=most, reclaim_low=0.0)
