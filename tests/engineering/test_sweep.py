"""Time logs: the rising loaded part, the rate, inertia, steady steps."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering.sweep import (
    Array,
    exceeded,
    rising_part,
    rising_parts,
    speed_rate,
    steady_parts,
    step_means,
    with_inertia,
)
from logbook.refusals import BadInput


def _log(step_s: float = 0.02, noise_rpm: float = 8.0) -> tuple[Array, Array, Array]:
    """Idle to 8 s, run up unloaded, hold at 3000 rpm, sweep 18–30 s, hold, run down."""
    time = np.arange(0, 60, step_s)
    chance = np.random.default_rng(2)
    speed = np.interp(
        time, [0, 8, 10, 18, 30, 33, 40, 60], [1000, 1000, 3000, 3000, 6500, 6500, 1000, 1000]
    )
    torque = np.interp(time, [0, 8, 10, 10.5, 33, 33.2, 60], [10, 10, 20, 300, 320, -30, 10])
    return (
        time,
        speed + chance.normal(0, noise_rpm, len(time)),
        torque + chance.normal(0, 4, len(time)),
    )


@pytest.mark.parametrize(
    ("step_s", "noise_rpm"), [(0.02, 8.0), (0.1, 8.0), (0.02, 0.0), (0.01, 25.0)]
)
def test_idle_holds_and_run_down_are_left_out(step_s: float, noise_rpm: float) -> None:
    time, speed, torque = _log(step_s, noise_rpm)
    first, last = rising_part(time, speed, torque)
    assert time[first] == pytest.approx(18, abs=0.6)
    assert time[last] == pytest.approx(30, abs=0.6)


def test_without_a_load_channel_the_longest_rise_is_taken() -> None:
    time, speed, _ = _log()
    first, last = rising_part(time, speed, None)
    assert time[first] < 18
    assert time[last] == pytest.approx(30, abs=0.6)


def test_of_two_loaded_sweeps_the_longer_rise_is_taken() -> None:
    time = np.arange(0, 30, 0.05)
    speed = np.interp(time, [0, 5, 8, 20, 30], [3000, 4000, 3000, 6000, 3000])
    first, last = rising_part(time, speed, np.full(len(time), 300.0))
    assert time[first] == pytest.approx(8, abs=0.3)
    assert time[last] == pytest.approx(20, abs=0.3)


def test_a_plain_sweep_is_taken_whole() -> None:
    speed = np.linspace(3000, 6000, 61)
    assert rising_part(None, speed, np.full(61, 300.0)) == (0, 60)


def test_missing_speeds_are_bridged() -> None:
    speed = np.linspace(3000, 6000, 61)
    speed[[0, 30]] = np.nan
    first, last = rising_part(None, speed, np.full(61, 300.0))
    assert first <= 1
    assert last == 60


@pytest.mark.parametrize(
    ("speed", "said"),
    [
        (np.array([1.0, 2.0]), "fewer than three speeds"),
        (np.full(50, np.nan), "fewer than three speeds"),
        (np.full(50, 3000.0), "rises by no more than 0 rpm"),
        (np.zeros(50), "rises by no more than 0 rpm"),
        (np.linspace(6000, 3000, 50), "rises by no more than"),
    ],
)
def test_a_log_without_a_sweep_is_refused(speed: Array, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        rising_part(None, speed, None)


@given(
    st.lists(st.floats(min_value=-1e5, max_value=1e5), min_size=0, max_size=60),
    st.booleans(),
)
def test_any_log_gives_a_part_of_itself_or_a_sentence(speeds: list[float], loaded: bool) -> None:
    speed = np.array(speeds, dtype=np.float64)
    try:
        first, last = rising_part(None, speed, speed if loaded else None)
    except BadInput:
        return
    assert 0 <= first < last < len(speed)
    assert speed[last] > speed[first]


@given(st.floats(min_value=-800, max_value=800), st.floats(min_value=0.005, max_value=0.2))
def test_the_rate_of_a_steady_sweep_is_its_slope(rate: float, step_s: float) -> None:
    time = np.arange(40) * step_s + 100
    np.testing.assert_allclose(speed_rate(time, 4000 + rate * time), rate, atol=1e-5)


def test_a_rate_needs_two_samples_with_different_times() -> None:
    assert np.isnan(speed_rate(np.array([1.0]), np.array([3000.0]))).all()
    assert np.isnan(speed_rate(np.array([1.0, 1.0]), np.array([3000.0, 3100.0]))).all()


def test_inertia_is_added_to_the_measured_torque() -> None:
    time = np.arange(0, 10, 0.02)
    found = with_inertia(time, 3000 + 300 * time, np.full(len(time), 100.0), 0.5)
    np.testing.assert_allclose(found, 100 + 0.5 * 300 * 2 * math.pi / 60)


def test_a_held_speed_needs_no_inertia_term() -> None:
    time = np.arange(0, 10, 0.02)
    found = with_inertia(time, np.full(len(time), 3000.0), np.full(len(time), 100.0), 0.5)
    np.testing.assert_allclose(found, 100)


def test_steady_steps_become_one_settled_stretch_each() -> None:
    time = np.arange(0, 60, 0.02)
    speed = np.interp(
        time, [0, 5, 7, 20, 22, 35, 37, 60], [3000, 3000, 4000, 4000, 5000, 5000, 6000, 6000]
    ) + np.random.default_rng(3).normal(0, 5, len(time))
    parts = steady_parts(time, speed)
    np.testing.assert_allclose(step_means(speed, parts), [3000, 4000, 5000, 6000], atol=2)
    assert all(first < last for first, last in parts)


def test_a_step_without_values_has_no_mean() -> None:
    values = np.array([1.0, 3.0, np.nan, np.nan])
    np.testing.assert_array_equal(step_means(values, ((0, 1), (2, 3))), [2.0, np.nan])


def test_a_continuous_sweep_has_no_steady_part() -> None:
    time = np.arange(0, 10, 0.02)
    assert steady_parts(time, 3000 + 300 * time) == ()


def _pulls(clock: Array | None = None) -> tuple[Array, Array, Array]:
    """Two pulls and a blip of the throttle between them."""
    time = np.arange(0, 40, 0.05)
    at = [0, 5, 15, 16, 19, 20, 21, 24, 34, 35, 40]
    speed = np.interp(time, at, [900, 3000, 6000, 3000, 3000, 4000, 3000, 3000, 6200, 900, 900])
    torque = np.where((speed > 2900) & (np.gradient(speed) >= 0), 300.0, 5.0)
    return (time if clock is None else clock), speed, torque


def test_all_pulls_of_a_log_are_found_and_a_blip_is_none() -> None:
    time, speed, torque = _pulls()
    parts = rising_parts(time, speed, torque)
    assert [(time[a], time[b]) for a, b in parts] == [
        pytest.approx((5, 15), abs=0.3), pytest.approx((24, 34), abs=0.3),
    ]  # fmt: skip


def test_a_clock_that_is_set_back_parts_the_log() -> None:
    time, speed, _torque = _pulls()
    rising = (time > 5) & (time < 15)
    twice = np.concatenate([speed[rising], speed[rising] + 3500.0])  # would be one long rise
    clock = np.concatenate([time[rising], time[rising]])
    parts = rising_parts(clock, twice, np.full(len(twice), 300.0))
    assert len(parts) == 2
    assert len(rising_parts(None, twice, np.full(len(twice), 300.0))) == 1


def test_all_pulls_of_an_evening_at_a_kilohertz_are_found() -> None:
    """Of so many samples noise and load are reckoned from some."""
    time, speed, torque = _log(0.001, 8.0)
    evenings = [np.tile(values, 3) for values in (speed, torque)]
    parts = rising_parts(np.arange(3 * len(time)) * 0.001, *evenings)
    assert [time[first % len(time)] for first, _ in parts] == pytest.approx([18] * 3, abs=0.6)
    assert [time[last % len(time)] for _, last in parts] == pytest.approx([30] * 3, abs=0.6)


@given(
    st.integers(1, 40_000),
    st.sampled_from([0.005, 0.02, 0.05]),
    st.sampled_from([0.0, 0.003, 0.3]),
    st.integers(0, 99),
)
def test_what_few_samples_exceed_is_their_percentile(
    count: int, share: float, loaded: float, seed: int
) -> None:
    """numpy's percentile orders all of them and must come to the same."""
    chance = np.random.default_rng(seed)
    load = np.round(chance.normal(5.0, 3.0, count), 1)
    load[: int(loaded * count)] += 300.0
    assert exceeded(load, share) == pytest.approx(np.percentile(load, 100 * (1 - share)))


@given(st.integers(1, 4), st.floats(0.02, 0.3), st.floats(-100, 100), st.integers(0, 5))
def test_as_many_parts_as_pulls_whatever_the_rate_and_the_start(
    count: int, step: float, start: float, seed: int
) -> None:
    chance = np.random.default_rng(seed)
    at = [0.0, 3.0]
    rpm = [1000.0, 1000.0]
    for _ in range(count):
        at += [at[-1] + 1, at[-1] + 11, at[-1] + 13]
        rpm += [3000.0, 6000.0, 1000.0]
    time = np.cumsum(step * chance.uniform(0.7, 1.3, int(at[-1] / step)))
    speed = np.interp(time, at, rpm)
    load = np.where(np.interp(time, at, [0, 0, *[1, 1, 0] * count]) > 0.9, 250.0, 0.0)
    parts = rising_parts(time + start, speed, load)
    assert len(parts) == count
    assert all(b > a for a, b in parts)
    assert all(first[1] < second[0] for first, second in pairwise(parts))


def _rises(*ends: tuple[float, float]) -> Array:
    """Straight rises one after another, a hundred samples each."""
    return np.concatenate([np.linspace(low, high, 101) for low, high in ends])


@pytest.mark.parametrize(("low", "taken"), [(5730.0, False), (5670.0, True)])
def test_a_rise_of_less_than_a_twentieth_is_no_sweep(low: float, taken: bool) -> None:
    if taken:
        assert rising_part(None, _rises((low, 6000.0))) == (0, 100)
    else:
        with pytest.raises(BadInput, match="no more than 270 rpm"):
            rising_part(None, _rises((low, 6000.0)))


# Of how many pulls a log is: each rule from both sides of where it lies.
@pytest.mark.parametrize(
    ("speed", "load", "count"),
    [
        # A rise is a pull from half of the longest on.
        (_rises((3000.0, 6000.0), (3000.0, 4450.0)), None, 1),
        (_rises((3000.0, 6000.0), (3000.0, 4550.0)), None, 2),
        # A dip of up to 1 % of the speed range belongs to the rise.
        (_rises((3000.0, 4500.0), (4473.0, 6000.0)), None, 1),
        (_rises((3000.0, 4500.0), (4467.0, 6000.0)), None, 2),
        # Loaded is what has a quarter of the highest load.
        (_rises((3000.0, 6000.0), (3000.0, 6000.0)), 0.23, 1),
        (_rises((3000.0, 6000.0), (3000.0, 6000.0)), 0.27, 2),
    ],
)
def test_how_many_pulls_there_are(speed: Array, load: float | None, count: int) -> None:
    half = len(speed) // 2
    loads = None if load is None else np.repeat([300.0, 300.0 * load], half)
    assert len(rising_parts(None, speed, loads)) == count


@pytest.mark.parametrize(
    ("step", "pause", "count"), [(0.05, 0.95, 1), (0.05, 1.05, 2), (0.2, 1.9, 1), (0.2, 2.1, 2)]
)
def test_a_pause_in_the_recording_of_a_second_and_ten_samples_parts_it(
    step: float, pause: float, count: int
) -> None:
    first = np.arange(100) * step
    time = np.concatenate([first, first[-1] + pause + first])
    assert len(rising_parts(time, np.linspace(3000.0, 6000.0, 200))) == count


def test_a_rate_looks_a_quarter_of_a_second_either_way() -> None:
    time = np.arange(0, 10, 0.05)
    rate = speed_rate(time, 3000.0 + 100.0 * np.maximum(time - 5.0, 0.0))
    assert rate[94] == pytest.approx(0.0, abs=1e-6)  # 4.70 s, up to 4.95 s
    assert rate[96] > 1.0  # 4.80 s, up to 5.05 s


@pytest.mark.parametrize(
    ("seconds", "rpm_s", "steps"), [(2.1, 0.0, 1), (1.95, 0.0, 0), (6.0, 28.0, 1), (6.0, 33.0, 0)]
)
def test_a_speed_is_held_for_two_seconds_within_a_hundredth_a_second(
    seconds: float, rpm_s: float, steps: int
) -> None:
    time = np.arange(0, seconds, 0.02)
    assert len(steady_parts(time, 3000.0 + rpm_s * time)) == steps
