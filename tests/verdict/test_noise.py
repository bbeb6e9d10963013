"""Where the noise figure comes from, and when the assumption is dropped."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, special

from logbook.verdict.difference import judge
from logbook.verdict.noise import ASSUMED, ASSUMED_PEAKS, NO_WANDER, learned_prior, pooled
from logbook.verdict.wander import learned_wander, past_session

HISTORY = [0.21, 0.34, 0.15, 0.28, 0.45, 0.19, 0.31, 0.24, 0.38, 0.27, 0.12, 0.52]
DFS = [2, 3, 1, 4, 2, 3, 5, 2, 2, 3, 1, 2]


def test_one_pull_of_a_set_up_has_no_repeatability() -> None:
    assert np.isnan(pooled([88.1, 88.4], [0, 1]).s)
    assert pooled([88.1, 88.4], [0, 1]).degrees_of_freedom == 0


def test_the_first_two_pulls_rest_on_the_assumption_and_say_so() -> None:
    judged = judge([1, 2], [0, 1], [88.1, 88.5], baseline=0)
    assert (judged.noise.percent, judged.noise.degrees_of_freedom) == (0.3, 2.0)
    assert judged.noise.source == "assumed"


def test_typed_peaks_start_from_a_larger_assumption() -> None:
    assert ASSUMED_PEAKS.percent > ASSUMED.percent


def test_repeats_and_assumption_are_put_together_while_repeats_are_few() -> None:
    judged = judge([1, 2, 3], [0, 0, 1], [88.0, 88.1, 88.5], baseline=0, wander=NO_WANDER)
    assert judged.noise.source == "assumed"
    assert 0.05 < judged.noise.percent < 0.3
    assert judged.noise.degrees_of_freedom == pytest.approx(3.0)


def test_an_assumption_that_would_talk_the_noise_down_is_dropped() -> None:
    judged = judge([1, 2, 3], [0, 0, 1], [88.0, 88.9, 88.5], baseline=0, wander=NO_WANDER)
    assert judged.noise.source == "this session"
    assert judged.noise.percent == pytest.approx(100 * 0.9 / np.sqrt(2) / 88.45)
    assert judged.noise.degrees_of_freedom == pytest.approx(1.0)


def test_four_repeats_are_enough_to_do_without_the_assumption() -> None:
    scores = [88.0, 88.1, 88.05, 88.5, 88.4, 88.45]
    judged = judge(range(6), [0, 0, 0, 1, 1, 1], scores, baseline=0)
    assert judged.noise.source == "this session"


def test_pulls_set_up_afresh_each_time_still_lean_on_the_assumption() -> None:
    """Five degrees of freedom, but none tells noise from re-setting error."""
    scores = [88.0, 88.4, 88.05, 88.45, 88.0, 88.4, 88.02]
    judged = judge(range(7), [0, 1, 0, 1, 0, 1, 0], scores, baseline=0)
    assert judged.noise.source == "assumed"


def test_nine_sessions_teach_nothing_about_the_cell() -> None:
    assert learned_prior(HISTORY[:9], DFS[:9]) is None


def test_sessions_without_repeats_are_not_counted() -> None:
    assert learned_prior([*HISTORY[:9], 0.3, 0.0], [*DFS[:9], 0, 3]) is None


def test_the_learned_prior_solves_the_published_equations() -> None:
    """Smyth (2004), section 6.2, solved here by bisection."""
    s, half = np.array(HISTORY), np.array(DFS) / 2.0
    e = np.log(s**2) - special.digamma(half) + np.log(half)
    excess = np.var(e, ddof=1) - np.mean(special.polygamma(1, half))
    prior = learned_prior(HISTORY, DFS)
    assert prior is not None
    if excess > 0:
        nu = optimize.brentq(lambda v: special.polygamma(1, v / 2) - excess, 1e-3, 1e6)
        level = np.exp((np.mean(e) + special.digamma(nu / 2) - np.log(nu / 2)) / 2)
    else:
        nu, level = np.inf, np.exp(np.mean(e) / 2)
    assert prior.degrees_of_freedom == pytest.approx(min(nu, 6.0), rel=1e-9)
    assert prior.percent == pytest.approx(level, rel=1e-9)
    assert prior.source == "cell history"


def test_sessions_that_differ_wildly_earn_a_weak_prior() -> None:
    wild = [0.05, 1.2, 0.08, 0.9, 0.06, 1.5, 0.07, 1.1, 0.05, 1.3]
    prior = learned_prior(wild, [6] * 10)
    assert prior is not None
    assert prior.degrees_of_freedom < 2.0


def test_sessions_that_all_agree_never_weigh_more_than_six_repeats() -> None:
    prior = learned_prior([0.25] * 40, [8] * 40)
    assert prior is not None
    assert prior.degrees_of_freedom == 6.0
    assert prior.percent == pytest.approx(0.25, rel=0.1)


def test_a_steady_cell_teaches_that_it_hardly_drifts() -> None:
    rng = np.random.default_rng(4)
    order = np.array([0, 0, 1, 1, 0, 0, 2, 2, 0])
    runs = np.array([0, 0, 1, 1, 2, 2, 3, 3, 4])

    def history(drift: float, resetting: float) -> list:  # type: ignore[type-arg]
        return [
            past_session(
                range(1, 10),
                order,
                100 + rng.normal(0, 0.2, 9) + rng.normal(0, drift) * np.arange(9)
                + rng.normal(0, resetting, 5)[runs],
            )
            for _ in range(12)
        ]  # fmt: skip

    steady, restless = learned_wander(history(0.0, 0.0)), learned_wander(history(0.3, 0.4))
    assert steady is not None
    assert restless is not None
    # However steady: never less than 0.8 of the assumption, 0.1 and 0.15 %.
    assert (steady.drift_percent, steady.resetting_percent) == pytest.approx((0.08, 0.12))
    assert restless.drift_percent > 0.2
    assert steady.resetting_percent < restless.resetting_percent
    assert restless.source == "cell history"


def test_figures_rounded_until_they_are_all_the_same_teach_nothing_about_drift() -> None:
    same = past_session(range(5), [0, 0, 1, 1, 0], [310.0, 310.0, 311.0, 311.0, 310.0])
    assert learned_wander([same] * 20) is None


def test_one_wild_session_does_not_make_a_quiet_cell_restless() -> None:
    rng = np.random.default_rng(5)
    order = [0, 0, 1, 1, 0, 0, 1, 1]
    quiet = [past_session(range(8), order, 100 + rng.normal(0, 0.15, 8)) for _ in range(12)]
    wild = past_session(range(8), order, 100 + 2.0 * np.arange(8) + rng.normal(0, 0.15, 8))
    before, after = learned_wander(quiet), learned_wander([*quiet, wild])
    assert before is not None
    assert after is not None
    assert after.drift_percent < 1.2 * before.drift_percent


def test_sessions_that_never_went_back_teach_nothing_about_drift() -> None:
    there = past_session(range(6), [0, 0, 1, 1, 2, 2], [100.0, 100.1, 100.2, 100.1, 100.0, 100.3])
    assert learned_wander([there] * 20) is None
