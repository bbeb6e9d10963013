"""The sentence beside a verdict: why this word, and what would change it."""

from __future__ import annotations

from logbook.verdict import words
from logbook.verdict.advice import MOST_PULLS, MorePulls

FAR_AWAY = 4
"""With so many pulls between a change and the baseline, drift need not be a straight line any
more. Simulated (a step, a warm-up, a wandering cell), a baseline at both ends of six changes lets
8 to 20 % of sessions have a false gain or loss; one after every change 2 to 4 %."""


def why(
    verdict: str,
    *,
    percent: float,
    interval: tuple[float, float],
    worth_having: float,
    sides: tuple[int, int],
    assumed: bool,
    noise_percent: float,
    closed: bool,
    returned: bool,
    away: int,
    turned_down: bool,
    drift_percent: float | None,
) -> str:
    """One or two sentences on why a difference has its verdict.

    Parameters
    ----------
    percent, interval : the difference and its 95 % interval, percent of the baseline.
    sides : pulls before and after the change.
    assumed : the noise figure rests on the assumption.
    returned : the baseline was pulled again after it.
    away : pulls between it and the baseline, on the farther side.
    turned_down : it was so far, and did not hold among all the changes at the close.
    drift_percent : the drift per pull where it is unusual, else ``None``.
    """
    worth = f"±{worth_having:g} %"
    if verdict == words.NOTHING:
        real = interval[0] > 0.0 or interval[1] < 0.0
        tail = ": real, too small to matter" if real else ""
        return f"The whole 95 % interval lies within {worth}{tail}."
    if verdict == words.LEANING:
        return _leaning(percent, sides, assumed, noise_percent)
    bent = (
        f" The baseline is {away} pulls away: a drift that is no straight line stays in it."
        if away >= FAR_AWAY
        else ""
    )
    if verdict in (words.GAIN, words.LOSS):
        return (
            f"Holds among all the changes tried, and the baseline was pulled again after it.{bent}"
        )
    if verdict in (words.GAIN_SO_FAR, words.LOSS_SO_FAR):
        if returned:
            still = "" if closed else " Final when the session closes."
            return f"Larger than noise, drift and re-setting explain.{still}{bent}"
        open_end = "it stays “so far”" if closed else "until then it cannot become final"
        return (
            "Larger than noise and the usual drift explain, but the baseline was not pulled"
            f" again after it: {open_end}."
        )
    if drift_percent is not None and not returned:
        return (
            f"The day drifts by {words.signed(drift_percent)} % a pull, more than is usual:"
            " without the baseline pulled again nothing can be told."
        )
    if turned_down:
        return "Stands alone, but not among as many changes as were tried."
    if interval[0] > 0.0 or interval[1] < 0.0:
        return "The 95 % interval excludes zero, but a gain or loss asks for 97.5 %."
    return f"The 95 % interval holds zero and reaches beyond {worth}."


def _leaning(percent: float, sides: tuple[int, int], assumed: bool, noise_percent: float) -> str:
    """Single pulls: which way, and why that is no verdict."""
    way = "up" if percent > 0.0 else "down" if percent < 0.0 else "neither way"
    lone = words.listed(
        [f"one pull {where}" for where, n in zip(("before", "after"), sides, strict=True) if n < 2]
    )
    noise = f"; the noise of {noise_percent:.2f} % is assumed" if assumed else ""
    return f"Leans {way} on {lone} the change{noise}."


def which_next(
    more: MorePulls | None, *, before: int, after: int, returned: bool, noise_known: bool
) -> str:
    """What to pull to settle it, or that repeats will not."""
    if not noise_known:
        return "Without a noise figure nobody can say how many pulls would settle it."
    if more is None:
        return f"{MOST_PULLS} more pulls would not be likely to settle it."
    there = sum(1 for label in more.setups if label == after)
    back = sum(1 for label in more.setups if label == before)
    parts = [f"{words.pulls(there)} of this set-up"] if there else []
    parts += [f"{words.pulls(back)} of what it is measured from"] if back else []
    order = ", taken in turn," if there and back else ""
    drift = (
        ""
        if returned or back
        else " More repeats without going back to the baseline cannot remove drift."
    )
    return f"{words.listed(parts)}{order} would settle it four times in five.{drift}"
