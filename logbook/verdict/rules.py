"""The verdict rules as plain tests on arrays, so that a benchmark runs the very same ones.

Sources: Holm (1979), *Scandinavian Journal of Statistics* 6:65–70. The order of the tests and
their levels were chosen by simulating a cell (`tests/benchmarks/honesty.py`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from logbook.verdict import words

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

INTERVAL_LEVEL = 0.95
SO_FAR_LEVEL = 0.975
"""A running verdict is looked at after every pull, so it is asked for more than 95 %."""

FAMILY_LEVEL = 0.04
"""At the close: the chance of one or more false gains or losses in the whole session. Short of
5 %, because degrees of freedom are approximate: simulated, sessions of two to six changes come to
4.0–4.9 % with it, and to up to 5.4 % with 4.5 %."""

_NOTHING = words.code(words.NOTHING)
_GAIN_SO_FAR = words.code(words.GAIN_SO_FAR)
_LOSS_SO_FAR = words.code(words.LOSS_SO_FAR)
_LEANING = words.code(words.LEANING)
_NOT_SETTLED = words.code(words.NOT_SETTLED)
_GAIN = words.code(words.GAIN)
_LOSS = words.code(words.LOSS)


def half_width(standard_error: npt.ArrayLike, df: npt.ArrayLike, level: float) -> Array:
    """Half the width of a two-sided Student interval; infinite without degrees of freedom."""
    from scipy.special import stdtrit

    se = np.asarray(standard_error, dtype=np.float64)
    nu = np.asarray(df, dtype=np.float64)
    known = (nu > 0.0) & np.isfinite(se)
    t = stdtrit(np.where(known, nu, 1.0), 0.5 + level / 2.0)
    return np.where(known, t * np.where(known, se, 1.0), np.inf)


def p_values(estimate: npt.ArrayLike, standard_error: npt.ArrayLike, df: npt.ArrayLike) -> Array:
    """Two-sided p of Student's test against zero; 1 without degrees of freedom."""
    from scipy.special import stdtr

    se = np.asarray(standard_error, dtype=np.float64)
    nu = np.asarray(df, dtype=np.float64)
    known = (nu > 0.0) & np.isfinite(se) & (se > 0.0)
    t = np.abs(estimate) / np.where(known, se, 1.0)
    return np.where(known, 2.0 * stdtr(np.where(known, nu, 1.0), -t), 1.0)


def running(
    percent: npt.ArrayLike,
    standard_error: npt.ArrayLike,
    df: npt.ArrayLike,
    *,
    worth_having: float,
    single: bool,
    assumed: npt.ArrayLike,
) -> Codes:
    """The running verdict of each difference, as codes (`words.VERDICTS`).

    Parameters
    ----------
    percent, standard_error, df : of the difference, any common shape.
    worth_having : percent.
    single : a side has one pull only.
    assumed : where the noise figure rests on the assumption; same shape.
    """
    values = np.asarray(percent, dtype=np.float64)
    inside = np.abs(values) + half_width(standard_error, df, INTERVAL_LEVEL) <= worth_having
    excludes = np.abs(values) > half_width(standard_error, df, SO_FAR_LEVEL)
    if single:
        nothing = inside & ~np.asarray(assumed, dtype=np.bool_)
        return np.where(nothing, _NOTHING, _LEANING)
    settled = np.where(values > 0.0, _GAIN_SO_FAR, _LOSS_SO_FAR)
    return np.where(inside, _NOTHING, np.where(excludes, settled, _NOT_SETTLED))


def holm(p: npt.ArrayLike, level: float = FAMILY_LEVEL) -> Flags:
    """Which hypotheses Holm's step-down test rejects; `p` has shape (tests,) or (tests, sets)."""
    values = np.asarray(p, dtype=np.float64)
    order = np.argsort(values, axis=0, kind="stable")
    count = values.shape[0]
    ranks = np.arange(count).reshape((count,) + (1,) * (values.ndim - 1))
    passed = np.take_along_axis(values, order, axis=0) <= level / (count - ranks)
    passed = np.logical_and.accumulate(passed, axis=0)
    rejected = np.zeros(values.shape, dtype=np.bool_)
    np.put_along_axis(rejected, order, passed, axis=0)
    return rejected


def final(codes: Codes, rejected: npt.ArrayLike) -> Codes:
    """At the close: “so far” becomes gain or loss where the test over all changes rejects, and
    not settled where it does not. Every other verdict stays."""
    so_far = (codes == _GAIN_SO_FAR) | (codes == _LOSS_SO_FAR)
    proved = np.where(codes == _GAIN_SO_FAR, _GAIN, _LOSS)
    return np.where(so_far, np.where(rejected, proved, _NOT_SETTLED), codes)


def withheld(codes: Codes) -> Codes:
    """On a day of unusual drift, without the baseline pulled again: no “so far”."""
    so_far = (codes == _GAIN_SO_FAR) | (codes == _LOSS_SO_FAR)
    return np.where(so_far, _NOT_SETTLED, codes)
