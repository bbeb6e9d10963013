"""The one fit agrees with statsmodels and scipy on the same data, and keeps its promises."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from logbook.verdict.difference import judge
from logbook.verdict.fit import fit, foreseen, indicators, runs_of
from logbook.verdict.noise import FREE_DRIFT, NO_WANDER, Prior, Wander, settle

ORDER = np.array([0, 0, 1, 1, 0, 2, 2, 1, 0, 0])
TIME = np.array([1, 2, 3, 5, 6, 7, 8, 10, 11, 12])
DRIFT, RESETTING = 0.1, 0.15


def scores(seed: int = 3) -> np.ndarray:
    rng = np.random.default_rng(seed)
    runs = runs_of(ORDER)
    return np.asarray(
        100.0 + 0.6 * (ORDER == 1) + 0.08 * TIME
        + rng.normal(0, RESETTING, runs.max() + 1)[runs] + rng.normal(0, 0.3, ORDER.size)
    )  # fmt: skip


def covariance(sigma: float, drift: float = DRIFT) -> np.ndarray:
    time = TIME - TIME.mean()
    _, blocks = indicators(runs_of(ORDER))
    return np.asarray(
        sigma**2 * np.eye(TIME.size)
        + drift**2 * np.outer(time, time)
        + RESETTING**2 * blocks @ blocks.T
    )


def fitted(drift: float = DRIFT, data: np.ndarray | None = None):  # type: ignore[no-untyped-def]
    _, columns = indicators(ORDER)
    y = scores() if data is None else data
    return fit(TIME, columns, y[:, None], drift_sd=drift, resetting_sd=RESETTING,
               run=runs_of(ORDER))  # fmt: skip


@pytest.mark.parametrize("sigma", [0.1, 0.3, 1.0])
def test_levels_and_errors_agree_with_generalised_least_squares(sigma: float) -> None:
    _, columns = indicators(ORDER)
    theirs = sm.GLS(scores(), columns, sigma=covariance(sigma)).fit()
    ours = fitted()
    unscaled = theirs.normalized_cov_params
    for weights in ([-1, 1, 0], [-1, 0, 1], [0, 1, -1], [1, 0, 0]):
        estimate = ours.contrast(weights, [sigma], [5.0])
        w = np.array(weights, float)
        assert estimate.value[0] == pytest.approx(w @ theirs.params, abs=1e-9)
        assert estimate.standard_error[0] == pytest.approx(np.sqrt(w @ unscaled @ w), abs=1e-9)
    values, joint = ours.joint(np.eye(3), sigma)
    assert values == pytest.approx(theirs.params, abs=1e-9)
    assert joint == pytest.approx(unscaled, abs=1e-9)


def test_free_drift_agrees_with_drift_as_one_more_column() -> None:
    _, columns = indicators(ORDER)
    design = np.column_stack([columns, TIME - TIME.mean()])
    theirs = sm.GLS(scores(), design, sigma=covariance(0.3, drift=0.0)).fit()
    estimate = fitted(np.inf).drift([0.3], [5.0])
    assert estimate.value[0] == pytest.approx(theirs.params[-1], abs=1e-9)
    error = np.sqrt(theirs.normalized_cov_params[-1, -1])
    assert estimate.standard_error[0] == pytest.approx(error, abs=1e-9)


def test_predicted_drift_is_the_conditional_mean() -> None:
    """Joint normal distribution of drift and pulls, written out."""
    _, x = indicators(ORDER)
    v, time, y = covariance(0.3), TIME - TIME.mean(), scores()
    inverse = np.linalg.inv(v)
    p = inverse - inverse @ x @ np.linalg.solve(x.T @ inverse @ x, x.T @ inverse)
    estimate = fitted().drift([0.3], [5.0])
    assert estimate.value[0] == pytest.approx(DRIFT**2 * time @ p @ y, abs=1e-9)
    variance = DRIFT**2 - DRIFT**4 * time @ p @ time
    assert estimate.standard_error[0] == pytest.approx(np.sqrt(variance), abs=1e-9)


def test_noise_maximises_the_restricted_likelihood() -> None:
    _, x = indicators(ORDER)
    y = scores()

    def slope(square: float) -> float:
        """Of the restricted log-likelihood in σ², written out with P = V⁻¹ − V⁻¹X(X′V⁻¹X)⁻X′V⁻¹."""
        inverse = np.linalg.inv(covariance(float(np.sqrt(square))))
        p = inverse - inverse @ x @ np.linalg.solve(x.T @ inverse @ x, x.T @ inverse)
        return float(np.trace(p) - y @ p @ p @ y)

    best = optimize.brentq(slope, 1e-4, 10.0, xtol=1e-15, rtol=1e-14)
    found = fitted()
    s, _, kept = settle(found.turned, found.extra, None)
    assert s[0] == pytest.approx(np.sqrt(best), rel=1e-9)
    assert not kept[0]


def test_two_set_ups_alone_are_students_t_test() -> None:
    a, b = [88.1, 88.3, 88.0, 88.4], [88.9, 88.6, 89.1]
    judged = judge(range(7), [0] * 4 + [1] * 3, a + b, baseline=0, prior=None, wander=NO_WANDER)
    theirs = stats.ttest_ind(b, a)
    change, interval = judged.by_setup[1], theirs.confidence_interval(0.95)
    assert change.p_value == pytest.approx(theirs.pvalue, abs=1e-9)
    assert change.degrees_of_freedom == pytest.approx(theirs.df)
    assert change.interval == pytest.approx((interval.low, interval.high), abs=1e-9)


def test_free_drift_without_resetting_is_ordinary_least_squares() -> None:
    y = scores()
    judged = judge(TIME, ORDER, y, baseline=0, prior=None, wander=FREE_DRIFT)
    _, columns = indicators(ORDER)
    theirs = sm.OLS(y, np.column_stack([columns, TIME])).fit()
    test = theirs.t_test([-1, 0, 1, 0])
    change = judged.by_setup[2]
    assert change.difference == pytest.approx(float(test.effect[0]), abs=1e-9)
    assert change.standard_error == pytest.approx(float(test.sd[0, 0]), abs=1e-9)
    assert change.interval == pytest.approx(tuple(test.conf_int(0.05)[0]), abs=1e-9)


def test_a_prior_counts_like_repeats_it_is_worth() -> None:
    """Without wander the prior is the conjugate one: sums of squares add."""
    y = np.array([88.1, 88.3, 88.2, 88.4])
    prior = Prior(0.4, 3.0, "cell history")
    judged = judge(range(4), [0, 0, 1, 1], y, baseline=0, prior=prior, wander=NO_WANDER)
    percent = 100.0 * y / y[:2].mean()
    own = np.sum((percent[:2] - percent[:2].mean()) ** 2) + np.sum(
        (percent[2:] - percent[2:].mean()) ** 2
    )
    assert judged.noise.percent == pytest.approx(np.sqrt((3 * 0.4**2 + own) / 5), abs=1e-12)
    assert judged.noise.degrees_of_freedom == pytest.approx(5.0)
    assert judged.noise.source == "cell history"


def test_a_design_that_cannot_be_told_apart_is_refused() -> None:
    _, columns = indicators(ORDER)
    doubled = np.column_stack([columns, columns[:, 0] + columns[:, 1]])
    with pytest.raises(ValueError, match="not independent"):
        fit(TIME, doubled, scores()[:, None], drift_sd=0.1, resetting_sd=0.1, run=runs_of(ORDER))


@pytest.mark.parametrize("drift", [0.0, 0.1, np.inf])
def test_what_is_foreseen_without_data_is_what_the_fit_gives(drift: float) -> None:
    ours = fitted(drift).contrast([-1, 1, 0], [0.3], [4.0])
    _, columns = indicators(ORDER)
    se, growth = foreseen(
        TIME, columns, [-1, 1, 0], s=0.3, drift_sd=drift, resetting_sd=RESETTING,
        run=runs_of(ORDER),
    )  # fmt: skip
    assert se == pytest.approx(ours.standard_error[0], abs=1e-12)
    assert 4.0 * growth == pytest.approx(ours.degrees_of_freedom[0], rel=1e-9)


def test_equal_scores_throughout_do_not_upset_it() -> None:
    judged = judge(range(6), [0, 0, 1, 1, 0, 0], [90.0] * 6, baseline=0, wander=Wander(0, 0, ""))
    assert judged.by_setup[1].difference == 0.0
    assert judged.by_setup[1].verdict == "nothing worth having"


ORDERS = st.lists(st.integers(0, 3), min_size=4, max_size=14).filter(lambda o: 0 in o)


@given(ORDERS, st.integers(0, 2**32 - 1), st.floats(1e-3, 1e6), st.integers(-50, 5000))
def test_units_and_the_number_of_the_first_pull_do_not_matter(
    order: list[int], seed: int, scale: float, first: int
) -> None:
    y = 100.0 + np.random.default_rng(seed).normal(0.0, 0.4, len(order))
    one = judge(range(len(order)), order, y, baseline=0)
    other = judge(range(first, first + len(order)), order, scale * y, baseline=0)
    for label, change in one.by_setup.items():
        same = other.by_setup[label]
        assert same.percent == pytest.approx(change.percent, abs=1e-7)
        assert same.interval_percent == pytest.approx(change.interval_percent, abs=1e-6)
        assert same.difference == pytest.approx(scale * change.difference, abs=1e-7 * scale)
        assert same.more_pulls == change.more_pulls
        assert same.verdict == change.verdict


@given(ORDERS, st.integers(0, 2**32 - 1), st.randoms())
def test_neither_labels_nor_the_order_of_the_rows_matter(
    order: list[int], seed: int, random: object
) -> None:
    rng = np.random.default_rng(seed)
    y = 100.0 + rng.normal(0.0, 0.4, len(order))
    names = rng.permutation(4) * 10 + 3
    rows = rng.permutation(len(order))
    one = judge(range(len(order)), order, y, baseline=0)
    other = judge(np.arange(len(order))[rows], names[order][rows], y[rows], baseline=int(names[0]))
    assert other.noise.percent == pytest.approx(one.noise.percent, rel=1e-7)
    for label, change in one.by_setup.items():
        same = other.by_setup[int(names[label])]
        assert same.interval_percent == pytest.approx(change.interval_percent, abs=1e-7)
        assert (same.verdict, same.more_pulls) == (change.verdict, change.more_pulls)


@given(ORDERS.filter(lambda o: len(set(o)) > 1), st.integers(0, 2**32 - 1))
def test_a_change_there_and_back_is_worth_the_same_with_the_other_sign(
    order: list[int], seed: int
) -> None:
    y = 100.0 + np.random.default_rng(seed).normal(0.0, 0.4, len(order))
    judged = judge(range(len(order)), order, y, baseline=0)
    other = next(label for label in order if label != 0)
    there, back = judged.between(0, other), judged.between(other, 0)
    assert there.difference == pytest.approx(-back.difference, abs=1e-9)
    assert there.p_value == pytest.approx(back.p_value, abs=1e-9)
