"""What the data say about the best timing, and when they are not to be trusted."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from logbook.records.setup import Level, SetUp
from logbook.verdict.comparable import differing_in_timing_only
from logbook.verdict.fieller import fieller
from logbook.verdict.loss_curves import loss_percent
from logbook.verdict.noise import NO_WANDER
from logbook.verdict.timing import draw, fit_timing, timing_pulls
from logbook.verdict.timing_trust import drift_stops, judge_timing, loss_at

SWEEP = np.arange(24.0, 39.0, 2.0)
TORQUE = np.array([488.9, 493.6, 497.2, 499.1, 500.4, 499.8, 498.3, 494.9])
NOISE = np.random.default_rng(6).normal(0.0, 0.05, 40)


def lopsided(timing: np.ndarray, best: float = 24.0) -> np.ndarray:
    """Torque in percent of its greatest, falling off faster on the side of advance."""
    return 100.0 - loss_percent(timing - best, 4e-4, 0.7)


def test_the_parabola_agrees_with_ordinary_least_squares() -> None:
    pulls = timing_pulls(range(8), SWEEP, TORQUE, prior=None, wander=NO_WANDER)
    found = fit_timing(pulls, lopsided_sd=0.0)
    theirs = sm.OLS(TORQUE, np.vander(SWEEP - 31.0, 3)).fit()
    a, b, _ = theirs.params
    assert found.best_deg == pytest.approx(31.0 - b / (2 * a), abs=1e-9)
    assert found.parabola is not None
    drawn = draw(found.parabola, [27.0, 33.0])
    predicted = theirs.get_prediction(np.vander(np.array([27.0, 33.0]) - 31.0, 3))
    assert drawn.torque == pytest.approx(predicted.predicted_mean, abs=1e-9)
    assert drawn.low == pytest.approx(predicted.conf_int()[:, 0], abs=1e-8)


def test_the_losses_are_those_of_the_parabola() -> None:
    pulls = timing_pulls(range(8), SWEEP, TORQUE, prior=None, wander=NO_WANDER)
    found = fit_timing(pulls, lopsided_sd=0.0)
    assert found.loss_percent[2] == found.loss_percent[-2]
    assert found.loss_percent[4] == pytest.approx(4 * found.loss_percent[2])
    assert found.best_deg is not None
    assert found.least_deg is not None
    assert loss_at(found, found.least_deg) == pytest.approx(0.2)


def test_the_least_timing_is_none_that_nobody_tried() -> None:
    timings = np.array([29.0, 30.0, 31.0, 32.0, 29.0, 30.0, 31.0, 32.0])
    torque = 400.0 - 0.12 * (timings - 30.6) ** 2
    found = fit_timing(timing_pulls(range(8), timings, torque, prior=None, wander=NO_WANDER))
    assert found.identified
    assert found.least_deg == 29.0, "the parabola carried on would say 28"


def test_drift_and_resetting_widen_the_interval_of_a_sweep_in_one_direction() -> None:
    pulls = timing_pulls(range(8), SWEEP, TORQUE, prior=None, wander=NO_WANDER)
    bare = fit_timing(pulls, lopsided_sd=0.0)
    real = fit_timing(timing_pulls(range(8), SWEEP, TORQUE), lopsided_sd=0.0)
    assert real.identified
    assert _width(real.interval_deg) > 3 * _width(bare.interval_deg)


def _width(interval: tuple[float | None, float | None]) -> float:
    assert interval[0] is not None
    assert interval[1] is not None
    return interval[1] - interval[0]


def test_timings_far_below_the_best_are_not_fitted() -> None:
    """A wide sweep of a lopsided engine: the far timings pull the best 3–4° along."""
    wide = np.tile([10, 14, 18, 20, 22, 24, 26, 28, 30, 34, 38, 40.0], 2)
    pulls = timing_pulls(range(24), wide, lopsided(wide) * (1 + NOISE[:24] / 100))
    near, whole = fit_timing(pulls), fit_timing(pulls, near_percent=None)
    assert near.best_deg is not None
    assert whole.top_deg is not None
    assert abs(near.best_deg - 24.0) < 1.6 < 3.0 < abs(whole.top_deg - 24.0)
    assert near.used.sum() < 24


def test_the_interval_leaves_room_for_the_lopsidedness_that_torque_has() -> None:
    """Sixty sessions on an ordinarily lopsided engine, every timing pulled twice."""
    rng = np.random.default_rng(12)
    timing = np.concatenate([np.arange(22.0, 39.0, 2.0), np.arange(38.0, 21.0, -2.0)])
    held = {0.0: 0, 0.35: 0}
    for _ in range(60):
        best = rng.uniform(28.0, 32.0)
        torque = 100.0 - loss_percent(timing - best, 4e-4, 0.35) + rng.normal(0.0, 0.3, 18)
        pulls = timing_pulls(range(18), timing, torque)
        for sd in held:
            low, high = fit_timing(pulls, lopsided_sd=sd).interval_deg
            held[sd] += low is not None and high is not None and low <= best <= high
    assert held[0.35] >= 54
    assert held[0.0] <= 30


def test_losses_beside_the_best_are_lopsided_where_the_pulls_show_it() -> None:
    timing = np.tile(np.arange(18.0, 33.0, 2.0), 3)
    found = fit_timing(timing_pulls(range(24), timing, lopsided(timing, 25.0)))
    assert found.loss_percent[4] > 1.3 * found.loss_percent[-4]
    assert found.shape is not None
    assert found.best_deg is not None
    assert found.least_deg is not None
    assert found.shape.loss_percent(found.least_deg - found.best_deg) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("timing", "torque", "why"),
    [
        ([28, 30], [99.0, 99.5], "three timings are needed, 2 so far"),
        ([26, 28, 30, 32, 34], [97.0, 98.0, 98.8, 99.4, 99.8], "most advance pulled"),
        ([26, 28, 30, 32, 34], [99.8, 99.4, 98.8, 98.0, 97.0], "least advance pulled"),
        ([26, 30, 34], [99.0, 98.0, 99.0], "does not fall off on both sides"),
        ([28, 30, 32, 34], [99.9, 100.0, 99.95, 99.93], "cannot tell"),
    ],
)
def test_a_best_that_is_not_bracketed_says_why(
    timing: list[float], torque: list[float], why: str
) -> None:
    found = fit_timing(timing_pulls(range(len(timing)), timing, torque))
    assert not found.identified
    assert found.best_deg is None
    assert found.least_deg is None
    assert why in found.why_not
    assert None in found.interval_deg


def test_a_best_beyond_the_tested_range_leaves_that_side_open() -> None:
    torque = 100.0 - 0.04 * (np.arange(18.0, 31.0) - 31.0) ** 2
    found = fit_timing(timing_pulls(range(13), np.arange(18.0, 31.0), torque), near_percent=None)
    low, high = found.interval_deg
    assert low is not None
    assert low <= 30.0
    assert high is None


def test_a_sound_sweep_is_trusted() -> None:
    twice = np.concatenate([SWEEP, SWEEP[::-1]])
    torque = np.concatenate([TORQUE, TORQUE[::-1] + 0.2])
    answer = judge_timing(timing_pulls(range(16), twice, torque))
    assert answer.trusted
    assert answer.doubts == ()
    assert answer.settle_deg is None
    assert answer.stop == ""


def test_too_wide_steps_are_doubted_and_the_timing_in_between_is_named() -> None:
    answer = judge_timing(timing_pulls(range(4), [10, 20, 30, 40], [96.0, 100.0, 97.0, 88.0]))
    codes = [doubt.code for doubt in answer.doubts]
    assert "steps-too-wide" in codes
    assert answer.settle_deg in (15.0, 25.0)
    assert not answer.trusted


def test_a_lopsided_sweep_is_found_not_to_be_a_parabola() -> None:
    """Repeats show that the misfit is no noise."""
    wide = np.tile(np.array([14.0, 20.0, 24.0, 28.0, 34.0]), 3)
    torque = lopsided(wide) * (1 + NOISE[:15] / 100)
    answer = judge_timing(
        timing_pulls(range(15), wide, torque, wander=NO_WANDER), near_percent=None
    )
    assert "not-a-parabola" in [doubt.code for doubt in answer.doubts]


def test_the_parabola_is_doubted_from_one_chance_in_twenty_on() -> None:
    """The bend at which the doubt begins has p = 0.05."""
    wide = np.tile(np.array([26.0, 28.0, 30.0, 32.0, 34.0]), 3)

    def doubt(bend: float) -> str:
        plain = 100.0 - 0.04 * (wide - 30.0) ** 2 + bend * (wide - 30.0) ** 3 + NOISE[:15]
        pulls = timing_pulls(range(15), wide, plain, wander=NO_WANDER)
        found = judge_timing(pulls, near_percent=None).doubts
        return next((one.text for one in found if one.code == "not-a-parabola"), "")

    without, with_doubt = 0.0, 0.01
    assert (doubt(without), bool(doubt(with_doubt))) == ("", True)
    for _ in range(20):
        middle = (without + with_doubt) / 2.0
        without, with_doubt = (without, middle) if doubt(middle) else (middle, with_doubt)
    assert "(p = 0.050)" in doubt(with_doubt)


def test_a_timing_that_alone_decides_is_named() -> None:
    timing = np.array([24.0, 26, 28, 30] * 4 + [36])
    torque = 100.0 - 0.04 * (timing - 26.0) ** 2 + NOISE[:17]
    torque[-1] = 98.0
    pulls = timing_pulls(range(17), timing, torque, wander=NO_WANDER)
    doubts = judge_timing(pulls, near_percent=None).doubts
    doubt = next(d for d in doubts if d.code == "one-timing-decides")
    assert "Without the pulls at 36°" in doubt.text


def test_a_lopsided_sweep_that_drifts_by_more_than_the_effect_is_refused_advice() -> None:
    timing = np.array([20, 24, 28, 32, 28, 24, 20, 24, 28.0])
    torque = lopsided(timing, 25.0) - 0.6 * np.arange(9) + NOISE[:9]
    stop = judge_timing(timing_pulls(range(1, 10), timing, torque)).stop
    assert "settle the engine first" in stop
    assert "drifted by 4." in stop or "drifted by 5." in stop


def test_a_steady_engine_is_not_stopped() -> None:
    timing = np.array([20, 24, 28, 32, 28, 24, 20, 24, 28.0])
    torque = lopsided(timing, 25.0) + 0.02 * np.arange(9) + NOISE[:9]
    assert drift_stops(timing_pulls(range(1, 10), timing, torque)) == ""


def test_a_sweep_in_one_direction_cannot_tell_drift_and_is_not_stopped_for_it() -> None:
    assert drift_stops(timing_pulls(range(8), SWEEP, TORQUE)) == ""


def test_thirds_of_the_band_show_a_locked_distributors_compromise() -> None:
    timing = np.tile(SWEEP, 2)
    thirds = np.column_stack([100.0 - 0.04 * (timing - best) ** 2 for best in (28.0, 31.0, 34.0)])
    answer = judge_timing(
        timing_pulls(range(16), timing, thirds.mean(axis=1)), third_torques=thirds
    )
    bests = [third.top_deg for third in answer.thirds]
    assert bests == pytest.approx([28.0, 31.0, 34.0], abs=0.01)
    assert answer.fit.best_deg is not None
    lost = loss_at(answer.thirds[0], answer.fit.best_deg)
    assert lost == pytest.approx(0.36, abs=0.02)


def test_curves_that_do_not_cover_the_band_have_no_thirds() -> None:
    thirds = np.full((8, 3), np.nan)
    assert judge_timing(timing_pulls(range(8), SWEEP, TORQUE), third_torques=thirds).thirds == ()


def test_pulls_that_differ_in_more_than_timing_are_left_out_with_the_factor() -> None:
    def made(**levels: str) -> SetUp:
        return SetUp({name: Level(text, _number(text)) for name, text in levels.items()})

    def _number(text: str) -> float | None:
        try:
            return float(text)
        except ValueError:
            return None

    present = made(timing="30", fuel="race", jets="72")
    found = differing_in_timing_only(
        [
            made(timing="28", fuel="race", jets="72"),
            made(timing="30", fuel="pump", jets="74"),
            made(fuel="race", jets="72"),
            made(timing="32", fuel="race", jets="72"),
        ],
        present,
        [None, None, None, "spark lead came off"],
    )
    assert found.used == (0,)
    assert [(out.place, out.why) for out in found.left_out] == [
        (1, "Differs in fuel and jets too"),
        (2, "Its timing was not set down"),
        (3, "Excluded: spark lead came off"),
    ]


@pytest.mark.parametrize(
    ("number", "timing", "torque"),
    [([], [], []), ([1], [30, 32], [1.0, 1.0]), ([1], [30], [0.0]), ([1], [np.nan], [9.0])],
)
def test_what_is_no_timing_pull_is_refused(
    number: list[int], timing: list[float], torque: list[float]
) -> None:
    with pytest.raises(ValueError, match="tim"):
        timing_pulls(number, timing, torque)


RATIOS = st.floats(-5.0, 5.0)


@given(RATIOS, st.floats(0.5, 5.0), st.floats(0.001, 0.2), st.floats(0.001, 0.2),
       st.floats(-0.9, 0.9))  # fmt: skip
def test_fiellers_limits_lie_on_the_tests_edge(
    top: float, bottom: float, sd_top: float, sd_bottom: float, correlation: float
) -> None:
    """(top − θ·bottom)² = t²·var(top − θ·bottom) at both ends, and the ratio between them."""
    covariance = correlation * sd_top * sd_bottom
    found = fieller(
        top, bottom, top_variance=sd_top**2, covariance=covariance,
        bottom_variance=sd_bottom**2, t=2.0,
    )  # fmt: skip
    assert found is not None
    assert found[0] <= top / bottom + 1e-12
    assert found[1] >= top / bottom - 1e-12
    for limit in found:
        variance = sd_top**2 - 2 * limit * covariance + limit**2 * sd_bottom**2
        assert (top - limit * bottom) ** 2 == pytest.approx(4.0 * variance, rel=1e-5, abs=1e-9)


def test_fieller_has_no_interval_where_the_bottom_may_be_zero() -> None:
    assert fieller(1.0, 1.0, top_variance=1.0, covariance=0.0, bottom_variance=1.0, t=2.0) is None


@given(st.floats(-200.0, 200.0), st.floats(1e-3, 1e4))
def test_shifting_the_scale_of_timing_shifts_the_best(shift: float, unit: float) -> None:
    one = fit_timing(timing_pulls(range(8), SWEEP, TORQUE))
    other = fit_timing(timing_pulls(range(8), SWEEP + shift, unit * TORQUE))
    assert one.best_deg is not None
    assert other.best_deg == pytest.approx(one.best_deg + shift, abs=1e-6)
    assert _width(other.interval_deg) == pytest.approx(_width(one.interval_deg), abs=1e-5)
