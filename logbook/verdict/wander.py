"""What a cell's history says about its drift and its re-setting error.

Every earlier session in which something was pulled again after something else tells a little
about both. Their restricted likelihoods are added up on a grid about the assumption, which is
also the prior, so that a short history moves it a little and a long one settles it.
Source: Gelman (2006), *Bayesian Analysis* 1:515 (priors for few groups); Searle, Casella &
McCulloch, *Variance Components* (1992), ch. 6.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import words
from logbook.verdict.fit import Array, Labels, fit, indicators, runs_of
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER, LEAST_SESSIONS, Prior, Wander, settle

GRID = 2.0 ** np.linspace(-2.0, 2.0, 7)
PRIOR_LOG2_SD = 1.0
"""Two to one either way is nothing out of the ordinary for a cell nobody has measured."""


@dataclass(frozen=True, slots=True, eq=False)
class PastSession:
    """The counted pulls of an earlier session, by pull number; arrays of shape (pulls,).
    `percent` are scores in per cent of the session's mean."""

    number: Labels
    setup: Labels
    percent: Array


def past_session(number: npt.ArrayLike, setup: npt.ArrayLike, score: npt.ArrayLike) -> PastSession:
    """Put an earlier session's pulls in order; scores positive, in any unit."""
    numbers = np.asarray(number, dtype=np.int64)
    order = np.argsort(numbers, kind="stable")
    scores = np.asarray(score, dtype=np.float64)[order]
    labels = np.asarray(setup, dtype=np.int64)[order]
    return PastSession(numbers[order], labels, 100.0 * scores / scores.mean())


def learned_wander(sessions: Sequence[PastSession], prior: Prior = ASSUMED) -> Wander | None:
    """Drift and re-setting error of the cell, per cent.

    Parameters
    ----------
    sessions : those in which a set-up was returned to count; the others are passed over.
    prior : the noise the sessions are settled with.

    Returns
    -------
    ``None`` with fewer than `LEAST_SESSIONS` sessions that returned to a set-up. Costs some
    hundredths of a second a session: for a worker, not for the screen.
    """
    telling = [past for past in sessions if _returned(past)]
    if len(telling) < LEAST_SESSIONS:
        return None
    log_weight = np.empty((GRID.size, GRID.size))
    for i, drift in enumerate(GRID * ASSUMED_WANDER.drift_percent):
        for j, resetting in enumerate(GRID * ASSUMED_WANDER.resetting_percent):
            log_weight[i, j] = sum(
                _log_likelihood(past, float(drift), float(resetting), prior) for past in telling
            )
    belief = -0.5 * (np.log2(GRID) / PRIOR_LOG2_SD) ** 2
    log_weight += belief[:, None] + belief[None, :]
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    # The mean of the variances: what enters every later standard error is the square.
    drift = ASSUMED_WANDER.drift_percent * float(np.sqrt(weight.sum(axis=1) @ GRID**2))
    resetting = ASSUMED_WANDER.resetting_percent * float(np.sqrt(weight.sum(axis=0) @ GRID**2))
    return Wander(drift, resetting, words.CELL_HISTORY)


def _returned(past: PastSession) -> bool:
    """Whether some set-up was pulled, left and pulled again."""
    runs = runs_of(past.setup)
    return bool(runs.size) and int(runs[-1]) + 1 > np.unique(past.setup).size


def _log_likelihood(past: PastSession, drift: float, resetting: float, prior: Prior) -> float:
    """Restricted log-likelihood of one session, its noise settled with the prior."""
    _, columns = indicators(past.setup)
    fitted = fit(
        past.number,
        columns,
        past.percent[:, None],
        drift_sd=drift,
        resetting_sd=resetting,
        run=runs_of(past.setup),
    )
    s, _, _ = settle(fitted.turned, fitted.extra, prior)
    total = float(s[0]) ** 2 + fitted.extra
    return -0.5 * float(np.sum(np.log(total) + fitted.turned[:, 0] ** 2 / total))
