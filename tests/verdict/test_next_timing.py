"""The next timing by expected gain: what it buys, when it stops, how well it does."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.verdict.bounds import Bounds
from logbook.verdict.loss_curves import (
    Updated,
    covariance_of,
    loss_percent,
    predict,
    prior_belief,
    update,
)
from logbook.verdict.next_timing import expected_loss, knowledge_gradient, next_timing
from logbook.verdict.noise import ASSUMED, NO_WANDER, Prior
from logbook.verdict.timing import timing_pulls
from tests.benchmarks.cell_of_known_truth import Cell
from tests.benchmarks.honest_timing import CURVES, advised, climb, ladder

WIDE = Bounds(24.0, 36.0, "", (), 40.0)


def after(timings: list[float], best: float = 33.0, noise: float = 0.0) -> Updated:
    rng = np.random.default_rng(3)
    torque = 100.0 - loss_percent(np.array(timings) - best, 4e-4, 0.0)
    torque = torque + rng.normal(0.0, noise, len(timings))
    return update(timing_pulls(range(len(timings)), timings, torque), prior_belief(30.0))


def test_the_belief_before_any_pull_is_flat_near_the_best_and_centered_on_the_start() -> None:
    belief = prior_belief(30.0)
    assert belief.weight.sum() == pytest.approx(1.0)
    assert belief.weight @ belief.best == pytest.approx(30.0)
    # Common practice, no source: 0.1–0.2 % at ±2°, about 1 % at ±5°.
    assert loss_percent(2.0, 4e-4, 0.0) == pytest.approx(0.16)
    assert loss_percent(5.0, 4e-4, 0.0) == pytest.approx(1.0)


def test_one_pull_tells_nothing_about_the_best() -> None:
    belief = after([30.0]).belief
    assert belief.weight @ belief.best == pytest.approx(30.0, abs=1e-6)


def test_pulls_move_the_belief_to_the_true_best() -> None:
    belief = after([30.0, 24.0, 33.0, 36.0]).belief
    mean = belief.weight @ belief.best
    sd = np.sqrt(belief.weight @ (belief.best - mean) ** 2)
    assert mean == pytest.approx(33.0, abs=1.0)
    assert sd < 1.5


def test_weights_are_those_of_a_normal_likelihood_with_unknown_level() -> None:
    """Two curves compared by hand: the level integrated out is a contrast of the pulls."""
    prior = Prior(0.3, 1e9, "cell history")
    pulls = timing_pulls([1, 2, 3], [28.0, 30.0, 33.0], [99.0, 99.6, 100.0], prior=prior)
    belief = prior_belief(30.0)
    updated = update(pulls, belief)
    v = covariance_of(np.array([1.0, 2.0, 3.0]), pulls.run, pulls, 0.3)
    contrasts = np.array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0]])

    def density(k: int) -> float:
        residual = updated.percent + belief.losses(pulls.timing)[k]
        d, w = contrasts @ residual, contrasts @ v @ contrasts.T
        return float(np.exp(-0.5 * d @ np.linalg.solve(w, d)))

    for i, j in ((700, 701), (650, 800)):
        ours = [
            updated.belief.weight[
                (updated.belief.best == belief.best[k])
                & (updated.belief.curvature == belief.curvature[k])
                & (updated.belief.lopsided == belief.lopsided[k])
            ][0]
            for k in (i, j)
        ]
        by_hand = [belief.weight[k] * density(k) for k in (i, j)]
        assert ours[0] / ours[1] == pytest.approx(by_hand[0] / by_hand[1], rel=1e-4)


def test_the_next_pull_is_predicted_as_its_likelihood_says() -> None:
    """p(y₄ | curve, first three) from the ratio of likelihoods, level integrated out."""
    updated = after([30.0, 27.0, 33.0], noise=0.2)
    mean, variance = predict(updated, [31.0])
    pulls, s = updated.pulls, updated.noise_percent
    number = np.array([0.0, 1.0, 2.0, 3.0])
    v = covariance_of(number, [0, 1, 2, 3], pulls, s)
    one = np.ones(4)

    def log_likelihood(y: np.ndarray, count: int) -> float:
        part, ones = v[:count, :count], one[:count]
        inverse = np.linalg.inv(part)
        level = ones @ inverse @ ones
        r = y[:count]
        square = r @ inverse @ r - (ones @ inverse @ r) ** 2 / level
        return float(-0.5 * (square + np.linalg.slogdet(part)[1] + np.log(level)))

    k = int(np.argmax(updated.belief.weight))
    timings = np.array([30.0, 27.0, 33.0, 31.0])
    losses = updated.belief.losses(timings)[k]
    for y4 in (mean[k, 0] - 0.4, mean[k, 0], mean[k, 0] + 0.7):
        r = np.append(updated.percent, y4) + losses
        ratio = log_likelihood(r, 4) - log_likelihood(r, 3)
        ours = -0.5 * ((y4 - mean[k, 0]) ** 2 / variance[0] + np.log(variance[0]))
        assert ratio == pytest.approx(ours, abs=1e-8)


def test_the_gain_of_a_pull_agrees_with_simulating_it() -> None:
    updated = after([30.0, 26.0], noise=0.2)
    permitted = np.arange(24.0, 33.0)
    bounds = Bounds(24.0, 32.0, "", (), 32.0)
    saves = knowledge_gradient(updated, permitted, bounds)
    belief, losses = updated.belief, updated.belief.losses(permitted)
    now = (belief.weight @ losses).min()
    rng = np.random.default_rng(9)
    for k in (2, 8):
        mean, variance = predict(updated, permitted[[k]])
        curve = rng.choice(belief.weight.size, size=4000, p=belief.weight)
        outcome = mean[curve, 0] + np.sqrt(variance[0]) * rng.normal(size=4000)
        weight = belief.weight * np.exp(
            -0.5 * (outcome[:, None] - mean[None, :, 0]) ** 2 / variance[0]
        )
        after_it = ((weight @ losses) / weight.sum(axis=1, keepdims=True)).min(axis=1).mean()
        assert saves[k] == pytest.approx(now - after_it, abs=0.02)


def test_a_pull_never_costs_anything_in_expectation() -> None:
    updated = after([30.0, 26.0, 34.0], noise=0.3)
    saves = knowledge_gradient(updated, np.arange(24.0, 37.0), WIDE)
    assert np.all(saves >= -1e-12)


def test_it_says_what_the_pull_buys() -> None:
    pulls = timing_pulls([1], [30.0], [100.0])
    advice = next_timing(pulls, Bounds(24.0, 32.0, "", (), 40.0), present_deg=30.0)
    assert advice.next_deg is not None
    assert advice.gives_away_now is not None
    assert advice.gives_away_after is not None
    assert advice.gives_away_after < advice.gives_away_now
    assert f"after a pull at {advice.next_deg:g}°" in advice.why
    assert advice.stop == ""
    assert advice.prior_source == "assumed"


def test_the_least_advance_within_worth_having_stands_beside_the_choice() -> None:
    pulls = timing_pulls(range(4), [30.0, 24.0, 33.0, 36.0], [99.6, 96.8, 100.0, 99.6])
    advice = next_timing(pulls, WIDE, present_deg=30.0)
    assert advice.least_deg is not None
    assert advice.now_deg is not None
    assert advice.least_deg < advice.now_deg


def test_it_stops_where_the_rest_is_noise_and_says_so() -> None:
    timings = [30.0, 24.0, 36.0, 32.0, 34.0, 32.0, 33.0, 31.0, 33.0]
    torque = 100.0 - loss_percent(np.array(timings) - 33.0, 4e-4, 0.0)
    advice = next_timing(timing_pulls(range(9), timings, torque), WIDE, present_deg=30.0)
    assert advice.next_deg is None
    assert "less than 0.03 %: the rest is noise" in advice.stop
    assert advice.now_deg == pytest.approx(33.0, abs=1.0)
    keen = next_timing(
        timing_pulls(range(9), timings, torque), WIDE, present_deg=30.0, stop_below_percent=0.0
    )
    assert keen.next_deg is not None


def test_it_does_not_stop_at_a_bound_that_a_clean_pull_would_open() -> None:
    """The best lies at 36°, found clean so far to 30°: only pulling 32° opens 34°."""
    timings = [30.0, 24.0, 32.0]
    torque = 100.0 - loss_percent(np.array(timings) - 37.0, 6e-4, 0.0)
    pulls = timing_pulls(range(3), timings, torque)
    shut = next_timing(pulls, Bounds(24.0, 34.0, "", (), 34.0), present_deg=30.0)
    open_ = next_timing(pulls, Bounds(24.0, 34.0, "", (), 40.0), present_deg=30.0)
    assert open_.next_deg == 34.0
    assert "36° is open then" in open_.why
    assert shut.gives_away_after is not None
    assert open_.gives_away_after is not None
    assert open_.gives_away_after < shut.gives_away_after


def test_an_engine_that_has_not_settled_gets_no_advice() -> None:
    pulls = timing_pulls([1, 2], [30.0, 32.0], [100.0, 100.2])
    advice = next_timing(pulls, WIDE, present_deg=30.0, stop="Settle the engine first.")
    assert advice.stop == "Settle the engine first."
    assert (advice.now_deg, advice.next_deg) == (None, None)


def test_a_loud_session_is_believed_to_be_loud() -> None:
    quiet = after([30.0, 30.0, 32.0, 32.0, 34.0, 34.0], noise=0.02)
    loud = after([30.0, 30.0, 32.0, 32.0, 34.0, 34.0], noise=1.5)
    assert quiet.noise_percent < 0.3 < loud.noise_percent


def test_drift_nothing_is_believed_about_can_still_be_weighed() -> None:
    pulls = timing_pulls(range(4), [30.0, 33.0, 27.0, 30.0], [100.0, 100.3, 99.0, 100.1],
                         prior=ASSUMED, wander=NO_WANDER)  # fmt: skip
    assert next_timing(pulls, WIDE, present_deg=30.0).now_deg is not None


def test_advice_beats_both_habits_with_twice_the_pulls() -> None:
    """A small size of the honesty benchmark, on a curve outside the belief's family."""
    loss, cell, rng = CURVES["lopsided to advance"], Cell(0.3, 0.0, 0.15), np.random.default_rng(2)
    bests = np.linspace(24.0, 36.0, 10)
    given = np.array([advised(loss, float(best), cell, rng)[0] for best in bests])
    many = np.tile(bests, 60)
    for place, pulls in ((1, 4), (3, 6)):
        habits = [habit(loss, many, 2 * pulls, cell, rng).mean() for habit in (ladder, climb)]
        assert given[:, place].mean() < min(habits)
    assert expected_loss(prior_belief(30.0), np.array([30.0]))[0] > given[:, 1].mean()
