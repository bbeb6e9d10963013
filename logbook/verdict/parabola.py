"""The parabola of torque against timing, with room for the lopsidedness that torque has.

    torque = greatest − c·d² + k·φ(d) + drift + re-setting + noise,   φ(d) = d²·tanh(d/4)

d is timing − best. k is believed to be small against c, in the measure in which loss curves are
believed to be lopsided (`loss_curves`): it widens the interval of the best by what nobody can
know, and where the pulls show it, it moves the best. Fitted as if torque were a parabola, an
interval of 95 % holds the true best of an engine of ordinary lopsidedness one time in eight once
the pulls are many.
Source: Box & Draper, *Response Surfaces, Mixtures, and Ridge Analyses* (2007), ch. 11 and 12
(bias of a fitted quadratic).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import rules
from logbook.verdict.fit import Array
from logbook.verdict.settled import Settled, settled
from logbook.verdict.timed import TimingPulls

# In percent per square degree: beyond these the fit, not the engine, is at fault, and the
# lopsidedness believed in must not grow or vanish with it.
LEAST_CURVATURE, MOST_CURVATURE = 0.01, 0.16

MOST_ROUNDS, SETTLED_DEG = 12, 1e-7


@dataclass(frozen=True, slots=True)
class LossShape:
    """How torque falls off beside the best: `greatest` in percent of the base, `curvature` and
    `lopsided` in percent of the base per square degree."""

    greatest: float
    curvature: float
    lopsided: float

    def loss_percent(self, degrees: float) -> float:
        """Torque lost at so many degrees from the best, percent of the greatest."""
        lost = degrees**2 * (self.curvature - self.lopsided * float(np.tanh(degrees / 4.0)))
        return 100.0 * lost / self.greatest

    def least_offset(self, within_percent: float) -> float:
        """How many degrees (negative) before the best so much is lost."""
        reach = float(np.sqrt(within_percent / 100.0 * self.greatest / self.curvature))
        if self.lopsided == 0.0:
            return -reach
        near, far = 0.0, 3.0 * reach
        for _ in range(60):
            middle = (near + far) / 2.0
            if self.loss_percent(-middle) < within_percent:
                near = middle
            else:
                far = middle
        return -near


@dataclass(frozen=True, slots=True, eq=False)
class Parabola:
    """The fitted parabola: torque in percent of `base` against (timing − `center`)/`scale`.

    `timing` are the distinct timings fitted. One standard deviation of the lopsidedness adds
    `lopsided_sd`·φ(timing − `about`).
    """

    fit: Settled
    center: float
    scale: float
    base: float
    timing: Array
    about: float
    lopsided_sd: float

    def basis(self, timing: npt.ArrayLike) -> Array:
        """Columns 1, x, x² of the model, shape (timings, 3)."""
        x = (np.asarray(timing, dtype=np.float64) - self.center) / self.scale
        return np.column_stack([np.ones_like(x), x, x * x])

    def leaning(self, timing: npt.ArrayLike) -> Array:
        """What one standard deviation of the lopsidedness adds, shape (timings,)."""
        return self.lopsided_sd * _phi(np.asarray(timing, dtype=np.float64) - self.about)

    def coefficients(self) -> tuple[Array, Array]:
        """Of 1, x and x², and their covariance."""
        part = self.fit.part_of_first()
        return part.fitted.joint(np.eye(3), float(part.s[0]))

    def shape(self) -> LossShape:
        """How torque falls off, where the parabola opens downward."""
        values, _ = self.coefficients()
        lopsided = float(self.fit.contrast((), (0.0, 1.0)).value[0]) if self.lopsided_sd else 0.0
        return LossShape(
            greatest=float(values[0] - values[1] ** 2 / (4.0 * values[2])),
            curvature=-float(values[2]) / self.scale**2,
            lopsided=lopsided * self.lopsided_sd,
        )


def _phi(degrees: Array) -> Array:
    """The first thing that a lopsided loss curve has and a parabola has not."""
    return np.asarray(degrees**2 * np.tanh(degrees / 4.0))


def fit_parabola(pulls: TimingPulls, lopsided_sd: float) -> Parabola:
    """The parabola through all of `pulls`; at least three timings are needed.

    Parameters
    ----------
    lopsided_sd : standard deviation of the lopsidedness a of `loss_curves.loss_percent`; 0 fits
        a plain parabola.
    """
    timings, means = pulls.distinct()
    center = float(timings.mean())
    scale = max(float(np.abs(timings - center).max()), 1.0)
    base = float(means.max())
    x = (pulls.timing - center) / scale
    columns = np.column_stack([np.ones_like(x), x, x * x])
    data = 100.0 * pulls.torque[:, None] / base

    def fitted(about: float, sd: float) -> Parabola:
        leaning = sd * _phi(pulls.timing - about)[:, None] if sd else None
        found = settled(
            pulls.number,
            columns,
            data,
            run=pulls.run,
            prior=pulls.prior,
            wander=pulls.wander,
            believed=leaning,
        )
        return Parabola(found, center, scale, base, timings, about, sd)

    parabola = fitted(center, 0.0)
    for _ in range(MOST_ROUNDS if lopsided_sd else 0):
        values, _ = parabola.coefficients()
        if values[2] >= 0.0:
            break
        top = center - scale * float(values[1] / (2.0 * values[2]))
        about = float(np.clip(top, timings[0], timings[-1]))
        curvature = float(np.clip(-values[2] / scale**2, LEAST_CURVATURE, MOST_CURVATURE))
        moved = abs(about - parabola.about)
        parabola = fitted(about, lopsided_sd * curvature)
        if moved < SETTLED_DEG:
            break
    return parabola


@dataclass(frozen=True, slots=True, eq=False)
class DrawnCurve:
    """The fitted curve for drawing, arrays of equal shape (points,), in the scores' unit;
    `low`/`high` the pointwise 95 % band of the mean."""

    timing: Array
    torque: Array
    low: Array
    high: Array


def draw(parabola: Parabola, timing: npt.ArrayLike) -> DrawnCurve:
    """The fitted curve and its band at the given timings."""
    degrees = np.asarray(timing, dtype=np.float64)
    estimates = [
        parabola.fit.contrast(row, (0.0, lean) if parabola.lopsided_sd else ())
        for row, lean in zip(parabola.basis(degrees), parabola.leaning(degrees), strict=True)
    ]
    value = np.array([float(e.value[0]) for e in estimates])
    half = rules.half_width(
        np.array([float(e.standard_error[0]) for e in estimates]),
        np.array([float(e.degrees_of_freedom[0]) for e in estimates]),
        rules.INTERVAL_LEVEL,
    )
    unit = parabola.base / 100.0
    return DrawnCurve(degrees, value * unit, (value - half) * unit, (value + half) * unit)
