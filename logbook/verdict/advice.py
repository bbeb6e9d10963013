"""How many more pulls would settle a difference, and which ones.

“Settle” means: with four chances in five the verdict after them is no longer open, if the true
difference is what it looks like now. Source: power of Student's test by the non-central t
distribution (NIST/SEMATECH e-Handbook 7.2.2; Cohen, *Statistical Power Analysis*, ch. 2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import foreseen, runs_of
from logbook.verdict.noise import Noise
from logbook.verdict.rules import INTERVAL_LEVEL, SO_FAR_LEVEL

POWER = 0.8
MOST_PULLS = 12
"""Advice that asks for more than this is no advice: the oil does not stay hot so long."""


@dataclass(frozen=True, slots=True)
class MorePulls:
    """How many further pulls, and the set-up of each in order (labels)."""

    count: int
    setups: tuple[int, ...]


def power(difference: float, standard_error: float, df: float, level: float) -> float:
    """The chance that Student's two-sided test at `level` calls a true `difference` real."""
    from scipy.special import nctdtr, stdtrit

    if df <= 0.0 or not standard_error > 0.0:
        return 0.0
    limit = float(stdtrit(df, 0.5 + level / 2.0))
    return 1.0 - float(nctdtr(df, abs(difference) / standard_error, limit))


def chance_of_nothing(
    difference: float, standard_error: float, df: float, worth_having: float
) -> float:
    """The chance that the 95 % interval comes to lie within ± `worth_having` (percent)."""
    from scipy.special import ndtr, stdtrit

    if df <= 0.0 or not standard_error > 0.0:
        return 0.0
    room = worth_having - standard_error * float(stdtrit(df, 0.5 + INTERVAL_LEVEL / 2.0))
    if room <= 0.0:
        return 0.0
    up, down = (room - difference) / standard_error, (-room - difference) / standard_error
    return float(ndtr(up) - ndtr(down))


def pulls_per_setup(difference: float, s: float, *, level: float = 0.95) -> int:
    """Pulls of each of two set-ups that show a true `difference` with `POWER`, drift aside.

    Parameters
    ----------
    difference, s : the difference and the repeatability, same unit, both positive.

    Raises
    ------
    ValueError : `difference` or `s` is not positive.
    """
    if not (difference > 0.0 and s > 0.0):
        raise ValueError("the difference and the repeatability must be positive")
    n = 2
    while power(difference, s * np.sqrt(2.0 / n), 2.0 * n - 2.0, level) < POWER:
        n += 1 if n < 200 else n // 10
    return n


def more_pulls(
    number: npt.ArrayLike,
    setup: npt.ArrayLike,
    *,
    before: int,
    after: int,
    percent: float,
    noise: Noise,
    worth_having: float,
    drift_sd: float,
    resetting_sd: float,
) -> MorePulls | None:
    """The fewest further pulls of two set-ups, taken in turn, that would settle their difference.

    Judged on the pulls of these two alone, so what the rest of the session tells about the drift
    comes on top. Set-ups alternate, each set up afresh: that is what takes drift and re-setting
    error out. The first is `before`, unless it was pulled last.

    Parameters
    ----------
    number, setup : the pulls of the session in order, shape (pulls,).
    before, after : the labels of the two set-ups.
    percent : the difference as it looks now, percent of the baseline.
    drift_sd, resetting_sd : as for `fit.fit`, in percent.

    Returns
    -------
    ``None`` where `MOST_PULLS` would not do it.
    """
    numbers, labels = np.asarray(number), np.asarray(setup)
    ours = (labels == before) | (labels == after)
    pair = (after, before) if labels[-1] == before else (before, after)
    added = np.array(pair * (MOST_PULLS // 2))
    # Every added pull begins a run: one set up afresh, after a pull of the other.
    run = np.concatenate([runs_of(labels)[ours], labels.size + np.arange(MOST_PULLS)])
    is_after = np.concatenate([labels[ours], added]) == after
    columns = np.column_stack([~is_after, is_after]).astype(np.float64)
    times = np.concatenate([numbers[ours], numbers[-1] + 1 + np.arange(MOST_PULLS)])

    def settles(count: int) -> bool:
        taken = slice(int(np.count_nonzero(ours)) + count)
        if columns[taken].sum(axis=0).min() < 2.0:
            return False
        se, growth = foreseen(
            times[taken],
            columns[taken],
            (-1.0, 1.0),
            s=noise.percent,
            drift_sd=drift_sd,
            resetting_sd=resetting_sd,
            run=run[taken],
        )
        df = growth * (noise.degrees_of_freedom + count)
        return (
            power(percent, se, df, SO_FAR_LEVEL) >= POWER
            or chance_of_nothing(percent, se, df, worth_having) >= POWER
        )

    if not settles(MOST_PULLS):
        return None
    low, high = 0, MOST_PULLS
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if settles(middle) else (middle, high)
    return MorePulls(high, tuple(int(label) for label in added[:high]))
