"""The verdict words, the order of the tests behind them, and the advice beside them."""

from __future__ import annotations

import gc
from unittest import mock

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import TTestIndPower

from logbook.verdict import advice, rules, words
from logbook.verdict.difference import judge
from logbook.verdict.judged import SetupJudgement
from logbook.verdict.noise import NO_WANDER, Prior, Wander

LEARNED = Prior(0.15, 6.0, words.CELL_HISTORY)
STEADY = Wander(0.02, 0.03, words.CELL_HISTORY)
QUIET = np.array([0.0, 0.06, -0.04, 0.03, -0.05, 0.02, 0.05, -0.03, 0.04, -0.06, 0.01, 0.03])


def change(
    order: str, worth: float, *, noise: float = 1.0, drift: float = 0.0, **options: object
) -> SetupJudgement:
    """Set-up B of an order such as ``"AABBA"``, worth so many percent on a quiet cell."""
    setup = [ord(letter) - ord("A") for letter in order]
    n = len(order)
    y = 100.0 + noise * QUIET[:n] + worth * (np.array(setup) == 1) + drift * np.arange(n)
    return judge(range(1, n + 1), setup, y, baseline=0, **options).by_setup[1]  # type: ignore[arg-type]


def test_one_pull_each_side_leans() -> None:
    found = change("AB", 1.0)
    assert found.verdict == "leaning"
    assert found.reason.startswith("Leans up on one pull before and one pull after the change")


@pytest.mark.parametrize("order", ["AB", "AAB", "ABB", "AABCCC"])
def test_a_single_pull_on_a_side_never_earns_a_verdict_on_assumed_noise(order: str) -> None:
    assert change(order, 8.0).verdict == "leaning"


def test_a_single_pull_may_be_nothing_once_the_cell_knows_its_noise() -> None:
    quiet = Prior(0.02, 6.0, words.CELL_HISTORY)
    kwargs = {"baseline": 0, "prior": quiet, "wander": NO_WANDER}
    assert judge([1, 2], [0, 1], [100.0, 100.02], **kwargs).by_setup[1].verdict == (  # type: ignore[arg-type]
        "nothing worth having"
    )


def test_a_session_of_one_set_up_has_noise_and_drift_but_no_verdicts() -> None:
    judged = judge([1, 2, 3], [7, 7, 7], [88.1, 88.3, 88.2], baseline=7)
    assert judged.by_setup == {}
    assert judged.noise.percent > 0.0
    assert judged.drift.standard_error > 0.0
    assert not judged.baseline_returned


def test_a_baseline_of_another_session_leaves_the_set_ups_comparable() -> None:
    judged = judge([1, 2, 3, 4], [1, 1, 2, 2], [88.0, 88.1, 89.9, 90.0], baseline=0)
    assert judged.by_setup == {}
    assert judged.between(1, 2).percent > 1.0


def test_a_large_change_is_a_gain_so_far_and_final_only_at_the_close() -> None:
    assert change("AABBAA", 2.0).verdict == "gain so far"
    assert change("AABBAA", -2.0).verdict == "loss so far"
    assert change("AABBAA", 2.0, closed=True).verdict == "gain"
    assert change("AABBAA", -2.0, closed=True).verdict == "loss"


def test_without_the_baseline_again_so_far_stays_and_says_why() -> None:
    found = change("AAABBB", 2.0, closed=True)
    assert found.verdict == "gain so far"
    assert "the baseline was not pulled again after it: it stays “so far”" in found.reason


def test_turn_and_turn_about_counts_as_returned() -> None:
    assert change("AABBAABB", 2.0, closed=True).verdict == "gain"


def test_nothing_worth_having_comes_before_a_gain_that_is_real_but_small() -> None:
    order = "AABBAABBAABB"
    found = change(order, 0.25, noise=0.5, prior=LEARNED, wander=STEADY)
    assert found.interval_percent[0] > 0.0
    assert found.verdict == "nothing worth having"
    assert "real, too small to matter" in found.reason
    bolder = change(order, 0.25, noise=0.5, prior=LEARNED, wander=STEADY, worth_having_percent=0.1)
    assert bolder.verdict == "gain so far"


def test_between_nothing_and_a_gain_it_is_not_settled() -> None:
    found = change("AABBA", 0.3)
    assert found.verdict == "not settled"
    assert found.interval_percent[0] < 0.0


def test_every_change_tried_counts_at_the_close_abandoned_ones_too() -> None:
    """The same gain, so far in both sessions: final on its own, not among twelve changes."""

    def session(changes: int, *, closed: bool) -> str:
        setup = [0, 0, *(label for c in range(1, changes + 1) for label in (c, c)), 0, 0]
        y = 100.0 + np.resize([0.1, -0.1], len(setup)) + 0.65 * (np.array(setup) == 1)
        judged = judge(range(len(setup)), setup, y, baseline=0, prior=LEARNED, closed=closed)
        return judged.by_setup[1].verdict

    assert session(1, closed=False) == session(12, closed=False) == "gain so far"
    assert session(1, closed=True) == "gain"
    assert session(12, closed=True) == "not settled"


def test_more_repeats_without_the_baseline_cannot_pass_drift_off_as_gain() -> None:
    """A day that drifts by 0.1 % a pull, a worthless change, and patience."""
    found = change("AAAABBBB", 0.0, drift=0.1, noise=3.0)
    assert found.percent < 0.4
    assert found.verdict == "not settled"


def test_a_day_of_unusual_drift_is_told_nothing_of_without_the_baseline_again() -> None:
    drifting = 100.0 + QUIET[:8] + 0.36 * np.arange(8)
    order = [0] * 4 + [1] * 4
    judged = judge(range(8), order, drifting + 2.0 * np.array(order), baseline=0)
    assert judged.drift.unusual
    found = judged.by_setup[1]
    assert found.verdict == "not settled"
    assert "more than is usual: without the baseline pulled again" in found.reason
    order = [0, 0, 1, 1, 1, 1, 0, 0]
    back = judge(range(8), order, drifting + 2.0 * np.array(order), baseline=0)
    assert back.drift.unusual
    assert back.by_setup[1].verdict == "gain so far"


def test_gaps_left_by_excluded_pulls_still_count_as_time() -> None:
    """The same scores drift less per pull when an excluded pull lay between."""
    score = [100.0, 100.1, 100.2, 100.3]
    close = judge([1, 2, 3, 4], [0, 0, 0, 0], score, baseline=0).drift
    wide = judge([1, 2, 7, 8], [0, 0, 0, 0], score, baseline=0).drift
    assert wide.percent_per_pull < close.percent_per_pull


def test_an_excluded_pull_that_broke_a_run_is_respected() -> None:
    score = [100.0, 100.1, 101.0, 101.1]
    one = judge([1, 2, 3, 4], [0, 0, 1, 1], score, baseline=0, run=[0, 0, 1, 1]).by_setup[1]
    two = judge([1, 2, 3, 4], [0, 0, 1, 1], score, baseline=0, run=[0, 1, 2, 2]).by_setup[1]
    assert two.standard_error < one.standard_error


@pytest.mark.parametrize(
    ("number", "setup", "score"),
    [([], [], []), ([1, 2], [0], [1.0, 2.0]), ([1, 2], [0, 1], [90.0, np.nan]),
     ([1, 2], [0, 1], [90.0, 0.0])],
)  # fmt: skip
def test_what_cannot_be_judged_is_refused(
    number: list[int], setup: list[int], score: list[float]
) -> None:
    with pytest.raises(ValueError, match=r"pull"):
        judge(number, setup, score, baseline=0)


def test_a_set_up_cannot_be_measured_against_itself_or_what_was_not_pulled() -> None:
    judged = judge([1, 2], [0, 1], [88.0, 88.4], baseline=0)
    for pair in ((0, 0), (0, 9)):
        with pytest.raises(ValueError, match="two different set-ups"):
            judged.between(*pair)


# --- advice -------------------------------------------------------------------------------


def test_advice_says_how_many_pulls_and_which() -> None:
    found = change("AABB", 0.8)
    assert found.verdict == "not settled"
    assert found.more_pulls is not None
    assert found.next_pulls[0] == 0  # the baseline first: it was not pulled last
    assert len(found.next_pulls) == found.more_pulls
    assert "would settle it four times in five" in found.reason


def test_pulling_what_was_advised_settles_it_four_times_in_five() -> None:
    """The promise, simulated: sessions whose true gain is what it looks like."""
    start = change("AABB", 0.9, prior=Prior(0.3, 2.0, words.ASSUMED))
    assert start.more_pulls is not None
    setup = np.array([0, 0, 1, 1, *start.next_pulls])
    runs = np.concatenate([[0], np.cumsum(setup[1:] != setup[:-1])])
    rng = np.random.default_rng(5)
    noise, worth = start.noise.percent, start.percent
    settled = 0
    for _ in range(200):
        y = (
            100.0
            + worth * (setup == 1)
            + rng.normal(0, 0.1) * np.arange(setup.size)
            + rng.normal(0, 0.15, runs.max() + 1)[runs]
            + rng.normal(0, noise, setup.size)
        )
        verdict = judge(range(setup.size), setup, y, baseline=0).by_setup[1].verdict
        settled += verdict != "not settled"
    assert 0.68 <= settled / 200 <= 0.97


def test_a_smaller_difference_asks_for_more_pulls() -> None:
    small, large = change("AABB", 0.6).more_pulls, change("AABB", 0.9).more_pulls
    assert small is not None
    assert large is not None
    assert large < small


def test_what_a_dozen_pulls_would_not_settle_is_said() -> None:
    found = change("AABB", 0.5, noise=8.0)
    assert found.more_pulls is None
    assert "12 more pulls would not be likely to settle it" in found.reason


def test_nothing_is_advised_after_an_alarm_or_past_the_budget() -> None:
    why = "pull 4 had an alarm: oil pressure"
    found = change("AABB", 0.8, advice_barred=why)
    assert found.more_pulls is None
    assert found.next_pulls == ()
    assert why in found.reason
    assert "four times in five" not in found.reason


def test_a_settled_change_asks_for_nothing() -> None:
    found = change("AABBAA", 2.0)
    assert (found.more_pulls, found.next_pulls) == (None, ())


@pytest.mark.parametrize(("d", "s"), [(1.0, 1.0), (2.0, 1.0), (0.5, 0.3), (0.75, 0.5)])
def test_pulls_per_set_up_agree_with_statsmodels(d: float, s: float) -> None:
    theirs = TTestIndPower().solve_power(effect_size=d / s, alpha=0.05, power=0.8)
    assert advice.pulls_per_setup(d, s) == int(np.ceil(theirs))


def test_power_agrees_with_statsmodels() -> None:
    ours = advice.power(0.75, 0.3 * np.sqrt(2 / 6), 10.0, 0.95)
    theirs = TTestIndPower().power(0.75 / 0.3, 6, 0.05, alternative="larger")
    two_sided = TTestIndPower().power(0.75 / 0.3, 6, 0.05)
    assert ours == pytest.approx(two_sided, abs=1e-6)
    assert ours < theirs


def test_pulls_for_no_difference_at_all_are_refused() -> None:
    with pytest.raises(ValueError, match="positive"):
        advice.pulls_per_setup(0.0, 0.3)


# --- Holm ---------------------------------------------------------------------------------


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=12))
def test_holm_agrees_with_statsmodels(p: list[float]) -> None:
    with mock.patch.object(gc, "collect"):  # theirs clears the whole heap at every call
        theirs = multipletests(p, alpha=0.05, method="holm")[0]
    assert list(rules.holm(p, 0.05)) == list(theirs)


def test_holm_of_many_sessions_at_once_is_holm_of_each() -> None:
    p = np.random.default_rng(1).uniform(size=(5, 200)) ** 3
    together = rules.holm(p)
    assert all((together[:, k] == rules.holm(p[:, k])).all() for k in range(200))
