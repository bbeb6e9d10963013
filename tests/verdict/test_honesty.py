"""A small size of the honesty benchmark: false verdicts, coverage, power.

The limits leave room for the Monte-Carlo error of 600 sessions; the figures themselves are
printed by ``python -m tests.benchmarks.honesty``.
"""

from __future__ import annotations

import pytest

from tests.benchmarks.cell_of_known_truth import Cell
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


def test_patience_on_a_drifting_day_earns_no_false_gains() -> None:
    """AAAABBBB with 0.1 % a pull: 30–39 % false if drift were tested for first and left out."""
    assert row("AAAABBBB", Cell(0.15, 0.1, 0.0), SETS, seed=7, looks=False).false_running <= 0.03
