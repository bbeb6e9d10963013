"""A small size of the honesty benchmark: false verdicts, coverage, power.

The limits leave room for the Monte-Carlo error of 600 sessions; the figures themselves are
printed by ``python -m tests.benchmarks.honesty``.
"""

from __future__ import annotations

import numpy as np
import pytest

from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER
from tests.benchmarks.cell_of_known_truth import Cell, order_from, scores
from tests.benchmarks.honest_history import a_day, history, judged
from tests.benchmarks.honest_verdicts import ORDERS, row

SETS = 600


@pytest.mark.parametrize("order", list(ORDERS))
@pytest.mark.parametrize("noise", [0.15, 0.3, 0.5])
@pytest.mark.parametrize("drift", [0.0, 0.1])
def test_verdicts_are_seldom_false_and_intervals_cover(
    order: str, noise: float, drift: float
) -> None:
    found = row(order, Cell(noise, drift, 0.15), SETS, seed=7, looks=False)
    assert found.false_running <= 0.065
    assert not found.false_final > 0.075
    assert found.gain_called_nothing <= 0.01
    if noise <= 0.3:
        assert found.covered >= 0.91


def test_a_true_gain_is_found_where_the_cell_is_quiet() -> None:
    assert row("AABBAABB", Cell(0.15, 0.1, 0.0), SETS, seed=7, looks=False).gain_final >= 0.95
    assert row("AAABBB", Cell(0.15, 0.0, 0.15), SETS, seed=7, looks=False).gain_running >= 0.5


def test_a_cell_worse_than_assumed_is_judged_honestly_once_it_has_a_history() -> None:
    """Drift and re-setting twice what is assumed: 8 of 10 intervals hold the truth before."""
    cell, order, rng = Cell(0.3, 0.2, 0.3), order_from("AAABBB"), np.random.default_rng(7)
    learned, assumed = [], []
    for _ in range(15):
        prior, wander = history(cell, rng)
        data = np.hstack([scores(order, a_day(cell, rng), 0.0, 1, rng) for _ in range(20)])
        learned.append(judged(order, data, prior, wander))
        assumed.append(judged(order, data, ASSUMED, ASSUMED_WANDER))
    covered, false, *_ = np.mean(learned, axis=0)
    assert covered >= 0.9
    assert false <= 0.06
    assert np.mean(assumed, axis=0)[0] <= 0.87


def test_patience_on_a_drifting_day_earns_no_false_gains() -> None:
    """AAAABBBB with 0.1 % a pull: 30–39 % false if drift were tested for first and left out."""
    assert row("AAAABBBB", Cell(0.15, 0.1, 0.0), SETS, seed=7, looks=False).false_running <= 0.03
