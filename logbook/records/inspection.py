"""The inspection: what was looked at and measured on an engine outside its pulls."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

WITHIN, RECLAIM, REJECT = "within", "reclaim", "reject"
VERDICTS = (WITHIN, RECLAIM, REJECT)

PerCylinder = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Inspection:
    """One inspection of an engine as it was built at the time.

    Per-cylinder values begin with cylinder 1, ``None`` where not measured: leak-down in
    percent, cranking compression in kPa above the surrounding pressure, valve lash in mm (hot and
    cold, with the temperature in °C it was read at), a note on each plug.
    """

    id: str
    engine_id: str
    inspected_on: str
    build_id: str | None = None
    kind: str = ""
    who: str = ""
    leak_down_percent: tuple[float | None, ...] = ()
    cranking_kpa: tuple[float | None, ...] = ()
    lash_intake_hot_mm: tuple[float | None, ...] = ()
    lash_exhaust_hot_mm: tuple[float | None, ...] = ()
    lash_hot_c: float | None = None
    lash_intake_cold_mm: tuple[float | None, ...] = ()
    lash_exhaust_cold_mm: tuple[float | None, ...] = ()
    lash_cold_c: float | None = None
    plugs: tuple[str, ...] = ()
    filter_cut: str = ""
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Clearance:
    """One clearance of an inspection, measured against its limit, in mm.

    `verdict` is one of `VERDICTS`: reclaim is a part kept after being dressed back within
    tolerance. `place` says where (``"main 3"``, ``"cylinder 2"``).
    """

    id: str
    inspection_id: str
    name: str
    measured_mm: float
    place: str = ""
    low_mm: float | None = None
    high_mm: float | None = None
    verdict: str = WITHIN
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
