"""What twelve earlier sessions of the cell do to verdicts and intervals, its truth known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logbook.verdict import rules
from logbook.verdict.noise import (
    ASSUMED,
    ASSUMED_WANDER,
    Prior,
    Wander,
    learned_prior,
    pooled,
)
from logbook.verdict.order import Order, settle_setups
from logbook.verdict.wander import learned_wander, past_session
from tests.benchmarks.cell_of_known_truth import Array, Cell, order_from, scores
from tests.benchmarks.honest_verdicts import WORTH_HAVING

SESSIONS = 12
PAST_ORDERS = ("AABBA", "AABBAABB", "AABBCCAA", "AAABBBAA", "ABABA", "AABBAACCAA")
ORDERS = ("AAABBB", "AABBA", "AABBAABB", "AABBCCDDEEFFGGAA")
# Quiet, as assumed, worse than assumed, noisy: every day's own drift and noise about these.
CELLS = (
    Cell(0.15, 0.0, 0.0),
    Cell(0.3, 0.1, 0.15),
    Cell(0.3, 0.2, 0.3),
    Cell(0.5, 0.1, 0.15),
)
# A quiet cell has a day as restless as is assumed of others: drift in percent a pull, steady.
QUIET, RESTLESS_DAY = CELLS[0], Cell(0.15, 0.1, 0.15)
NOISE_FROM_DAY_TO_DAY = 0.25
SETS_A_HISTORY = 20


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One order on one cell, worthless changes: shares from 0 to 1 with the standard error of
    coverage over the histories, and the mean half width of the 95 % interval, percent; first as
    learned, then as assumed. `unlike`: the sessions judged are unlike the history. `drift`,
    `resetting`: medians of what was learned."""

    order: str
    cell: Cell
    unlike: bool
    covered: tuple[float, float]
    error: tuple[float, float]
    false_running: tuple[float, float]
    false_final: tuple[float, float]
    half_width: tuple[float, float]
    drift: float
    resetting: float


def a_day(cell: Cell, rng: np.random.Generator) -> Cell:
    """The cell as it is one day: a drift of its own, up or down, and a noise of its own."""
    noise = cell.noise * np.exp(rng.normal(0.0, NOISE_FROM_DAY_TO_DAY))
    return Cell(float(noise), float(rng.normal(0.0, cell.drift)), cell.resetting)


def history(cell: Cell, rng: np.random.Generator) -> tuple[Prior, Wander]:
    """What the logbook learns from earlier sessions in which changes were worth something."""
    spreads, past = [], []
    for _ in range(SESSIONS):
        order = order_from(str(rng.choice(PAST_ORDERS)))
        score = scores(order, a_day(cell, rng), float(rng.normal(0.0, 0.7)), 1, rng)[:, 0]
        spreads.append(pooled(100.0 * score / score.mean(), order.run))
        past.append(past_session(order.number, order.setup, score))
    prior = learned_prior([s.s for s in spreads], [float(s.degrees_of_freedom) for s in spreads])
    prior = prior or ASSUMED
    return prior, learned_wander(past, prior) or ASSUMED_WANDER


def judged(order: Order, data: Array, prior: Prior, wander: Wander) -> tuple[float, ...]:
    """Coverage, false running and false final verdicts, half width, of worthless changes."""
    percent = 100.0 * data / data[order.setup == 0].mean(axis=0) - 100.0
    fitted = settle_setups(order, percent, prior, wander)
    changes = [label for label in order.labels if label != 0]
    estimates = [fitted.contrast(order.weights(0, label)) for label in changes]
    value = np.array([e.value for e in estimates])
    se = np.array([e.standard_error for e in estimates])
    df = np.array([e.degrees_of_freedom for e in estimates])
    half = rules.half_width(se, df, rules.INTERVAL_LEVEL)
    inside = np.abs(value) + half <= WORTH_HAVING
    so_far = ~inside & (np.abs(value) > rules.half_width(se, df, rules.SO_FAR_LEVEL))
    final = (so_far & rules.holm(rules.p_values(value, se, df))).any(axis=0)
    return (
        float((np.abs(value) <= half).mean()),
        float(so_far.mean()),
        float(final.mean()),
        float(half.mean()),
    )


def history_rows(histories: int, *, seed: int = 4) -> Iterator[HistoryRow]:
    """Every cell and order; each history is judged by on `SETS_A_HISTORY` sessions."""
    for cell, today in [*((cell, None) for cell in CELLS), (QUIET, RESTLESS_DAY)]:
        rng = np.random.default_rng(seed)
        found: dict[str, list[list[tuple[float, ...]]]] = {name: [] for name in ORDERS}
        learned = []
        for _ in range(histories):
            prior, wander = history(cell, rng)
            learned.append((wander.drift_percent, wander.resetting_percent))
            for name in ORDERS:
                order = order_from(name)
                data = np.hstack(
                    [
                        scores(order, today or a_day(cell, rng), 0.0, 1, rng)
                        for _ in range(SETS_A_HISTORY)
                    ]
                )
                found[name].append(
                    [
                        judged(order, data, prior, wander),
                        judged(order, data, ASSUMED, ASSUMED_WANDER),
                    ]
                )
        drift, resetting = np.median(learned, axis=0)
        for name, results in found.items():
            table = np.array(results)
            mean, error = table.mean(axis=0), table.std(axis=0, ddof=1) / np.sqrt(histories)
            yield HistoryRow(
                order=name,
                cell=today or cell,
                unlike=today is not None,
                covered=(float(mean[0, 0]), float(mean[1, 0])),
                error=(float(error[0, 0]), float(error[1, 0])),
                false_running=(float(mean[0, 1]), float(mean[1, 1])),
                false_final=(float(mean[0, 2]), float(mean[1, 2])),
                half_width=(float(mean[0, 3]), float(mean[1, 3])),
                drift=float(drift),
                resetting=float(resetting),
            )
