"""The pull: one loaded sweep, a set of steady points, or the peaks somebody typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

SWEEP, STEADY, PEAKS = "sweep", "steady points", "typed peaks"
KNOCK_NONE, KNOCK_HEARD, KNOCK_UNKNOWN = "none", "heard", "not checked"
OBSERVED = "observed"
ALARMS = (
    "oil pressure",
    "fuel pressure",
    "coolant",
    "exhaust temperature",
    "lambda",
    "knock",
)


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull with everything that can move its number.

    Torque in N·m, power in kW, speeds in rpm, temperatures in °C, vacuum in kPa below the
    surrounding pressure, blow-by in m³/h, flows in kg/h. `torque_state` is ``"observed"`` or
    the key of the standard the source had already corrected to. `typed` keeps what was typed.
    Peaks are filled only where they were typed; those of a trace are computed from it.

    The trace begins with the file's sample `first_in_file` (from 0). `first_sample` and
    `last_sample` (of the trace, from 0, inclusive) are its edges where somebody has moved them.

    `calibration_id` is the load cell's calibration that stood when the pull was logged;
    `recalibration_id` another one that its torque is taken through, where somebody said so.
    """

    id: str
    session_id: str
    number: int
    at: str
    kind: str
    setup_id: str
    air_id: str | None = None
    fuel_id: str | None = None
    source_id: str | None = None
    torque_state: str = OBSERVED
    peak_torque_nm: float | None = None
    peak_torque_rpm: float | None = None
    peak_power_kw: float | None = None
    peak_power_rpm: float | None = None
    oil_c: float | None = None
    coolant_c: float | None = None
    fuel_c: float | None = None
    minutes_since_last: float | None = None
    sweep_direction: str = "up"
    sweep_start_rpm: float | None = None
    sweep_rate_rpm_s: float | None = None
    throttle_open: bool | None = None
    zero_before_nm: float | None = None
    zero_after_nm: float | None = None
    manifold_vacuum_kpa: float | None = None
    crankcase_vacuum_kpa: float | None = None
    blow_by_m3_h: float | None = None
    air_flow_kg_h: float | None = None
    fuel_flow_kg_h: float | None = None
    lambda_ratio: float | None = None
    oil_hours: float | None = None
    knock: str = KNOCK_UNKNOWN
    observations: str = ""
    alarms: tuple[str, ...] = ()
    excluded_reason: str | None = None
    notes: str = ""
    first_in_file: int = 0
    first_sample: int | None = None
    last_sample: int | None = None
    calibration_id: str | None = None
    recalibration_id: str | None = None
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False

    @property
    def taken_through(self) -> str | None:
        """The calibration that its torque is read back through: pulls are on one scale where it is
        the same. ``None`` where it stands as shown, and where its source had corrected it."""
        return self.recalibration_id if self.torque_state == OBSERVED else None
