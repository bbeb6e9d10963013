"""A simulated cell whose truth is known: what the honesty benchmark judges by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import indicators
from logbook.verdict.order import Order, order_of

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cell:
    """Noise of a pull and re-setting error (standard deviations), and drift per pull, in per
    cent of the score. The drift is a steady one, the worst that a block design can meet."""

    noise: float
    drift: float
    resetting: float


def order_from(letters: str) -> Order:
    """``"AABBA"`` → pulls 1–5, the baseline A labeled 0."""
    order, _ = order_of(range(1, len(letters) + 1), [ord(letter) - ord("A") for letter in letters])
    return order


def scores(order: Order, cell: Cell, effect: float, sets: int, rng: np.random.Generator) -> Array:
    """Scores of many sessions of one order, shape (pulls, sets); every change is worth `effect`
    percent."""
    _, blocks = indicators(order.run)
    time = order.number - order.number.mean()
    return np.asarray(
        100.0
        + effect * (order.setup > 0)[:, None]
        + cell.drift * time[:, None]
        + blocks @ rng.normal(0.0, cell.resetting, (blocks.shape[1], sets))
        + rng.normal(0.0, cell.noise, (order.number.size, sets))
    )
