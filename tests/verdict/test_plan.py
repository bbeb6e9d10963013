"""The plan for a pull budget."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.refusals import BadInput
from logbook.verdict.difference import judge
from logbook.verdict.noise import Prior
from logbook.verdict.plan import PlannedChange, propose, resolvable, tick_off
from logbook.verdict.words import CELL_HISTORY

EASY, HARD = PlannedChange("two jets up"), PlannedChange("other carburetor", hard=True)


@settings(max_examples=25)
@given(st.lists(st.booleans(), min_size=1, max_size=5), st.integers(0, 24))
def test_every_plan_keeps_the_rules(hard: list[bool], more: int) -> None:
    changes = [PlannedChange(f"change {k}", h) for k, h in enumerate(hard)]
    budget = 3 + 2 * len(changes) + more
    setups = propose(changes, budget).setups
    assert len(setups) <= budget
    assert setups[:2] == (0, 0)
    assert setups[-1] == 0
    for label, change in enumerate(changes, 1):
        assert setups.count(label) >= 2
        places = [place for place, s in enumerate(setups) if s == label]
        if change.hard:
            assert places == list(range(places[0], places[-1] + 1))
    hard_places = [p for p, s in enumerate(setups) if s and changes[s - 1].hard]
    if hard_places:
        assert hard_places == list(range(hard_places[0], hard_places[-1] + 1))


def test_a_larger_budget_resolves_a_smaller_gain() -> None:
    small, large = propose([EASY, HARD], 9), propose([EASY, HARD], 20)
    assert large.smallest_gain_percent < small.smallest_gain_percent
    assert max(large.resolves_percent) == large.smallest_gain_percent


def test_with_pulls_to_spare_an_easy_change_is_set_up_afresh() -> None:
    setups = propose([EASY], 12).setups
    runs = [s for k, s in enumerate(setups) if k == 0 or s != setups[k - 1]]
    assert runs.count(1) >= 2


def test_a_quieter_cell_resolves_more() -> None:
    quiet = Prior(0.12, 6.0, CELL_HISTORY)
    order = (0, 0, 1, 1, 0)
    assert resolvable(order, prior=quiet)[0] < resolvable(order)[0]


def test_the_gain_it_says_it_resolves_is_found_four_times_in_five() -> None:
    """Simulated with the noise, drift and re-setting error the plan assumes."""
    setups = np.array(propose([EASY], 12).setups)
    (gain,) = resolvable(list(setups))
    runs = np.concatenate([[0], np.cumsum(setups[1:] != setups[:-1])])
    rng = np.random.default_rng(2)
    found = 0
    for _ in range(300):
        y = (
            100.0
            + gain * (setups == 1)
            + rng.normal(0, 0.1) * np.arange(setups.size)
            + rng.normal(0, 0.15, runs.max() + 1)[runs]
            + rng.normal(0, 0.3, setups.size)
        )
        found += judge(range(setups.size), setups, y, baseline=0).by_setup[1].verdict == (
            "gain so far"
        )
    assert 0.72 <= found / 300 <= 0.90


BRACKETED = (0, 0, 1, 1, 0, 2, 2, 0)


@pytest.mark.parametrize(
    ("pulled", "done"),
    [
        pytest.param((), (), id="nothing yet"),
        pytest.param((0, 0, 0, 0), (1, 2), id="repeats do not stand for going back"),
        pytest.param((0, 0, 1, 1, 0), (1, 2, 3, 4, 5), id="as planned"),
        pytest.param((0, 1, 1, 1, 7), (1, 3, 4), id="one too many, and one that is not in it"),
        pytest.param((0, 1, 1, 0, 0), (1, 2, 3, 4, 5), id="what was missed is made up for"),
        pytest.param((0, 0, 2, 2, 0, 1, 1), (1, 2, 3, 4, 6, 7, 8), id="another order"),
    ],
)
def test_pulls_taken_tick_off_the_plan_visit_by_visit(
    pulled: tuple[int, ...], done: tuple[int, ...]
) -> None:
    assert tick_off(BRACKETED, pulled) == tuple(place in done for place in range(1, 9))


def test_a_run_broken_by_an_excluded_pull_is_two_visits() -> None:
    assert tick_off(BRACKETED, (0, 0, 0), run=(0, 0, 2)) == (True, True, *[False] * 2, True,
                                                             *[False] * 3)  # fmt: skip


@pytest.mark.parametrize(("changes", "budget"), [([], 9), ([EASY] * 3, 8), ([EASY], 61)])
def test_a_budget_that_does_not_hold_the_changes_is_refused_in_words(
    changes: list[PlannedChange], budget: int
) -> None:
    with pytest.raises(BadInput) as refused:
        propose(changes, budget)
    assert "between" in refused.value.sentence
