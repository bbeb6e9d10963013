"""What is judged of a session's drift and of one difference: the results of `difference`."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.verdict.noise import Noise, Wander


@dataclass(frozen=True, slots=True)
class Drift:
    """The day's drift in percent of the baseline per pull, with its standard error.

    `unusual`: more than the cell is known for, so nothing that the baseline was not pulled again
    after is called a gain or a loss.
    """

    percent_per_pull: float
    standard_error: float
    unusual: bool


@dataclass(frozen=True, slots=True)
class SetupJudgement:
    """What one set-up is worth against another (against the baseline unless said otherwise).

    `difference`, `standard_error` and `interval` (95 %) are in the score's unit, the fields with
    ``percent`` in percent of the baseline's mean. `pulls` and `from_pulls` are the pull numbers
    on either side. `p_value` is two-sided. `more_pulls` says how many further pulls would settle
    it four times in five, `next_pulls` which (labels of set-ups, in order); ``None`` and ``()``
    where it is settled, where more pulls would not settle it, or where advice is barred.
    """

    setup: int
    from_setup: int
    pulls: tuple[int, ...]
    from_pulls: tuple[int, ...]
    difference: float
    standard_error: float
    interval: tuple[float, float]
    percent: float
    standard_error_percent: float
    interval_percent: tuple[float, float]
    degrees_of_freedom: float
    p_value: float
    verdict: str
    more_pulls: int | None
    next_pulls: tuple[int, ...]
    reason: str
    noise: Noise
    wander: Wander
