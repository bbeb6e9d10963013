"""The ledger: exact sum, bundles, what was taken back; effects and what cannot be told apart."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from logbook.records.setup import Level, SetUp
from logbook.verdict.difference import SessionJudgement, judge
from logbook.verdict.effects import all_pulls
from logbook.verdict.ledger import ledger, parents
from logbook.verdict.noise import FREE_DRIFT

NOISE = np.random.default_rng(3).normal(0.0, 0.05, 40)


def made(**levels: str) -> SetUp:
    return SetUp({name: Level(text) for name, text in levels.items()})


BASE = made(carb="small", spacer="none", timing="30")
SETUPS = {
    0: BASE,
    1: made(carb="large", spacer="none", timing="30"),
    2: made(carb="large", spacer="one inch", timing="30"),
    3: made(carb="large", spacer="one inch", timing="32"),
    4: made(carb="small", spacer="one inch", timing="32"),
}


def judged(order: list[int], worth: dict[int, float] | None = None) -> SessionJudgement:
    worth = worth or {0: 0.0, 1: 0.8, 2: 1.1, 3: 1.9, 4: 0.9}
    y = np.array([100.0 + worth[label] for label in order]) + NOISE[: len(order)]
    return judge(range(1, len(order) + 1), order, 0.88 * y, baseline=0)


def test_steps_follow_one_another_and_sum_to_the_total() -> None:
    book = ledger(judged([0, 0, 1, 1, 2, 2, 3, 3, 0, 0]), SETUPS)
    assert [(s.before, s.after) for s in book.steps] == [(0, 1), (1, 2), (2, 3)]
    assert [s.changed[0].factor for s in book.steps] == ["carb", "spacer", "timing"]
    assert not any(s.bundle for s in book.steps)
    assert book.total is not None
    total = sum(step.worth.difference for step in book.steps)
    assert total == pytest.approx(book.total.difference, abs=1e-12)
    assert book.total.percent == pytest.approx(1.9, abs=0.2)


@given(
    st.lists(st.integers(0, 4), min_size=2, max_size=14),
    st.lists(st.floats(95.0, 105.0), min_size=15, max_size=15),
)
def test_whatever_was_pulled_the_steps_sum_to_the_total(
    order: list[int], scores: list[float]
) -> None:
    order = [0, *order]
    result = judge(range(len(order)), order, scores[: len(order)], baseline=0)
    book = ledger(result, SETUPS)
    if book.total is None:
        assert book.steps == ()
        return
    total = sum(step.worth.difference for step in book.steps)
    assert total == pytest.approx(book.total.difference, abs=1e-9)
    tried = {s.after for s in (*book.steps, *book.taken_back)}
    assert tried == set(order) - {0}


def test_two_factors_changed_at_once_are_a_bundle() -> None:
    book = ledger(judged([0, 0, 2, 2, 0]), SETUPS)
    (step,) = book.steps
    assert step.bundle
    assert {change.factor for change in step.changed} == {"carb", "spacer"}


def test_a_change_that_was_taken_back_is_no_step_but_stands_beside() -> None:
    setups = {0: BASE, 1: made(carb="large", spacer="none", timing="30"),
              2: made(carb="small", spacer="none", timing="32")}  # fmt: skip
    book = ledger(judged([0, 0, 1, 1, 0, 2, 2, 0]), setups)
    assert [(s.before, s.after) for s in book.steps] == [(0, 2)]
    assert not book.steps[0].bundle
    assert [(s.before, s.after) for s in book.taken_back] == [(0, 1)]


def test_a_change_put_back_without_pulling_the_baseline_between_is_still_no_bundle() -> None:
    """B differs from A by carb, C from A by timing; C was pulled straight after B."""
    setups = {0: BASE, 1: made(carb="large", spacer="none", timing="30"),
              2: made(carb="small", spacer="none", timing="32")}  # fmt: skip
    assert parents([0, 0, 1, 1, 2, 2], 0, setups) == {1: 0, 2: 0}


def test_of_equal_choices_a_set_up_was_made_from_the_one_pulled_last() -> None:
    sweep = {k: made(timing=str(28 + 2 * k)) for k in range(4)}
    assert parents([0, 1, 2, 3], 0, sweep) == {1: 0, 2: 1, 3: 2}


def test_a_session_of_baseline_pulls_has_an_empty_ledger() -> None:
    book = ledger(judged([0, 0, 0]), SETUPS)
    assert (book.steps, book.total, book.taken_back) == ((), None, ())


def test_without_a_baseline_in_the_session_there_is_no_ledger() -> None:
    result = judge([1, 2], [1, 2], [88.0, 88.5], baseline=0)
    with pytest.raises(ValueError, match="baseline"):
        ledger(result, SETUPS)


# --- all pulls at once --------------------------------------------------------------------


def test_effects_agree_with_ordinary_least_squares_where_nothing_is_assumed() -> None:
    order = [0, 1, 2, 3, 4, 0, 3, 1, 4, 2, 0, 0]
    y = 100.0 + NOISE[:12] + np.array([{0: 0, 1: 0.8, 2: 1.1, 3: 1.9, 4: 1.1}[k] for k in order])
    result = judge(range(12), order, y, baseline=0, prior=None, wander=FREE_DRIFT)
    found = all_pulls(result, SETUPS)
    design = np.array(
        [[1.0, k in (1, 2, 3), k in (2, 3, 4), k in (3, 4), t] for t, k in enumerate(order)]
    )
    theirs = sm.OLS(100.0 * y / result.base, design).fit()
    assert [e.terms[0].factor for e in found.effects] == ["carb", "spacer", "timing"]
    for place, effect in enumerate(found.effects, 1):
        assert effect.percent == pytest.approx(theirs.params[place], abs=1e-9)
        assert effect.interval_percent == pytest.approx(theirs.conf_int()[place], abs=1e-8)
        assert effect.p_value == pytest.approx(theirs.pvalues[place], abs=1e-9)
    assert found.inseparable == ()
    assert found.noise.degrees_of_freedom == pytest.approx(7.0)


def test_what_was_always_changed_together_is_named_with_the_pull_that_would_separate_it() -> None:
    """Carb and spacer only ever together; timing by itself."""
    setups = {
        0: BASE,
        1: made(carb="large", spacer="one inch", timing="30"),
        2: made(carb="large", spacer="one inch", timing="32"),
    }
    result = judged([0, 0, 1, 1, 2, 2, 0], {0: 0.0, 1: 1.2, 2: 2.0})
    found = all_pulls(result, setups)
    assert [e.terms[0].factor for e in found.effects] == ["timing"]
    (group,) = found.inseparable
    assert [term.factor for term in group.terms] == ["carb", "spacer"]
    assert len(group.separate_by) == 1
    assert group.separate_by[0].factor in ("carb", "spacer")
    assert group.together is not None
    assert group.together.percent == pytest.approx(1.2, abs=0.25)


def test_pulling_what_was_advised_separates_the_group() -> None:
    setups = {
        0: BASE,
        1: made(carb="large", spacer="one inch", timing="30"),
    }
    before = all_pulls(judged([0, 0, 1, 1], {0: 0.0, 1: 1.2}), setups)
    (term,) = before.inseparable[0].separate_by
    assert term.level is not None
    setups[2] = BASE.with_levels({term.factor: term.level})
    after = all_pulls(judged([0, 0, 1, 1, 2], {0: 0.0, 1: 1.2, 2: 0.5}), setups)
    assert after.inseparable == ()
    assert {e.terms[0].factor for e in after.effects} == {"carb", "spacer"}


def test_a_chain_of_bundles_is_one_group() -> None:
    """carb+spacer and spacer+timing: no one of the three can be told."""
    setups = {
        0: BASE,
        1: made(carb="large", spacer="one inch", timing="30"),
        2: made(carb="small", spacer="one inch", timing="32"),
    }
    found = all_pulls(judged([0, 0, 1, 1, 2, 2], {0: 0.0, 1: 1.2, 2: 1.0}), setups)
    assert found.effects == ()
    (group,) = found.inseparable
    assert {term.factor for term in group.terms} == {"carb", "spacer", "timing"}
    assert group.together is None


def test_no_separating_pull_is_advised_where_advice_is_barred() -> None:
    setups = {0: BASE, 1: made(carb="large", spacer="one inch", timing="30")}
    result = judge(
        range(4), [0, 0, 1, 1], [88.0, 88.1, 89.0, 89.1], baseline=0, advice_barred="alarm"
    )
    (group,) = all_pulls(result, setups).inseparable
    assert group.separate_by == ()


def test_factor_names_spelled_differently_are_one_factor() -> None:
    setups = {0: made(Timing="30"), 1: made(timing="32"), 2: made(TIMING="32", jets="72")}
    found = all_pulls(judged([0, 0, 1, 1, 2, 2, 0], {0: 0.0, 1: 0.5, 2: 1.0}), setups)
    assert len(found.effects) == 2
