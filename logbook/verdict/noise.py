"""How well the cell repeats: pooled repeatability, priors and where the figure came from.

Sources: ISO 5725-2 (repeatability, reproducibility); Smyth (2004), *Statistical Applications in
Genetics and Molecular Biology* 3(1), art. 3, section 6.2 (a scaled-F prior fitted to the logs of
sample variances). Every noise figure is a standard deviation in percent of the score unless
said otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import words

Array = npt.NDArray[np.float64]

LEAST_SESSIONS = 10
"""Fewer sessions than this teach nothing about the cell: two settings can agree by luck."""

MOST_LEARNED_DF = 6.0
"""A learned prior never weighs more than this many repeats of the session itself."""

_MOST_ROUNDS, _CONVERGED = 200, 1e-10

OWN_DF_ENOUGH = 4
CLEAN_DF_ENOUGH = 2.0
"""With so many degrees of freedom of its own a session no longer leans on an assumption, if so
many are left after what drift and re-setting blur: pulls set up afresh each time cannot tell
noise from re-setting error."""

SILENT_PERCENT = 1e-3
"""Repeats that agree to better than this have been rounded, not repeated: they say nothing about
the noise, and an assumption stays."""


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed of the noise before the session's own repeats: standard deviation in
    percent of the score, how many degrees of freedom that is worth, and its source
    (``"assumed"`` or ``"cell history"``)."""

    percent: float
    degrees_of_freedom: float
    source: str


ASSUMED = Prior(0.3, 2.0, words.ASSUMED)
"""Band averages: consecutive pulls repeat within a standard deviation of 0.1–0.3 % (common
practice, no source); the upper end of that, worth two repeats."""

ASSUMED_PEAKS = Prior(0.5, 2.0, words.ASSUMED)
"""Typed peaks: a peak is one point, not a mean over the band, it is picked because it stood
highest, and it was read and rounded by hand. 0.5 % is where common practice begins to look for
a cause (no source)."""


@dataclass(frozen=True, slots=True)
class Wander:
    """What moves the score beside the noise of single pulls, in percent of the score.

    `drift_percent` is the standard deviation of the drift per pull (``inf``: nothing is
    believed about it and it is estimated freely; ``0``: no drift), `resetting_percent` that of
    setting the same thing up again.
    """

    drift_percent: float
    resetting_percent: float
    source: str


ASSUMED_WANDER = Wander(0.1, 0.15, words.ASSUMED)
NO_WANDER = Wander(0.0, 0.0, words.ASSUMED)
FREE_DRIFT = Wander(float("inf"), 0.0, words.ASSUMED)
"""The plain bracket of the textbooks: drift is one more unknown, re-setting costs nothing."""


@dataclass(frozen=True, slots=True)
class Noise:
    """The noise figure used: standard deviation in percent of the baseline's score, degrees of
    freedom, and ``"this session"``, ``"cell history"`` or ``"assumed"``."""

    percent: float
    degrees_of_freedom: float
    source: str


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Pooled standard deviation of repeats, in the scores' unit, ``nan`` with no repeats.

    `limit` is the repeatability limit of ISO 5725-2: two pulls of one set-up differ by less
    with 95 % probability.
    """

    s: float
    degrees_of_freedom: int
    limit: float


def pooled(scores: npt.ArrayLike, setups: npt.ArrayLike) -> Repeatability:
    """Pooled within-set-up standard deviation (ISO 5725-2, one-way analysis of variance).

    Parameters
    ----------
    scores : shape (pulls,), any unit.
    setups : shape (pulls,), equal labels are repeats of each other.
    """
    from scipy.special import stdtrit

    y = np.asarray(scores, dtype=np.float64)
    labels = np.asarray(setups)
    _, index = np.unique(labels, return_inverse=True)
    counts = np.bincount(index)
    # Two passes: NIST's SiRstv has scores that differ in their last digits only.
    shifted = y - y.mean() if y.size else y
    means = np.bincount(index, weights=shifted) / counts if y.size else shifted
    df = int(y.size - counts.size)
    if df < 1:
        return Repeatability(float("nan"), 0, float("nan"))
    s = float(np.sqrt(np.sum((shifted - means[index]) ** 2) / df))
    return Repeatability(s, df, float(np.sqrt(2.0) * stdtrit(df, 0.975) * s))


def learned_prior(session_sds: Sequence[float], session_dfs: Sequence[float]) -> Prior | None:
    """The cell's own prior, from the repeatability of its earlier sessions.

    How far the sessions' variances scatter, beyond what their few repeats explain, says how much
    one of them tells about the next; pooled counts would claim far too much.

    Parameters
    ----------
    session_sds : per session, its pooled standard deviation in percent of its score.
    session_dfs : per session, the degrees of freedom of that figure.

    Returns
    -------
    ``None`` with fewer than `LEAST_SESSIONS` usable sessions.
    """
    from scipy.special import digamma, polygamma

    sds = np.asarray(session_sds, dtype=np.float64)
    dfs = np.asarray(session_dfs, dtype=np.float64)
    usable = (dfs >= 1.0) & (sds > 0.0) & np.isfinite(sds)
    if np.count_nonzero(usable) < LEAST_SESSIONS:
        return None
    half = dfs[usable] / 2.0
    e = np.log(sds[usable] ** 2) - digamma(half) + np.log(half)
    excess = float(np.var(e, ddof=1) - np.mean(polygamma(1, half)))
    df = _inverse_trigamma(excess) * 2.0 if excess > 0.0 else float("inf")
    # The level belongs to the fitted degrees of freedom; the cap only limits the weight.
    bias = float(digamma(df / 2.0) - np.log(df / 2.0)) if np.isfinite(df) else 0.0
    level = float(np.exp((np.mean(e) + bias) / 2.0))
    return Prior(level, min(df, MOST_LEARNED_DF), words.CELL_HISTORY)


def _inverse_trigamma(value: float) -> float:
    """x with ψ′(x) = value, by Newton's method on 1/ψ′ (convex, so it never overshoots)."""
    from scipy.special import polygamma

    if value > 1e7:
        return float(1.0 / np.sqrt(value))
    if value < 1e-6:
        return 1.0 / value
    x = 0.5 + 1.0 / value
    for _ in range(50):
        trigamma = float(polygamma(1, x))
        step = trigamma * (1.0 - trigamma / value) / float(polygamma(2, x))
        x += step
        if -step / x < 1e-10:
            break
    return x


def settle(
    turned: Array, extra: Array, prior: Prior | None, pooled_over: Array | None = None
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """The noise of a session from its own residuals and the prior, put together or not.

    A learned prior always joins in; an assumed one only until the session has `OWN_DF_ENOUGH`
    degrees of freedom, and longer where all its repeats are equal. Guard: where the session's own
    figure is above the prior's level the prior is dropped, because it could only talk the noise
    down.

    Parameters
    ----------
    turned : independent residuals of `fit.Fit`, shape (own df, data sets), in percent.
    extra : what drift and re-setting add to the variance of each, shape (own df,).
    pooled_over : weights with which each data set's noise is pooled over its likes, rows summing
        to one, shape (data sets, data sets); by default each stands alone.

    Returns
    -------
    Standard deviation in percent, degrees of freedom, and whether the prior took part; each of
    shape (data sets,). Without prior and repeats: ``nan`` and 0.
    """
    own_df, sets = turned.shape
    if own_df == 0:
        return _prior_alone(sets, prior)
    squares, worth = turned**2, np.ones(sets)
    if pooled_over is not None:
        squares, worth = squares @ pooled_over.T, _worth_of_pooling(turned, pooled_over)
    own, own_nu = _restricted_likelihood(squares, extra, None, worth)
    if prior is None:
        return own, own_nu, np.zeros(sets, dtype=np.bool_)
    both, both_nu = _restricted_likelihood(squares, extra, prior, worth)
    kept = ~(own > prior.percent)
    if prior.source == words.ASSUMED and own_df >= OWN_DF_ENOUGH:
        kept &= (own_nu < CLEAN_DF_ENOUGH) | (own < SILENT_PERCENT)
    return np.where(kept, both, own), np.where(kept, both_nu, own_nu), kept


def _worth_of_pooling(turned: Array, weights: Array) -> Array:
    """How many times the degrees of freedom of one data set a pooled variance is worth.

    1/Σ wⱼwₗρⱼₗ², ρ the correlation of the residuals: pooling what errs together is worth nothing.
    From few residuals ρ² comes out too large (1/ν where there is none), so it errs towards one.
    """
    length = np.sqrt(np.sum(turned**2, axis=0))
    unit = np.divide(turned, length, out=np.zeros_like(turned), where=length > 0.0)
    share = np.einsum("kj,jl,kl->k", weights, (unit.T @ unit) ** 2, weights)
    return np.asarray(np.divide(1.0, share, out=np.ones_like(share), where=share > 0.0))


def _prior_alone(sets: int, prior: Prior | None) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """What is known without a single repeat."""
    level, df = (prior.percent, prior.degrees_of_freedom) if prior else (np.nan, 0.0)
    return np.full(sets, level), np.full(sets, df), np.full(sets, prior is not None)


def _restricted_likelihood(
    squares: Array, extra: Array, prior: Prior | None, worth: Array
) -> tuple[Array, Array]:
    """σ and its degrees of freedom where the i-th squared residual has mean σ² + λᵢ.

    Solves m·Σ wᵢ²zᵢ² + ν₀s₀² = σ²(m·Σ wᵢ + ν₀) with wᵢ = σ²/(σ² + λᵢ); ν = ν₀ + m·Σ wᵢ². m is
    `worth`, 1 but for pooled squares. Started from above, each round falls towards the greatest
    root; with λ = 0 the first round is exact.
    """
    weight, level = (prior.degrees_of_freedom, prior.percent**2) if prior else (0.0, 0.0)
    lam = extra[:, None]
    # Where drift and re-setting already explain more than there is, σ falls towards zero; the
    # variance of an estimate is theirs then, and the floor only keeps 0/0 away.
    floor = 1e-8 * float(extra.max())
    tiny = float(np.finfo(np.float64).tiny)
    square = (worth * np.sum(squares, axis=0) + weight * level) / (
        worth * squares.shape[0] + weight
    )
    square = np.maximum(square, floor)
    for _ in range(_MOST_ROUNDS if np.any(extra > 0.0) else 0):
        w = square / (square + lam)
        new = (worth * np.sum(w**2 * squares, axis=0) + weight * level) / (
            worth * np.sum(w, axis=0) + weight
        )
        new = np.maximum(new, floor)
        moved = np.max(np.abs(new - square) / square)
        square = new
        if moved < _CONVERGED:
            break
    w = square / np.maximum(square + lam, tiny)
    return np.sqrt(square), worth * np.sum(w**2, axis=0) + weight


def source_of(kept: bool, prior: Prior | None) -> str:
    """The word for where a noise figure came from, after `settle`."""
    return prior.source if kept and prior is not None else words.THIS_SESSION
