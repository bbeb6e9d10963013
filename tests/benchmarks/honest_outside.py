"""Sessions outside what the judgement believes: tails, outliers, drift that is no straight line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from logbook.verdict import words
from logbook.verdict.difference import judge
from logbook.verdict.order import Order
from tests.benchmarks.cell_of_known_truth import Array, Cell, order_from, scores
from tests.benchmarks.honest_verdicts import GAIN, judge_many

NOISE, RESETTING = 0.3, 0.15
ORDERS = ("AAABBB", "AABBA", "AABBAABB", "AABBCCDDEEFFGGAA")
LOOKS_AWAY_AT = 0.4
THRICE = "changes 3 × as noisy"
_SO_FAR = [words.code(words.GAIN_SO_FAR), words.code(words.LOSS_SO_FAR)]
_FINAL = [words.code(words.GAIN), words.code(words.LOSS)]

Errors = Callable[[np.random.Generator, int, int], Array]


def _in_a_row(rng: np.random.Generator, pulls: int, sets: int) -> Array:
    """Each pull errs partly as the one before."""
    errors = rng.normal(0.0, NOISE, (pulls, sets))
    for pull in range(1, pulls):
        errors[pull] = 0.6 * errors[pull - 1] + 0.8 * errors[pull]
    return errors


def _with_a_step(size: float) -> Errors:
    """Somewhere in the session everything moves, once."""

    def errors(rng: np.random.Generator, pulls: int, sets: int) -> Array:
        at = rng.integers(1, pulls, sets)
        return np.asarray(
            rng.normal(0.0, NOISE, (pulls, sets)) + size * (np.arange(pulls)[:, None] >= at)
        )

    return errors


def _with_an_outlier(rng: np.random.Generator, pulls: int, sets: int) -> Array:
    errors = rng.normal(0.0, NOISE, (pulls, sets))
    errors[rng.integers(0, pulls, sets), np.arange(sets)] -= 2.0
    return errors


KINDS: dict[str, Errors] = {
    "as believed": lambda rng, n, sets: rng.normal(0.0, NOISE, (n, sets)),
    "heavy tails (t, 3)": lambda rng, n, sets: NOISE / 3**0.5 * rng.standard_t(3, (n, sets)),
    "one pull 2 % low": _with_an_outlier,
    "errs on, 0.6": _in_a_row,
    "walks 0.15 % a pull": lambda rng, n, sets: (
        rng.normal(0.0, NOISE, (n, sets)) + np.cumsum(rng.normal(0.0, 0.15, (n, sets)), axis=0)
    ),
    "a step of 1 %": _with_a_step(1.0),
    "warms up by 1 %": lambda rng, n, sets: (
        rng.normal(0.0, NOISE, (n, sets)) - np.exp(-np.arange(n) / 2.0)[:, None]
    ),
    THRICE: lambda rng, n, sets: rng.normal(0.0, NOISE, (n, sets)),
}


@dataclass(frozen=True, slots=True)
class OutsideRow:
    """Shares from 0 to 1: a worthless change called gain or loss so far, a session with any false
    gain or loss after closing (``nan`` where the baseline stays open), intervals that cover, a
    true gain called so far, and that gain called nothing worth having."""

    order: str
    kind: str
    false_running: float
    false_final: float
    covered: float
    gain_running: float
    gain_called_nothing: float


def drawn(order: Order, kind: str, effect: float, sets: int, rng: np.random.Generator) -> Array:
    """Scores of many sessions of one order with one kind of error, shape (pulls, sets)."""
    errors = KINDS[kind](rng, order.number.size, sets)
    if kind == THRICE:
        errors = np.where(order.setup[:, None] > 0, 3.0 * errors, errors)
    return np.asarray(scores(order, Cell(0.0, 0.0, RESETTING), effect, sets, rng) + errors)


def outside_rows(sets: int, *, seed: int = 6) -> Iterator[OutsideRow]:
    """Every order with every kind of error."""
    for letters in ORDERS:
        order = order_from(letters)
        for kind in KINDS:
            rng = np.random.default_rng(seed)
            null = judge_many(order, drawn(order, kind, 0.0, sets, rng), 0.0)
            gain = judge_many(order, drawn(order, kind, GAIN, sets, rng), GAIN)
            final = np.isin(null.closing, _FINAL).any(axis=0).mean() if null.returned else np.nan
            yield OutsideRow(
                letters,
                kind,
                float(np.isin(null.running, _SO_FAR).mean()),
                float(final),
                float(np.concatenate([null.covers, gain.covers]).mean()),
                float((gain.running == _SO_FAR[0]).mean()),
                float((gain.running == words.code(words.NOTHING)).mean()),
            )


def looked_away(letters: str, sets: int, *, seed: int = 6) -> tuple[float, float]:
    """Sessions in which the pull farthest from its set-up's mean is excluded after looking, where
    it lies more than `LOOKS_AWAY_AT` percent from it: any false gain or loss (so far or final)
    among worthless changes, with all pulls and with the others."""
    order = order_from(letters)
    data = scores(order, Cell(NOISE, 0.1, RESETTING), 0.0, sets, np.random.default_rng(seed))
    false = np.zeros(2)
    for score in data.T:
        means = np.array([score[order.setup == label].mean() for label in order.setup])
        apart = np.abs(score - means)
        kept = np.ones(score.size, dtype=np.bool_)
        if apart.max() > LOOKS_AWAY_AT:
            kept[np.argmax(apart)] = False
        for i, part in enumerate((np.ones_like(kept), kept)):
            judged = judge(
                order.number[part], order.setup[part], score[part],
                baseline=0, closed=True, run=order.run[part],
            )  # fmt: skip
            called = {found.verdict for found in judged.by_setup.values()}
            false[i] += bool(called & {"gain", "loss", "gain so far", "loss so far"})
    return float(false[0] / sets), float(false[1] / sets)
