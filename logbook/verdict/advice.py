"""How many more pulls would settle a difference, and which ones.

“Settle” means: with four chances in five the verdict after them is no longer open, if the true
difference is what it looks like now. Source: power of Student's test by the non-central t
distribution (NIST/SEMATECH e-Handbook 7.2.2; Cohen, *Statistical Power Analysis*, ch. 2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import fit, indicators, runs_of
from logbook.verdict.noise import Noise
from logbook.verdict.rules import INTERVAL_LEVEL, SO_FAR_LEVEL, half_width

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
    """The chance that the 95 % interval comes to lie within ± `worth_having` (per cent)."""
    from scipy.special import ndtr

    if df <= 0.0 or not standard_error > 0.0:
        return 0.0
    room = worth_having - float(half_width(standard_error, df, INTERVAL_LEVEL))
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
    error out.

    Parameters
    ----------
    number, setup : the pulls of the session, shape (pulls,).
    before, after : the labels of the two set-ups.
    percent : the difference as it looks now, per cent of the baseline.
    drift_sd, resetting_sd : as for `fit.fit`, in per cent.

    Returns
    -------
    ``None`` where `MOST_PULLS` would not do it.
    """
    numbers, labels = np.asarray(number), np.asarray(setup)
    run = runs_of(labels)
    ours = (labels == before) | (labels == after)
    numbers_here, labels_here, run_here = numbers[ours], labels[ours], run[ours]
    last = int(numbers.max())
    best: MorePulls | None = None
    for start, other in ((before, after), (after, before)):
        added = np.array([start, other] * (MOST_PULLS // 2))

        def settles(count: int, added: npt.NDArray[np.int64] = added) -> bool:
            all_labels = np.concatenate([labels_here, added[:count]])
            sides = np.count_nonzero(all_labels == before), np.count_nonzero(all_labels == after)
            if min(sides) < 2:
                return False
            all_numbers = np.concatenate([numbers_here, last + 1 + np.arange(count)])
            fresh = runs_of(np.concatenate([labels[-1:], added[:count]]))[1:] + run.max()
            _, columns = indicators(all_labels)
            fitted = fit(
                all_numbers,
                columns,
                np.zeros((all_labels.size, 1)),
                drift_sd=drift_sd,
                resetting_sd=resetting_sd,
                run=np.concatenate([run_here, fresh]),
            )
            sign = 1.0 if before < after else -1.0
            estimate = fitted.contrast(
                [-sign, sign], [noise.percent], [noise.degrees_of_freedom + count]
            )
            se, df = float(estimate.standard_error[0]), float(estimate.degrees_of_freedom[0])
            likely = max(
                power(percent, se, df, SO_FAR_LEVEL),
                chance_of_nothing(percent, se, df, worth_having),
            )
            return likely >= POWER

        most = MOST_PULLS if best is None else best.count - 1
        if most < 1 or not settles(most):
            continue
        low, high = 0, most
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if settles(middle) else (middle, high)
        best = MorePulls(high, tuple(int(label) for label in added[:high]))
    return best
