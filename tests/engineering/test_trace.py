"""Curves: bins, tables, band averages and peaks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering.engine import power_kw
from logbook.engineering.trace import (
    Array,
    at_speeds,
    band_average,
    bin_curve,
    figures,
    power_disagreement,
    raw_peaks,
    scaled,
)
from logbook.refusals import BadInput


def _torque(speed: Array) -> Array:
    """A torque curve whose best is 400 N·m at 4500 rpm."""
    return 400 - 3e-5 * (speed - 4500) ** 2


def _sweep(samples: int = 350, seed: int = 1) -> Array:
    wander = np.random.default_rng(seed).normal(0, 2, samples)
    return np.linspace(2990, 6510, samples) + wander


def test_a_table_on_an_even_grid_stands_as_it_is() -> None:
    speed = np.arange(3000, 6001, 100.0)
    curve = bin_curve(speed, _torque(speed), None)
    np.testing.assert_array_equal(curve.speed_rpm, speed)
    np.testing.assert_array_equal(curve.torque_nm, _torque(speed))


def test_a_table_written_from_the_top_down_is_the_same_table() -> None:
    speed = np.arange(3000, 6001, 100.0)
    down = bin_curve(speed[::-1], _torque(speed)[::-1], None)
    np.testing.assert_array_equal(down.speed_rpm, speed)
    np.testing.assert_array_equal(down.torque_nm, _torque(speed))


def test_a_grid_finer_than_a_wanted_step_is_binned() -> None:
    speed = np.arange(3000, 6001, 10.0)
    curve = bin_curve(speed, _torque(speed), None, step_rpm=100)
    assert set(np.diff(curve.speed_rpm)) == {100.0}


def test_a_sweep_is_averaged_in_bins_of_fifty_rpm() -> None:
    speed = _sweep()
    curve = bin_curve(speed, _torque(speed), None)
    assert curve.speed_rpm[0] == 3000
    assert set(np.diff(curve.speed_rpm)) == {50.0}
    np.testing.assert_allclose(curve.torque_nm, _torque(curve.speed_rpm), atol=0.02)
    np.testing.assert_allclose(
        curve.power_kw, power_kw(1, 1) * curve.torque_nm * curve.speed_rpm, rtol=1e-4
    )


@pytest.mark.parametrize(("samples", "step"), [(350, 50), (120, 100), (60, 200), (45, 250)])
def test_thinner_samples_get_wider_bins(samples: int, step: float) -> None:
    speed = _sweep(samples)
    assert set(np.diff(bin_curve(speed, _torque(speed), None).speed_rpm)) == {step}


def test_points_too_thin_for_bins_stand_sorted_and_equal_speeds_are_averaged() -> None:
    speed = np.array([4000.0, 2500.0, 3100.0, 4000.0])
    curve = bin_curve(speed, np.array([400.0, 300.0, 350.0, 402.0]), None)
    np.testing.assert_array_equal(curve.speed_rpm, [2500, 3100, 4000])
    np.testing.assert_allclose(curve.torque_nm, [300, 350, 401])


def test_an_edge_bin_half_filled_is_dropped_and_a_fuller_one_kept() -> None:
    speed = np.concatenate((np.arange(3001, 3974, 3.0), [3974.5]))
    curve = bin_curve(speed, _torque(speed), None, step_rpm=50)
    assert curve.speed_rpm[0] == 3050  # 3001–3025 is less than half of 2975–3025
    assert curve.speed_rpm[-1] == 3950  # 3925–3974.5 is nearly all of 3925–3975


def test_unevenly_filled_bins_do_not_bend_the_curve() -> None:
    """Samples that crowd at one side of a bin are carried to its center along the slope."""
    speed = np.sort(
        np.concatenate([k * 100.0 + np.array([-49, -45, -40, 0.0]) for k in range(30, 60)])
    )
    curve = bin_curve(speed, 0.05 * speed + 100, None, step_rpm=100)
    np.testing.assert_allclose(curve.torque_nm, 0.05 * curve.speed_rpm + 100, rtol=1e-9)


def test_gaps_and_missing_samples_do_not_matter() -> None:
    speed = _sweep()
    torque = _torque(speed)
    torque[100:105] = np.nan
    speed[200] = np.nan
    curve = bin_curve(speed, torque, None)
    np.testing.assert_allclose(curve.torque_nm, _torque(curve.speed_rpm), atol=0.1)


def test_torque_follows_from_power_where_only_power_was_recorded() -> None:
    speed = np.arange(3000, 6001, 100.0)
    from_torque = bin_curve(speed, _torque(speed), None)
    from_power = bin_curve(speed, None, from_torque.power_kw)
    np.testing.assert_allclose(from_power.torque_nm, _torque(speed))


@pytest.mark.parametrize(
    ("speed", "torque", "said"),
    [
        ([3000.0, 4000.0], None, "neither torque nor power"),
        ([3000.0, 4000.0], [1.0], "2 speeds and 1 values"),
        ([3000.0, np.nan], [1.0, 2.0], "1 usable samples make no curve"),
        ([0.0, -5.0], [1.0, 2.0], "0 usable samples"),
        (list(np.linspace(3001, 3049, 40) ** 1.0001), [1.0] * 40, "less than two bins"),
    ],
)
def test_what_makes_no_curve_is_refused(
    speed: list[float], torque: list[float] | None, said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        bin_curve(np.array(speed), None if torque is None else np.array(torque), None)


def test_the_band_average_is_weighted_by_speed_and_interpolated_at_the_edges() -> None:
    speed = np.array([1000.0, 2000.0, 2500.0, 4000.0])
    values = np.array([10.0, 20.0, 10.0, 40.0])
    # 17.5 from 1500 to 2000, 15 to 2500, 15 to 3000, each over 500 rpm
    assert band_average(speed, values, 1500, 3000) == pytest.approx((17.5 + 15 + 15) / 3)


@given(
    st.floats(min_value=1000, max_value=5900),
    st.floats(min_value=10, max_value=4000),
    st.floats(min_value=-0.1, max_value=0.1),
    st.floats(min_value=-500, max_value=500),
)
def test_the_average_of_a_straight_line_is_its_middle(
    low: float, width: float, slope: float, level: float
) -> None:
    high = min(low + width, 6000.0)
    speed = np.array([1000.0, 1300.0, 2700.0, 4444.0, 6000.0])
    average = band_average(speed, slope * speed + level, low, high)
    assert average == pytest.approx(slope * (low + high) / 2 + level, abs=1e-6)


@pytest.mark.parametrize("band", [(900, 3000), (2000, 6001), (3000, 3000), (4000, 3000)])
def test_a_band_that_is_not_covered_has_no_average(band: tuple[float, float]) -> None:
    speed = np.array([1000.0, 6000.0])
    assert band_average(speed, speed, *band) is None


def test_a_band_the_samples_reached_is_covered_though_the_edge_bin_was_dropped() -> None:
    speed = np.linspace(3000, 6000, 401) + np.sin(np.arange(401)) * 1e-2
    curve = bin_curve(speed, 0.05 * speed + 100, None, step_rpm=50)
    assert curve.speed_rpm[0] == 3050
    low, high = curve.reach_rpm
    found = figures(curve, (low, high))
    assert found.band_torque_nm == pytest.approx(0.05 * (low + high) / 2 + 100, rel=1e-9)
    assert figures(curve, (low - 1, high)).band_torque_nm is None


def test_peaks_are_read_off_the_bins_and_raw_ones_stand_beside() -> None:
    speed = _sweep()
    torque = _torque(speed)
    torque[170] += 30  # a spike
    binned = figures(bin_curve(speed, torque, None), None)
    raw = raw_peaks(speed, torque, None)
    assert raw.peak_torque_nm == pytest.approx(torque[170])
    assert binned.peak_torque_nm is not None
    assert raw.peak_torque_nm is not None
    assert binned.peak_torque_nm < raw.peak_torque_nm - 15
    assert binned.band_power_kw is None
    assert raw.peak_power_rpm is not None


@given(st.floats(min_value=0.8, max_value=1.3))
def test_correcting_a_curve_scales_every_figure(factor: float) -> None:
    speed = _sweep()
    curve = bin_curve(speed, _torque(speed), None)
    before, after = figures(curve, (3500, 6000)), figures(scaled(curve, factor), (3500, 6000))
    assert after.peak_power_rpm == before.peak_power_rpm
    assert after.peak_torque_rpm == before.peak_torque_rpm
    for name in ("peak_power_kw", "peak_torque_nm", "band_power_kw", "band_torque_nm"):
        assert getattr(after, name) == pytest.approx(factor * getattr(before, name))


def test_a_curve_is_read_at_other_speeds_and_nowhere_beyond_its_ends() -> None:
    speed = np.array([3000.0, 4000.0])
    curve = at_speeds(
        bin_curve(speed, np.array([100.0, 200.0]), None), np.array([2900.0, 3500.0, 4000.0, 4100.0])
    )
    np.testing.assert_array_equal(curve.torque_nm, [np.nan, 150, 200, np.nan])


def test_power_that_agrees_with_torque_disagrees_nowhere() -> None:
    speed = np.arange(3000, 6001, 100.0)
    torque = _torque(speed)
    apart = power_disagreement(speed, torque, power_kw(1, 1) * torque * speed)
    assert apart.max_kw == pytest.approx(0, abs=1e-9)
    assert apart.percent == pytest.approx(0, abs=1e-9)


def test_the_worst_disagreement_is_found_where_it_is() -> None:
    speed = np.arange(3000, 6001, 100.0)
    torque = _torque(speed)
    power = power_kw(1, 1) * torque * speed
    power[20] *= 1.02
    apart = power_disagreement(speed, torque, power)
    assert apart.at_rpm == 5000
    assert apart.percent == pytest.approx(100 * 0.02 / 1.02)
    assert 0 < apart.mean_percent < 0.1
