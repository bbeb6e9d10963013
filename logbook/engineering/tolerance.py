"""A measured value against its tolerance: in, reclaim or out.

Reclaim: not within the tolerance, but near enough that the part may be dressed back into it (a
bore honed, a ring gap filed). The limits are the shop's own; none are invented here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from logbook.refusals import BadInput

IN, RECLAIM, OUT, NO_LIMIT = "in", "reclaim", "out", "no limit"

SIGNS = {IN: "✓", RECLAIM: "~", OUT: "✗", NO_LIMIT: "·"}
"""The sign beside each word: never a color alone."""

_WORSE = (NO_LIMIT, IN, RECLAIM, OUT)
# A limit and a value typed in different units differ by a rounding of the last digit.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Limits in the unit of what is measured; ``None`` where there is none on that side.

    `low` to `high` is in. `reclaim_low` to `reclaim_high`, where given, reaches further out on
    its side: there a part may be reclaimed. A value that stands on a limit is within it.
    """

    low: float | None = None
    high: float | None = None
    reclaim_low: float | None = None
    reclaim_high: float | None = None

    def __post_init__(self) -> None:
        given = [
            limit
            for limit in (self.reclaim_low, self.low, self.high, self.reclaim_high)
            if limit is not None
        ]
        if not all(math.isfinite(limit) for limit in given):
            raise BadInput("a limit is not a number", where="Tolerance", wanted="finite limits")
        if given != sorted(given):
            raise BadInput(
                "the limits are not in order",
                where="Tolerance",
                wanted="reclaim from ≤ low ≤ high ≤ reclaim to",
            )

    @property
    def is_open(self) -> bool:
        """Nothing is asked."""
        return self.low is None and self.high is None


def verdict(value: float, tolerance: Tolerance) -> str:
    """`IN`, `RECLAIM`, `OUT`, or `NO_LIMIT` where the tolerance asks nothing.

    A side without a limit lets everything pass; a side with a limit and without a reclaim limit
    reclaims nothing.
    """
    if not math.isfinite(value):
        raise BadInput(f"{value} is not a number", where="Measured value", wanted="a number")
    if tolerance.is_open:
        return NO_LIMIT
    slack = _ROUNDING * abs(value)
    below = tolerance.low is not None and value < tolerance.low - slack
    above = tolerance.high is not None and value > tolerance.high + slack
    if not below and not above:
        return IN
    if below:
        far = tolerance.reclaim_low
        return RECLAIM if far is not None and value >= far - slack else OUT
    far = tolerance.reclaim_high
    return RECLAIM if far is not None and value <= far + slack else OUT


def worst(verdicts: Iterable[str]) -> str:
    """The verdict on several measures together: the worst of them."""
    return max(verdicts, key=_WORSE.index, default=NO_LIMIT)
