"""What is believed about how torque falls off beside the best timing, before and after pulls.

loss(x) = 100·c·x²·exp(a·tanh(x/4)) percent, x = timing − best in degrees: flat at the best,
lopsided by a. The belief is a grid over best, c and a, a few thousand curves; pulls weigh them by
their likelihood with the level unknown, drift and re-setting in, and the noise integrated over.
Sources: common practice for the flatness (0.1–0.2 % lost at ±2°, about 1 % at ±5°, no source);
O'Hagan & Forster, *Bayesian Inference* (2004), ch. 11.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import Array, indicators
from logbook.verdict.noise import ASSUMED, Prior
from logbook.verdict.timed import TimingPulls

NEGLIGIBLE = 1e-7


@dataclass(frozen=True, slots=True)
class LossPrior:
    """The belief before the first pull: standard deviation and reach of the best about the
    present timing (degrees), curvature per square degree with its factor of uncertainty, and the
    standard deviation of the lopsidedness. `source` as for noise."""

    best_sd_deg: float = 4.0
    best_reach_deg: float = 14.0
    curvature: float = 4e-4
    curvature_factor: float = 1.6
    lopsided_sd: float = 0.35
    source: str = "assumed"


ASSUMED_LOSS = LossPrior()


def loss_percent(offset: npt.ArrayLike, curvature: npt.ArrayLike, lopsided: npt.ArrayLike) -> Array:
    """Torque lost at `offset` degrees from the best, percent; arguments broadcast."""
    x = np.asarray(offset, dtype=np.float64)
    c, a = np.asarray(curvature, dtype=np.float64), np.asarray(lopsided, dtype=np.float64)
    return np.asarray(100.0 * c * x * x * np.exp(a * np.tanh(x / 4.0)))


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Weighted loss curves: arrays of shape (curves,), `weight` sums to one."""

    best: Array
    curvature: Array
    lopsided: Array
    weight: Array

    def losses(self, timing: npt.ArrayLike) -> Array:
        """Loss of every curve at every timing, percent, shape (curves, timings)."""
        degrees = np.asarray(timing, dtype=np.float64)
        return loss_percent(
            degrees[None, :] - self.best[:, None],
            self.curvature[:, None],
            self.lopsided[:, None],
        )


@lru_cache(maxsize=8)
def _quadrature(points: int) -> tuple[Array, Array]:
    """Nodes and weights for a standard normal (Gauss–Hermite)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(points)
    return nodes, weights / weights.sum()


@lru_cache(maxsize=8)
def prior_belief(present_deg: float, prior: LossPrior = ASSUMED_LOSS) -> Belief:
    """The grid of curves before any pull: best by half degrees, five curvatures, five shapes."""
    offset = np.arange(-prior.best_reach_deg, prior.best_reach_deg + 0.25, 0.5)
    at = np.exp(-0.5 * (offset / prior.best_sd_deg) ** 2)
    nodes, weights = _quadrature(5)
    best, curve, shape = (
        grid.ravel()
        for grid in np.meshgrid(
            present_deg + offset,
            prior.curvature * prior.curvature_factor**nodes,
            prior.lopsided_sd * nodes,
            indexing="ij",
        )
    )
    weight = (at[:, None, None] * weights[:, None] * weights).ravel()
    return Belief(best, curve, shape, weight / weight.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Updated:
    """The belief after the pulls, with what predicting one more needs.

    `noise_percent` is the root of the expected noise variance; `percent` the torques of `pulls`
    in percent of `base`, shape (pulls,).
    """

    belief: Belief
    noise_percent: float
    pulls: TimingPulls
    percent: Array
    base: float


def update(pulls: TimingPulls, prior: Belief) -> Updated:
    """Weigh the curves by the pulls.

    The noise is integrated over nine values of its prior (Student's likelihood in effect), so a
    noisy day shows itself without a rule; with no prior on record the assumed one is used.
    """
    base = float(pulls.torque.max())
    percent = 100.0 * pulls.torque / base
    sigmas = _noise_nodes(pulls.prior or ASSUMED)
    expected = -prior.losses(pulls.timing)
    residual = percent[None, :] - expected
    log_likelihood = np.stack([_log_likelihood(pulls, residual, s) for s in sigmas])
    joint = np.exp(log_likelihood - log_likelihood.max()) * prior.weight
    weight = joint.sum(axis=0)
    total = weight.sum()
    noise = float(np.sqrt(joint.sum(axis=1) @ sigmas**2 / total))
    keep = weight > NEGLIGIBLE * weight.max()
    kept = weight[keep] / weight[keep].sum()
    belief = Belief(prior.best[keep], prior.curvature[keep], prior.lopsided[keep], kept)
    return Updated(belief, noise, pulls, percent, base)


def _noise_nodes(prior: Prior) -> Array:
    """Nine equally likely values of σ: s₀·√(ν₀/χ²), from the prior's own distribution."""
    from scipy.special import chdtri

    tails = (np.arange(9) + 0.5) / 9.0
    squares = chdtri(prior.degrees_of_freedom, tails)
    return np.asarray(prior.percent * np.sqrt(prior.degrees_of_freedom / squares))


def covariance_of(number: Array, run: npt.ArrayLike, pulls: TimingPulls, sigma: float) -> Array:
    """σ²·I + τ_b²·tt′ + τ_u²·ZZ′ over the given pull numbers and runs, percent²."""
    time = number - number[0]
    _, blocks = indicators(run)
    # A drift nothing is believed about cannot be weighed with; a wide belief does the same work.
    drift = min(pulls.wander.drift_percent, 1.0)
    return np.asarray(
        sigma**2 * np.eye(number.size)
        + drift**2 * np.outer(time, time)
        + pulls.wander.resetting_percent**2 * (blocks @ blocks.T)
    )


def _log_likelihood(pulls: TimingPulls, residual: Array, sigma: float) -> Array:
    """Of each curve, the level integrated out over a flat prior; shape (curves,)."""
    v = covariance_of(pulls.number.astype(np.float64), pulls.run, pulls, sigma)
    root = np.linalg.cholesky(v)
    white = np.linalg.solve(root, np.column_stack([np.ones(residual.shape[1]), residual.T]))
    one, r = white[:, 0], white[:, 1:]
    level = one @ one
    square = np.sum(r * r, axis=0) - (one @ r) ** 2 / level
    log_determinant = 2.0 * float(np.sum(np.log(np.diag(root)))) + float(np.log(level))
    return np.asarray(-0.5 * (square + log_determinant))


def predict(updated: Updated, timing: npt.ArrayLike) -> tuple[Array, Array]:
    """The next pull at each of several timings: its mean under every curve, and its variance.

    Returns
    -------
    Mean, percent of `base`, shape (curves, timings), and variance, percent², shape (timings,)
    (a timing that was pulled last needs no re-setting).
    """
    degrees = np.asarray(timing, dtype=np.float64)
    pulls, belief = updated.pulls, updated.belief
    number = np.append(pulls.number, pulls.number[-1] + 1).astype(np.float64)
    expected = -belief.losses(pulls.timing)
    residual = updated.percent[None, :] - expected
    ahead = -belief.losses(degrees)
    mean, variance = np.empty_like(ahead), np.empty(degrees.size)
    for same in (False, True):
        here = (degrees == pulls.timing[-1]) == same
        if not here.any():
            continue
        run = np.append(pulls.run, pulls.run[-1] if same else pulls.run.max() + 1)
        v = covariance_of(number, run, pulls, updated.noise_percent)
        inner = np.linalg.inv(v[:-1, :-1])
        cross = v[:-1, -1]
        one = inner.sum(axis=1)
        level = one / one.sum()
        # Kriging with an unknown level: the weights sum to one.
        pull = inner @ cross
        weights = pull + (1.0 - pull.sum()) * level
        mean[:, here] = ahead[:, here] + (residual @ weights)[:, None]
        variance[here] = v[-1, -1] - cross @ pull + (1.0 - pull.sum()) ** 2 / one.sum()
    return mean, variance
