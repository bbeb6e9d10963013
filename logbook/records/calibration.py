"""The calibration of one of a cell's instruments: what it read against what was true."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

LOAD_CELL = "load cell"
INSTRUMENTS = (LOAD_CELL, "barometer", "thermometer", "fuel meter")
UP, DOWN = "up", "down"
OF_SPAN, IN_UNIT = "percent of span", "unit"
STANDARD_GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True, slots=True)
class Calibration:
    """Pairs of reference and reading, in the order they were taken.

    `reference_values`, `readings` and the zeros are in `unit`, as they were written down;
    `directions` says for each pair whether the reference was being raised or lowered.
    `instrument` is one of `INSTRUMENTS`, `which` tells two of a kind apart. `tolerance` is
    in percent of the span or in `unit`, as `tolerance_in` says. `due_on` is the day from which
    it no longer counts.

    Where a load cell was hung with weights, `arm_mm` and `gravity_m_s2` are what the reference
    torques were computed with; the weights themselves stand in `typed`. Times are UTC.
    """

    id: str
    cell_id: str
    calibrated_at: str
    instrument: str
    unit: str
    reference_values: tuple[float, ...]
    readings: tuple[float, ...]
    directions: tuple[str, ...]
    which: str = ""
    zero_before: float | None = None
    zero_after: float | None = None
    tolerance: float | None = None
    tolerance_in: str = OF_SPAN
    arm_mm: float | None = None
    gravity_m_s2: float | None = None
    due_on: str | None = None
    who: str = ""
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
