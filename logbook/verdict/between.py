"""Between sessions and builds: the band is the cell's reproducibility, not its repeatability.

Source: ISO 5725-2 (reproducibility; a session plays the part of a laboratory); ISO/IEC Guide
98-3, G.4 (effective degrees of freedom, Welch–Satterthwaite).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict import rules, words
from logbook.verdict.noise import OWN_DF_ENOUGH, Noise, Prior, pooled
from logbook.verdict.visits import welch

ASSUMED_REPRODUCIBILITY = Prior(1.0, 2.0, words.ASSUMED)
"""Day to day standard deviation about 1 % (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a comparison between sessions: the corrected mean of `pulls` pulls of one
    set-up, in any unit, with its session's noise."""

    mean: float
    pulls: int
    noise: Noise


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What differs from visit to visit and is not a set-up. Empty text: not known."""

    cell: str = ""
    absorber: str = ""
    fuel_batch: str = ""
    oil: str = ""
    calibration: str = ""
    broken_in: bool = True


@dataclass(frozen=True, slots=True)
class BetweenJudgement:
    """Side `b` minus side `a`: in the scores' unit and in percent of `a`, with the 95 %
    interval. `reproducibility` is the standard deviation used for each session, `uncontrolled`
    what else differs. The verdict is never final: nothing was bracketed."""

    difference: float
    interval: tuple[float, float]
    percent: float
    standard_error_percent: float
    interval_percent: tuple[float, float]
    degrees_of_freedom: float
    p_value: float
    verdict: str
    reason: str
    reproducibility: Noise
    uncontrolled: tuple[str, ...]


def reproducibility(means: Sequence[float], groups: Sequence[Hashable]) -> Noise:
    """The cell's reproducibility standard deviation, percent.

    Parameters
    ----------
    means : corrected mean scores of sessions, positive, under one standard.
    groups : the engine's build and set-up of each; sessions of one group should have agreed.

    Returns
    -------
    From the cell's history alone with four degrees of freedom or more, or where it is worse than
    the assumption; else the two put together, marked assumed.
    """
    order = {group: place for place, group in enumerate(dict.fromkeys(groups))}
    logs = 100.0 * np.log(np.asarray(means, dtype=np.float64))
    own = pooled(logs, [order[group] for group in groups])
    df, assumed = own.degrees_of_freedom, ASSUMED_REPRODUCIBILITY
    if df == 0:
        return Noise(assumed.percent, assumed.degrees_of_freedom, assumed.source)
    if df >= OWN_DF_ENOUGH or own.s > assumed.percent:
        return Noise(own.s, float(df), words.CELL_HISTORY)
    total = df + assumed.degrees_of_freedom
    square = (df * own.s**2 + assumed.degrees_of_freedom * assumed.percent**2) / total
    return Noise(float(np.sqrt(square)), total, words.ASSUMED)


def compare_sessions(
    a: Side,
    b: Side,
    between: Noise,
    *,
    worth_having_percent: float = 0.5,
    circumstances: tuple[Circumstances, Circumstances] | None = None,
) -> BetweenJudgement:
    """The difference between set-ups (or builds) pulled in different sessions.

    Parameters
    ----------
    a, b : the two sides, both corrected to one standard.
    between : from `reproducibility`.
    circumstances : of `a` and `b`.

    Raises
    ------
    ValueError : a side without pulls or with a mean that is not positive.
    """
    if min(a.pulls, b.pulls) < 1 or not (a.mean > 0.0 and b.mean > 0.0):
        raise ValueError("each side needs a pull and a positive mean")
    percent = 100.0 * (b.mean / a.mean - 1.0)
    parts = [
        (2.0 * between.percent**2, between.degrees_of_freedom),
        (a.noise.percent**2 / a.pulls, a.noise.degrees_of_freedom),
        (b.noise.percent**2 / b.pulls, b.noise.degrees_of_freedom),
    ]
    variance, df = welch(parts)
    se = float(np.sqrt(variance))
    half = float(rules.half_width(se, df, rules.INTERVAL_LEVEL))
    single = min(a.pulls, b.pulls) < 2
    code = rules.running(
        percent,
        se,
        df,
        worth_having=worth_having_percent,
        single=single,
        assumed=between.source == words.ASSUMED,
    )
    interval = (percent - half, percent + half)
    differing = uncontrolled(*circumstances) if circumstances else ()
    also = f" Not controlled: {words.listed(list(differing))}." if differing else ""
    unit = a.mean / 100.0
    return BetweenJudgement(
        difference=b.mean - a.mean,
        interval=(interval[0] * unit, interval[1] * unit),
        percent=percent,
        standard_error_percent=se,
        interval_percent=interval,
        degrees_of_freedom=df,
        p_value=float(rules.p_values(percent, se, df)),
        verdict=words.VERDICTS[int(code)],
        reason=(
            f"From day to day the cell reproduces within a standard deviation of"
            f" {between.percent:.2f} % ({between.source}).{also}"
        ),
        reproducibility=between,
        uncontrolled=differing,
    )


def uncontrolled(a: Circumstances, b: Circumstances) -> tuple[str, ...]:
    """What differs between two visits beside the set-up, ready to be listed."""
    found = [
        f"another {name}"
        for name, left, right in (
            ("cell", a.cell, b.cell),
            ("absorber", a.absorber, b.absorber),
            ("fuel batch", a.fuel_batch, b.fuel_batch),
            ("oil", a.oil, b.oil),
            ("calibration of the load cell", a.calibration, b.calibration),
        )
        if left != right
    ]
    if not (a.broken_in and b.broken_in):
        found.append("pulls before break-in ended")
    return tuple(found)


def conditioning(scores: npt.ArrayLike, noise_percent: float) -> int:
    """How many of the first pulls of one set-up only warmed the engine: those before two
    consecutive ones agree within 2 s_r. They are never a baseline.

    Parameters
    ----------
    scores : of the session's first pulls at one set-up, in order, positive.
    noise_percent : s_r.

    Returns
    -------
    The number of conditioning pulls; all of them while no two have agreed. A single pull has
    nothing to disagree with: 0.
    """
    values = np.asarray(scores, dtype=np.float64)
    if values.size < 2:
        return 0
    steps = 100.0 * np.abs(np.diff(values)) / values[:-1]
    agree = np.flatnonzero(steps <= 2.0 * noise_percent)
    return int(agree[0]) if agree.size else int(values.size)
