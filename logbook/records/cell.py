"""The cell: the dynamometer room with its absorber, arm and sensors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Cell:
    """One dynamometer cell. Units are in the names; `typed` keeps what was typed, by field."""

    id: str
    name: str
    altitude_m: float | None = None
    time_zone: str = "UTC"
    absorber: str = ""
    arm_mm: float | None = None
    inertia_kg_m2: float | None = None
    absorber_corrects_inertia: bool = True
    standard: str = "sae-j1349"
    units: str = "us"
    air_stale_after_min: float = 15.0
    worth_having_percent: float = 0.5
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
