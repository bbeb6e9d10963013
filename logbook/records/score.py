"""The computed figures of a pull that lists show; never the only truth, always recomputable."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figures:
    """Peaks and band averages of one curve; kW, N·m, rpm; ``None`` where not known.

    The band averages are speed-weighted means between the band's edges, ``None`` where the
    curve does not cover the band.
    """

    peak_power_kw: float | None = None
    peak_power_rpm: float | None = None
    peak_torque_nm: float | None = None
    peak_torque_rpm: float | None = None
    band_power_kw: float | None = None
    band_torque_nm: float | None = None


@dataclass(frozen=True, slots=True)
class Score:
    """Observed and corrected figures of a pull under its session's standard and band.

    `factor` is ``None`` where nothing could be corrected (no air, or not correctable), and then
    `corrected` is all ``None``. `version` names the computation that made it.
    """

    pull_id: str
    version: int
    standard: str
    factor: float | None
    observed: Figures
    corrected: Figures
