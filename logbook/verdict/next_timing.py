"""Which timing to pull next: the one whose pull is expected to save the most torque.

The knowledge gradient: for every permitted whole degree, how much less torque the choice after
one more pull there is expected to give away than the choice now. The belief behind it
(`loss_curves`) chooses the next pull only; the reported best and its interval stay those of the
data (`timing`).
Source: Frazier, Powell & Dayanik (2009), *INFORMS J. on Computing* 21:599–613.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.verdict.bounds import Bounds
from logbook.verdict.fit import Array
from logbook.verdict.loss_curves import (
    ASSUMED_LOSS,
    Belief,
    LossPrior,
    Updated,
    predict,
    prior_belief,
    update,
)
from logbook.verdict.timed import TimingPulls, near_the_best
from logbook.verdict.timing import LEAST_WITHIN_PERCENT, NEAR_THE_BEST_PERCENT

STOP_BELOW_PERCENT = 0.03
"""A further pull that is expected to save less torque than this is not worth its oil."""

TAIL = 1e-4


@dataclass(frozen=True, slots=True)
class NextTiming:
    """The advice.

    Attributes
    ----------
    now_deg : the permitted timing with the least expected loss, ``None`` where advice stops.
    least_deg : the least advance expected to lose no more than `LEAST_WITHIN_PERCENT`
        (adjustable) on top.
    next_deg : the timing to pull next, ``None`` where nothing more is worth a pull.
    gives_away_now, gives_away_after : expected torque given away by stopping now, and after
        the next pull, percent.
    why : what the next pull would buy, or ``""``.
    stop : why there is no next pull, or ``""``.
    bounds : the bounds obeyed, with their sentences.
    prior_source : where the belief about loss curves came from.
    """

    now_deg: float | None
    least_deg: float | None
    next_deg: float | None
    gives_away_now: float | None
    gives_away_after: float | None
    why: str
    stop: str
    bounds: Bounds
    prior_source: str


def next_timing(
    pulls: TimingPulls,
    bounds: Bounds,
    *,
    present_deg: float,
    prior: LossPrior = ASSUMED_LOSS,
    least_within_percent: float = LEAST_WITHIN_PERCENT,
    stop_below_percent: float = STOP_BELOW_PERCENT,
    stop: str = "",
) -> NextTiming:
    """Choose the next timing within the bounds.

    Parameters
    ----------
    pulls : the pulls that differ in timing only.
    present_deg : the timing the session started from; the belief is centered there.
    stop : why advice must stop for reasons of the data (`timing_trust.drift_stops`), ``""`` if
        it need not.
    """
    halted = bounds.stop or stop
    permitted = np.array(bounds.whole_degrees())
    if halted or permitted.size == 0:
        reason = halted or "No whole degree lies within the bounds."
        return NextTiming(None, None, None, None, None, "", reason, bounds, prior.source)
    # As for the parabola: far from the best the shape believed in is not the engine's, and a wide
    # sweep would settle the choice by its tails.
    near = pulls.part(near_the_best(pulls, NEAR_THE_BEST_PERCENT))
    updated = update(near, prior_belief(present_deg, prior))
    expected = expected_loss(updated.belief, permitted)
    best = int(np.argmin(expected))
    now, give_away = float(permitted[best]), float(expected[best])
    least = float(permitted[np.flatnonzero(expected <= give_away + least_within_percent)[0]])
    saves = knowledge_gradient(updated, permitted, bounds)
    # Nobody makes a pull that is expected to lose so much that the fit would not use it.
    saves = np.where(expected <= NEAR_THE_BEST_PERCENT, saves, 0.0)
    pick = int(np.argmax(saves))
    saved = float(saves[pick])
    if saved < stop_below_percent:
        return NextTiming(
            now,
            least,
            None,
            give_away,
            give_away,
            "",
            f"The best further pull, at {permitted[pick]:g}°, is expected to save {saved:.3f} % of"
            f" torque, less than {stop_below_percent:g} %: the rest is noise.",
            bounds,
            prior.source,
        )
    wanted = float(permitted[pick])
    opened = bounds.opened_by(wanted)
    beyond = opened is not None and bounds.high_deg is not None and opened > bounds.high_deg
    return NextTiming(
        now,
        least,
        wanted,
        give_away,
        give_away - saved,
        f"Stopping now gives away {give_away:.2f} % of torque on average; after a pull at"
        f" {wanted:g}° it would be {give_away - saved:.2f} %"
        + (f", if no knock is heard there and {opened:g}° is open then." if beyond else "."),
        "",
        bounds,
        prior.source,
    )


def expected_loss(belief: Belief, timing: Array) -> Array:
    """Expected torque given away at each timing, percent, shape (timings,)."""
    return np.asarray(belief.weight @ belief.losses(timing))


def knowledge_gradient(updated: Updated, permitted: Array, bounds: Bounds) -> Array:
    """What one more pull at each permitted timing is expected to save, percent of torque.

    Each curve predicts the pull's outcome as a normal distribution of the same width. Outcomes
    are taken one width apart (for a mixture of normals that sum is exact to about 10⁻⁸); after
    each the curves are weighed anew and the timing chosen anew, among those permitted then: a
    pull at the bound that is found clean opens the next two degrees, which is what it is for.
    """
    belief = updated.belief
    highest = bounds.opened_by(float(permitted[-1])) or float(permitted[-1])
    beyond = np.arange(permitted[-1] + 1.0, np.floor(highest) + 0.5)
    losses = belief.losses(np.concatenate([permitted, beyond]))
    now = int(np.argmin(belief.weight @ losses[:, : permitted.size]))
    mean, variance = predict(updated, permitted)
    saves = np.empty(permitted.size)
    for k, width in enumerate(np.sqrt(variance)):
        centers = mean[:, k]
        # Curves that hardly anybody believes in would stretch the outcomes a hundredfold.
        order = np.argsort(centers, kind="stable")
        reached = np.cumsum(belief.weight[order])
        low, high = centers[order[np.searchsorted(reached, [TAIL, 1.0 - TAIL])]]
        outcomes = np.arange(low - 4.0 * width, high + 5.0 * width, width)
        # Density times step: the step is the width, so that only 1/√(2π) is left.
        chance = np.exp(-0.5 * ((outcomes[:, None] - centers) / width) ** 2) / np.sqrt(2.0 * np.pi)
        opened = bounds.opened_by(float(permitted[k])) or 0.0
        then = permitted.size + int(np.count_nonzero(beyond <= opened))
        after = (chance * belief.weight) @ losses[:, :then]
        saves[k] = float(np.sum(after[:, now] - after.min(axis=1)))
    return saves
