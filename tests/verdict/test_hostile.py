"""Sessions that nobody would wish for: nothing crashes, no word contradicts its figure.

Each test of a single case failed before the judgement was mended for it.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.verdict import rules, words
from logbook.verdict.difference import SessionJudgement, judge
from logbook.verdict.noise import ASSUMED, ASSUMED_WANDER, NO_WANDER, Prior, Wander
from logbook.verdict.order import settle_setups
from logbook.verdict.timing import timing_pulls
from logbook.verdict.timing_trust import judge_timing
from tests.benchmarks.cell_of_known_truth import Cell, order_from, scores

LEARNED = Prior(0.15, 6.0, words.CELL_HISTORY)


def test_repeats_that_are_all_equal_have_been_rounded_and_the_assumption_stays() -> None:
    judged = judge(range(6), [0, 0, 0, 1, 1, 1], [310.0] * 3 + [311.0] * 3, baseline=0)
    assert judged.noise.source == "assumed"
    assert judged.noise.percent > 0.1
    assert judged.by_setup[1].standard_error_percent > 0.25


def test_the_largest_numbers_there_are_have_a_mean() -> None:
    near = np.array([1.0, 1.001, 1.02, 1.021, 1.0, 1.001])
    huge = judge(range(6), [0, 0, 1, 1, 0, 0], 1.7e308 * near / 1.021, baseline=0)
    plain = judge(range(6), [0, 0, 1, 1, 0, 0], near, baseline=0)
    assert huge.by_setup[1].percent == pytest.approx(plain.by_setup[1].percent, rel=1e-9)


def test_a_single_change_is_not_turned_down_for_changes_that_were_never_tried() -> None:
    y = 100.0 + np.array([0.0, 0.1, -0.1, 0.32, 0.42, 0.52, 0.1, 0.0, -0.1])
    found = judge(range(9), [0, 0, 0, 1, 1, 1, 0, 0, 0], y, baseline=0, closed=True).by_setup[1]
    assert found.verdict == "not settled"
    assert found.interval_percent[0] > 0.0
    assert found.reason.startswith("The 95 % interval excludes zero, but a gain or loss asks")


def test_a_baseline_far_away_is_said_to_take_only_a_straight_drift_out() -> None:
    worth = np.array([0.0, 3.0, 0.0, 0.0, 3.0])
    order = [0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 0, 0]
    y = 100.0 + np.resize([0.05, -0.05], 12) + worth[order]
    judged = judge(range(12), order, y, baseline=0, prior=LEARNED, closed=True)
    assert judged.by_setup[1].verdict == judged.by_setup[4].verdict == "gain"
    assert "The baseline is 6 pulls away: a drift" in judged.by_setup[1].reason
    near = judge(range(6), [0, 0, 1, 1, 0, 0], y[[0, 1, 2, 3, 10, 11]], baseline=0, closed=True)
    assert near.by_setup[1].verdict == "gain"
    assert "away" not in near.by_setup[1].reason
    for between, said in ((3, False), (4, True)):
        order = [0, 0, 1, 1, *[2] * between, 0, 0]
        scores = [100.0, 100.1, 103.0, 103.1, *[100.0, 100.1, 100.0, 100.1][:between], 100.1, 100.0]
        reason = judge(range(len(order)), order, scores, baseline=0).by_setup[1].reason
        assert (f"{between} pulls away" in reason) is said


def test_without_any_noise_figure_no_number_of_pulls_is_named() -> None:
    found = judge([1, 2], [0, 1], [88.0, 88.4], baseline=0, prior=None).by_setup[1]
    assert "Without a noise figure" in found.reason
    assert "12 more pulls" not in found.reason


def test_a_step_from_the_baseline_is_judged_as_the_change_is() -> None:
    """Holm on one screen and Bonferroni on the next had called the same difference two things."""
    order = [0, 0, 1, 1, 2, 2, 3, 3, 0, 0]
    for worth in np.linspace(0.3, 0.9, 13):
        y = 100.0 + np.resize([0.05, -0.05], 10) + np.array([0, worth, 3.0, 4.0])[order]
        judged = judge(range(10), order, y, baseline=0, prior=LEARNED, closed=True)
        assert judged.between(0, 1) is judged.by_setup[1]
        back = {"gain": "loss", "not settled": "not settled"}[judged.by_setup[1].verdict]
        assert judged.between(1, 0).verdict == back


def test_steps_between_changes_give_a_session_no_more_false_gains() -> None:
    """Steps tested beside the changes had come to 7 % of sessions with a false final verdict."""
    order, cell = order_from("AABBCCDDEEFFGGAA"), Cell(0.3, 0.1, 0.15)
    data = scores(order, cell, 0.0, 2000, np.random.default_rng(11))
    percent = 100.0 * data / data[order.setup == 0].mean(axis=0) - 100.0
    fitted = settle_setups(order, percent, ASSUMED, ASSUMED_WANDER)
    changes = order.labels[1:]

    def tested(before: int, after: int) -> tuple[np.ndarray, np.ndarray]:
        found = fitted.contrast(order.weights(before, after))
        figures = found.value, found.standard_error, found.degrees_of_freedom
        codes = rules.running(*figures, worth_having=0.5, single=False, assumed=False)
        return rules.p_values(*figures), codes

    p, codes = (np.array(part) for part in zip(*(tested(0, c) for c in changes), strict=True))
    false = np.isin(rules.final(codes, rules.holm(p)), [0, 1]).any(axis=0)
    suspects = np.flatnonzero(
        false | np.any([tested(b, b + 1)[0] < 0.025 for b in changes[:-1]], axis=0)
    )
    called = 0
    for k in suspects:
        judged = judge(order.number, order.setup, data[:, k], baseline=0, closed=True)
        pairs = [(0, c) for c in changes] + [(b, b + 1) for b in changes[:-1]]
        called += any(judged.between(*pair).verdict in ("gain", "loss") for pair in pairs)
    assert called / 2000 <= 0.055


def test_a_set_up_that_must_not_be_pulled_again_is_not_advised() -> None:
    y = 100.0 + np.resize([0.1, -0.1], 6) + 0.4 * np.array([0, 0, 1, 1, 2, 2])
    why = "36° lies beyond the advance bound."
    judged = judge(range(6), [0, 0, 1, 1, 2, 2], y, baseline=0, barred_setups={2: why})
    assert judged.by_setup[1].more_pulls is not None
    assert (judged.by_setup[2].more_pulls, judged.by_setup[2].next_pulls) == (None, ())
    assert judged.by_setup[2].reason.endswith(f"No further pulls are advised: {why}")
    assert judged.between(2, 1).next_pulls == ()


def test_exact_data_without_wander_do_not_upset_the_lack_of_fit() -> None:
    timing = np.array([37.0, 30.0, 29.0, 36.0, 27.0, 37.0, 36.0, 31.0, 22.0, 32.0])
    torque = np.array([299.0, 298.0, 297.0, 300.0, 294.0, 299.0, 300.0, 299.0, 283.0, 299.0])
    pulls = timing_pulls(range(10), timing, torque, prior=None, wander=NO_WANDER)
    assert judge_timing(pulls).fit.identified


PRIORS = st.sampled_from([ASSUMED, None, LEARNED, Prior(0.001, 6.0, words.CELL_HISTORY)])
WANDERS = st.sampled_from(
    [ASSUMED_WANDER, NO_WANDER, Wander(0.02, 0.03, ""), Wander(0.0, 0.15, ""), Wander(0.4, 0.0, "")]
)


def check(judged: SessionJudgement) -> None:
    """Words and figures agree, everywhere in a judged session."""
    for found in judged.by_setup.values():
        low, high = found.interval_percent
        assert low <= found.percent <= high
        assert 0.0 <= found.p_value <= 1.0
        if found.verdict in (words.GAIN, words.GAIN_SO_FAR):
            assert low > 0.0
        if found.verdict in (words.LOSS, words.LOSS_SO_FAR):
            assert high < 0.0
        if found.verdict == words.NOTHING:
            assert -0.5 <= low <= high <= 0.5
        elif min(len(found.pulls), len(found.from_pulls)) < 2:
            assert found.verdict == words.LEANING
        final = judged.closed and judged.order.returned_after(found.setup, judged.baseline)
        assert found.verdict not in ((words.GAIN_SO_FAR, words.LOSS_SO_FAR) if final else ())
        assert found.verdict not in (() if final else (words.GAIN, words.LOSS))
        open_ = found.verdict in (words.LEANING, words.NOT_SETTLED)
        assert open_ or (found.more_pulls, found.next_pulls) == (None, ())
        assert set(found.next_pulls) <= {found.setup, found.from_setup}


@given(
    st.lists(st.integers(0, 4), min_size=1, max_size=14),
    st.integers(0, 2**32 - 1),
    st.floats(-7.0, -0.5),
    st.sampled_from(["typed", "noisy", "equal", "rounded", "wild"]),
    PRIORS,
    WANDERS,
    st.booleans(),
)
def test_whatever_was_pulled_words_and_figures_agree(
    order: list[int],
    seed: int,
    spread: float,
    kind: str,
    prior: Prior | None,
    wander: Wander,
    closed: bool,
) -> None:
    rng = np.random.default_rng(seed)
    y = 300.0 * np.exp(rng.normal(0.0, 10.0**spread, len(order)))
    if kind == "typed":
        y += 3.0 * np.array(order)
    elif kind == "equal":
        y = np.full(len(order), y[0])
    elif kind == "rounded":
        y = np.maximum(np.round(y), 1.0)
    elif kind == "wild":
        y = np.exp(rng.normal(0.0, 4.0, len(order)))
    number = np.cumsum(rng.integers(1, 4, len(order)))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        judged = judge(number, order, y, baseline=0, prior=prior, wander=wander, closed=closed)
    check(judged)
