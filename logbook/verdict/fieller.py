"""The interval for a ratio of two estimates, without the delta method's optimism.

Source: Fieller (1954), *J. Royal Statist. Soc. B* 16:175–185.
"""

from __future__ import annotations

import numpy as np


def fieller(
    top: float,
    bottom: float,
    *,
    top_variance: float,
    covariance: float,
    bottom_variance: float,
    t: float,
) -> tuple[float, float] | None:
    """All ratios θ with (top − θ·bottom)² ≤ t²·var(top − θ·bottom).

    Parameters
    ----------
    t : Student's quantile for the wanted level.

    Returns
    -------
    ``None`` where g = t²·var(bottom)/bottom² ≥ 1: the bottom may be zero, and the set of
    ratios is the whole line or the outside of an interval.
    """
    if bottom == 0.0 or not np.isfinite(t):
        return None
    square = t * t
    if square * bottom_variance >= bottom * bottom:
        return None
    a = bottom * bottom - square * bottom_variance
    b = top * bottom - square * covariance
    c = top * top - square * top_variance
    # b² − a·c is not negative where g < 1, but rounding may say so for exact data.
    root = float(np.sqrt(max(b * b - a * c, 0.0)))
    return (b - root) / a, (b + root) / a


def delta_standard_error(
    top: float,
    bottom: float,
    *,
    top_variance: float,
    covariance: float,
    bottom_variance: float,
) -> float:
    """Standard error of top/bottom by the delta method (ISO/IEC Guide 98-3, 5.1.2)."""
    ratio = top / bottom
    variance = top_variance - 2.0 * ratio * covariance + ratio * ratio * bottom_variance
    return float(np.sqrt(max(variance, 0.0)) / abs(bottom))
