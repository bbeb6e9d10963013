"""A single figure for a recorded channel: at one engine speed, or averaged over the band."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

NEAR_RPM = 100.0


def channel_at(speed_rpm: Array, values: Array, at_rpm: float) -> float | None:
    """Mean of the samples within `NEAR_RPM` of a speed; the nearest sample where there is none.

    `speed_rpm` and `values` have shape (samples,); samples without a value do not count. ``None``
    where the channel has no value at all. Common practice, no source.
    """
    known = np.isfinite(values) & np.isfinite(speed_rpm)
    if not known.any():
        return None
    speed, value = speed_rpm[known], values[known]
    near = np.abs(speed - at_rpm) <= NEAR_RPM
    if near.any():
        return float(value[near].mean())
    return float(value[np.argmin(np.abs(speed - at_rpm))])


def channel_mean(speed_rpm: Array, values: Array, band: tuple[float, float] | None) -> float | None:
    """Mean of the samples whose speed lies in the band (all of them without a band).

    Shapes as in `channel_at`; ``None`` where no sample with a value lies there.
    """
    known = np.isfinite(values) & np.isfinite(speed_rpm)
    if band is not None:
        known &= (speed_rpm >= band[0]) & (speed_rpm <= band[1])
    return float(values[known].mean()) if known.any() else None
