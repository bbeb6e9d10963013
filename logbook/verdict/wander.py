"""What a cell's history says about its drift and its re-setting error.

Every earlier session in which something was pulled again after something else tells a little
about both. Their restricted likelihoods, the noise of each session integrated over, are added up
on a grid about the assumption, which is also the prior, so that a short history moves it a little
and a long one settles it.
Source: Gelman (2006), *Bayesian Analysis* 1:515 (priors for few groups); Searle, Casella &
McCulloch, *Variance Components* (1992), ch. 6.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import words
from logbook.verdict.fit import Array, Labels, indicators, runs_of
from logbook.verdict.noise import (
    ASSUMED,
    ASSUMED_WANDER,
    LEAST_SESSIONS,
    SILENT_PERCENT,
    Prior,
    Wander,
)

GRID = 2.0 ** np.linspace(-2.0, 2.0, 7)
PRIOR_LOG2_SD = 1.0
"""Two to one either way is nothing out of the ordinary for a cell nobody has measured."""

LEAST_SHARE = 0.8
"""Never less than this of the assumption: the next engine, or the first change of a carburetor, is
not bound by what the cell did before. Simulated: after twelve sessions without either, a day of
the drift and re-setting error assumed of others has 5 % false gains and losses where the baseline
was returned to; with 0.6 of the assumption 7 %, and little narrower intervals for it."""

NOISE_GRID = 2.0 ** np.linspace(-3.0, 3.0, 13)
"""The noise of a session, in multiples of what its prior says."""


@dataclass(frozen=True, slots=True, eq=False)
class PastSession:
    """The counted pulls of an earlier session, by pull number; arrays of shape (pulls,).
    `percent` are scores in percent of the session's mean; `run` labels the runs without
    re-setting."""

    number: Labels
    setup: Labels
    percent: Array
    run: Labels


def past_session(
    number: npt.ArrayLike,
    setup: npt.ArrayLike,
    score: npt.ArrayLike,
    run: npt.ArrayLike | None = None,
) -> PastSession:
    """Put an earlier session's pulls in order; scores positive, in any unit.

    Parameters
    ----------
    run : by default consecutive pulls of one set-up.
    """
    numbers = np.asarray(number, dtype=np.int64)
    order = np.argsort(numbers, kind="stable")
    scores = np.asarray(score, dtype=np.float64)[order]
    labels = np.asarray(setup, dtype=np.int64)[order]
    runs = runs_of(labels) if run is None else np.asarray(run, dtype=np.int64)[order]
    return PastSession(numbers[order], labels, 100.0 * scores / scores.mean(), runs)


def learned_wander(sessions: Sequence[PastSession], prior: Prior = ASSUMED) -> Wander | None:
    """Drift and re-setting error of the cell, percent.

    Parameters
    ----------
    sessions : those in which a set-up was returned to count; the others are passed over.
    prior : what is known of a session's noise before its own repeats.

    Returns
    -------
    ``None`` with fewer than `LEAST_SESSIONS` sessions that returned to a set-up. Costs a
    millisecond or two a session.
    """
    telling = [past for past in sessions if _tells(past)]
    if len(telling) < LEAST_SESSIONS:
        return None
    belief = -0.5 * (np.log2(GRID) / PRIOR_LOG2_SD) ** 2
    log_weight = belief[:, None] + belief[None, :]
    for past in telling:
        log_weight = log_weight + _log_likelihood(past, prior)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    # The mean of the variances: what enters every later standard error is the square.
    drift, resetting = (
        max(float(np.sqrt(weight.sum(axis=axis) @ GRID**2)), LEAST_SHARE) for axis in (1, 0)
    )
    return Wander(
        ASSUMED_WANDER.drift_percent * drift,
        ASSUMED_WANDER.resetting_percent * resetting,
        words.CELL_HISTORY,
    )


def _tells(past: PastSession) -> bool:
    """Whether some set-up was pulled, left and pulled again, and not with figures so rounded that
    they are all the same."""
    if np.unique(past.run).size <= np.unique(past.setup).size:
        return False
    _, columns = indicators(past.setup)
    means = (columns / columns.sum(axis=0)).T @ past.percent
    return bool(np.abs(past.percent - columns @ means).max() > SILENT_PERCENT)


def _log_likelihood(past: PastSession, prior: Prior) -> Array:
    """Restricted log-likelihood of one session at every drift (rows) and re-setting error."""
    _, columns = indicators(past.setup)
    _, blocks = indicators(past.run)
    time = past.number - past.number.mean()
    left_over = np.linalg.qr(columns, mode="complete")[0][:, columns.shape[1] :]
    slope, steps = left_over.T @ time, left_over.T @ blocks
    drift = (GRID * ASSUMED_WANDER.drift_percent) ** 2
    resetting = (GRID * ASSUMED_WANDER.resetting_percent) ** 2
    # Shape (drifts, re-settings, own df, own df): all covariances but the noise's at once.
    wander = (
        drift[:, None, None, None] * np.outer(slope, slope)
        + resetting[None, :, None, None] * (steps @ steps.T)
    )  # fmt: skip
    extra, turn = np.linalg.eigh(wander)
    squares = np.einsum("i,drij->drj", left_over.T @ past.percent, turn) ** 2
    noise = prior.percent * NOISE_GRID
    total = noise[:, None, None, None] ** 2 + np.maximum(extra, 0.0)
    log_likelihood = -0.5 * np.sum(np.log(total) + squares / total, axis=-1)
    nu = prior.degrees_of_freedom
    # The density of ln σ where ν₀s₀²/σ² is chi-square with ν₀ degrees of freedom.
    log_prior = -nu * np.log(NOISE_GRID) - 0.5 * nu / NOISE_GRID**2
    joint = log_likelihood + log_prior[:, None, None]
    top = joint.max(axis=0)
    return np.asarray(top + np.log(np.sum(np.exp(joint - top), axis=0)))
