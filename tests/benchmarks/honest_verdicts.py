"""How often verdicts are false, what a true gain earns, and how often intervals cover."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logbook.verdict import rules, words
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER
from logbook.verdict.order import Order, settle_setups
from tests.benchmarks.cell_of_known_truth import Array, Cell, order_from, scores

NOISES = (0.15, 0.3, 0.5, 0.8)
ORDERS = {
    "AAABBB": "AAABBB",
    "AAAABBBB": "AAAABBBB",
    "AABBA": "AABBA",
    "AABBAABB": "AABBAABB",
    "six changes": "AABBCCDDEEFFGGAA",
}
GAIN = 0.75
WORTH_HAVING = 0.5

_SO_FAR = [words.code(words.GAIN_SO_FAR), words.code(words.LOSS_SO_FAR)]
_FINAL = [words.code(words.GAIN), words.code(words.LOSS)]
_NOTHING = words.code(words.NOTHING)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table; shares from 0 to 1. `false_final` and `gain_final` are ``nan``
    where the order leaves the baseline open."""

    order: str
    cell: Cell
    false_running: float
    false_ever: float
    false_final: float
    covered: float
    gain_running: float
    gain_final: float
    gain_called_nothing: float
    null_called_nothing: float
    sets: int


@dataclass(frozen=True, slots=True, eq=False)
class Verdicts:
    """Codes of the running and closing verdicts and whether the 95 % interval covers the truth,
    each of shape (changes, sets)."""

    running: rules.Codes
    closing: rules.Codes
    covers: rules.Flags
    returned: bool


def judge_many(order: Order, data: Array, truth: float) -> Verdicts:
    """Judge many sessions at once, by the code that judges one."""
    percent = 100.0 * data / data[order.setup == 0].mean(axis=0) - 100.0
    fitted = settle_setups(order, percent, ASSUMED, ASSUMED_WANDER)
    _, _, assumed = fitted.noise()
    codes, p, covers = [], [], []
    changes = [label for label in order.labels if label != 0]
    returned = [order.returned_after(label, 0) for label in changes]
    for label, closed in zip(changes, returned, strict=True):
        estimate = fitted.contrast(order.weights(0, label))
        value, se, df = estimate.value, estimate.standard_error, estimate.degrees_of_freedom
        single = min(len(order.pulls_of(0)), len(order.pulls_of(label))) < 2
        running = rules.running(
            value, se, df, worth_having=WORTH_HAVING, single=single, assumed=assumed
        )
        if not closed:
            running = np.where(fitted.unusual, rules.withheld(running), running)
        codes.append(running)
        p.append(rules.p_values(value, se, df))
        half = rules.half_width(se, df, rules.INTERVAL_LEVEL)
        # The truth in percent of the baseline's true level, as the interval is.
        covers.append(np.abs(value - truth) <= half)
    stacked = np.array(codes)
    closing = np.where(
        np.array(returned)[:, None], rules.final(stacked, rules.holm(np.array(p))), stacked
    )
    return Verdicts(stacked, closing, np.array(covers), all(returned))


def ever_false(order: Order, data: Array) -> float:
    """How often a worthless change was called gain or loss so far at any look, a look after
    every pull, per change."""
    called = np.zeros((len(order.labels) - 1, data.shape[1]), dtype=np.bool_)
    letters = "".join(chr(ord("A") + int(label)) for label in order.setup)
    for pulls in range(4, len(letters) + 1):
        part = order_from(letters[:pulls])
        if len(part.labels) < 2:
            continue
        so_far = np.isin(judge_many(part, data[:pulls], 0.0).running, _SO_FAR)
        called[: so_far.shape[0]] |= so_far
    return float(called.mean())


def row(name: str, cell: Cell, sets: int, seed: int, *, looks: bool = True) -> Row:
    """Simulate one cell and one order; `looks`: judge after every pull too (`false_ever`)."""
    order = order_from(ORDERS[name])
    rng = np.random.default_rng(seed)
    null_data = scores(order, cell, 0.0, sets, rng)
    null = judge_many(order, null_data, 0.0)
    gain = judge_many(order, scores(order, cell, GAIN, sets, rng), GAIN)
    final = null.returned
    return Row(
        order=name,
        cell=cell,
        false_running=float(np.isin(null.running, _SO_FAR).mean()),
        false_ever=ever_false(order, null_data) if looks else np.nan,
        false_final=float(np.isin(null.closing, _FINAL).any(axis=0).mean()) if final else np.nan,
        covered=float(np.concatenate([null.covers, gain.covers]).mean()),
        gain_running=float((gain.running == _SO_FAR[0]).mean()),
        gain_final=float((gain.closing == _FINAL[0]).mean()) if final else np.nan,
        gain_called_nothing=float((gain.running == _NOTHING).mean()),
        null_called_nothing=float((null.running == _NOTHING).mean()),
        sets=sets,
    )


def rows(sets: int, *, seed: int = 1, drifts: tuple[float, ...] = (0.0, 0.1)) -> Iterator[Row]:
    """The whole table: every order, noise, drift and re-setting error."""
    for name in ORDERS:
        for noise in NOISES:
            for drift in drifts:
                for resetting in (0.0, 0.15):
                    yield row(name, Cell(noise, drift, resetting), sets, seed)
