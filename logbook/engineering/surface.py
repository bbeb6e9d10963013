"""Surface finish of a bore from a measured profile: Ra, and Rk, Rpk, Rvk of ISO 13565-2.

Heights in µm, lengths in mm. The numbers of a stylus instrument's own printout are as good as
these and are simply judged against their tolerance; this is for whoever has the profile itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.refusals import BadInput

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

CUT_OFF_MM = 0.8
"""The usual cut-off of a honed bore (ISO 4288: Ra above 0.1 to 2 µm)."""

CORE_SHARE = 0.40
"""The part of the material ratio curve that carries the equivalent straight line."""

_ALPHA = 0.4697186393498257  # √(ln 2/π), ISO 16610-21
_LEAST_SAMPLES = 100


@dataclass(frozen=True, slots=True)
class Finish:
    """Roughness of a profile: heights in µm, material ratios Mr1, Mr2 in percent.

    `length_mm` is what was left of the profile after its ends were cut off for the filter.
    """

    ra_um: float
    rk_um: float
    rpk_um: float
    rvk_um: float
    mr1_percent: float
    mr2_percent: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Core:
    """What ISO 13565-2 reads off a material ratio curve; µm and percent."""

    rk_um: float
    rpk_um: float
    rvk_um: float
    mr1_percent: float
    mr2_percent: float


def finish(heights_um: npt.ArrayLike, spacing_mm: float, cut_off_mm: float = CUT_OFF_MM) -> Finish:
    """Roughness figures of a primary profile (form and tilt already taken off or not: a straight
    tilt is taken off here).

    Ra by the Gaussian filter (ISO 16610-21, ISO 4287); Rk and its like by the filter in two steps
    that keeps deep valleys from pulling the line down (ISO 13565-1) and the equivalent straight
    line (ISO 13565-2). Half a cut-off is dropped at each end.

    Parameters
    ----------
    heights_um : shape (samples,), evenly spaced, no gaps.
    spacing_mm : between two samples.

    Raises
    ------
    BadInput
        A profile shorter than two cut-offs, coarser than 40 samples a cut-off, or with gaps.
    """
    import numpy as np

    profile = np.asarray(heights_um, dtype=np.float64)
    _check(profile, spacing_mm, cut_off_mm)
    place = np.arange(profile.size) - (profile.size - 1) / 2.0
    profile = profile - np.polynomial.Polynomial.fit(place, profile, 1)(place)
    line = _gaussian(profile, spacing_mm, cut_off_mm)
    inner = slice(
        int(np.ceil(cut_off_mm / spacing_mm / 2.0)),
        profile.size - int(np.ceil(cut_off_mm / spacing_mm / 2.0)),
    )
    raised = np.maximum(profile, line)
    reference = _gaussian(raised, spacing_mm, cut_off_mm)
    roughness = (profile - line)[inner]
    core = core_roughness((profile - reference)[inner])
    return Finish(
        ra_um=float(np.abs(roughness - roughness.mean()).mean()),
        rk_um=core.rk_um,
        rpk_um=core.rpk_um,
        rvk_um=core.rvk_um,
        mr1_percent=core.mr1_percent,
        mr2_percent=core.mr2_percent,
        length_mm=float((roughness.size - 1) * spacing_mm),
    )


def _check(profile: Array, spacing_mm: float, cut_off_mm: float) -> None:
    import numpy as np

    if profile.ndim != 1 or not np.isfinite(profile).all():
        raise BadInput("the profile has gaps", where="Profile", wanted="a height at every sample")
    if not (spacing_mm > 0 and cut_off_mm / spacing_mm >= 40):
        raise BadInput(
            f"{spacing_mm:g} mm between samples is too coarse for a cut-off of {cut_off_mm:g} mm",
            where="Profile",
            wanted=f"a spacing of at most {cut_off_mm / 40:g} mm",
        )
    if (profile.size - 1) * spacing_mm < 2 * cut_off_mm:
        raise BadInput(
            f"{(profile.size - 1) * spacing_mm:.3g} mm of profile is too short",
            where="Profile",
            wanted=f"at least {2 * cut_off_mm:g} mm, by the standards {6 * cut_off_mm:g} mm",
        )


def _gaussian(profile: Array, spacing_mm: float, cut_off_mm: float) -> Array:
    """The mean line of ISO 16610-21: half of a wave of the cut-off's length passes.

    Near the ends the weights that lie on the profile are scaled to sum to one.
    """
    import numpy as np

    reach = int(np.ceil(cut_off_mm / spacing_mm))
    at = np.arange(-reach, reach + 1) * spacing_mm / (_ALPHA * cut_off_mm)
    weights = np.exp(-np.pi * at**2)
    full = np.convolve(profile, weights)[reach:-reach]
    there = np.convolve(np.ones_like(profile), weights)[reach:-reach]
    return np.asarray(full / there)


def core_roughness(heights_um: npt.ArrayLike) -> Core:
    """Rk, Rpk, Rvk, Mr1 and Mr2 of a roughness profile, by ISO 13565-2.

    The heights sorted from the highest give the material ratio curve. Where its secant over 40 %
    is flattest (the first such place) a straight line is fitted by least squares; its heights at
    0 and 100 % bound the core, Rk apart. The peaks above it have the area of a triangle as wide
    as Mr1 and Rpk high, the valleys below it one as wide as 100 % − Mr2 and Rvk deep.

    Parameters
    ----------
    heights_um : shape (samples,), any zero; at least 100 samples.
    """
    import numpy as np

    curve = np.sort(np.asarray(heights_um, dtype=np.float64))[::-1]
    count = curve.size
    if count < _LEAST_SAMPLES or not np.isfinite(curve).all():
        raise BadInput(
            f"{count} heights make no material ratio curve",
            where="Profile",
            wanted=f"at least {_LEAST_SAMPLES} heights without gaps",
        )
    # The i-th highest sample stands for the material ratio in the middle of its step.
    ratio = (np.arange(count) + 0.5) / count
    wide = round(CORE_SHARE * count)
    drop = curve[: count - wide] - curve[wide:]
    # Equal secants differ by rounding: the first of them is taken.
    first = int(np.argmax(drop <= drop.min() * (1.0 + 1e-12) + 1e-15))
    part = slice(first, first + wide + 1)
    x, y = ratio[part], curve[part]
    slope = float(np.sum((x - x.mean()) * (y - y.mean())) / np.sum((x - x.mean()) ** 2))
    upper = float(y.mean()) - slope * float(x.mean())
    lower = upper + slope
    peaks, valleys = curve > upper, curve < lower
    peak_area = float(np.sum(curve[peaks] - upper)) / count
    valley_area = float(np.sum(lower - curve[valleys])) / count
    mr1, deep = float(peaks.mean()), float(valleys.mean())
    return Core(
        rk_um=upper - lower,
        rpk_um=2.0 * peak_area / mr1 if mr1 > 0 else 0.0,
        rvk_um=2.0 * valley_area / deep if deep > 0 else 0.0,
        mr1_percent=100.0 * mr1,
        mr2_percent=100.0 * (1.0 - deep),
    )
