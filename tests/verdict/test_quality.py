"""Pull quality: every check fires on its fault, passes without it, and brings its number."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.verdict import channel_quality as channel
from logbook.verdict import quality

SPEED = np.linspace(3000.0, 7000.0, 201)
TORQUE = 400.0 - ((SPEED - 5000.0) / 150.0) ** 2
BAND = (4000.0, 6500.0)
RNG = np.random.default_rng(4)


def test_the_band_is_covered() -> None:
    whole, part = channel.band_covered(SPEED, BAND), channel.band_covered(SPEED[:151], BAND)
    assert whole.passed
    assert whole.value == pytest.approx(100.0)
    assert not part.passed
    assert part.value == pytest.approx(80.0)
    assert part.unit == "%"


def test_speed_rises_steadily() -> None:
    assert channel.speed_steady(SPEED + RNG.normal(0.0, 1.0, 201)).passed
    surging = SPEED + 150.0 * np.sin(np.arange(201) / 3.0)
    assert not channel.speed_steady(surging).passed
    assert not channel.speed_steady(SPEED[::-1]).passed


@pytest.mark.parametrize("rate_hz", [10, 100, 1000])
def test_noise_of_the_speed_is_no_falling_back(rate_hz: int) -> None:
    """15 s from 3000 to 7000 rpm, noise of 6 rpm; then surging by 60 rpm once in a second."""
    time = np.arange(0.0, 15.0, 1.0 / rate_hz)
    speed = 3000.0 + 4000.0 * time / 15.0 + RNG.normal(0.0, 6.0, time.size)
    assert channel.speed_steady(speed).passed
    assert not channel.speed_steady(speed + 60.0 * np.sin(2.0 * np.pi * time)).passed


def test_the_throttle_is_full_open() -> None:
    throttle = np.full(201, 99.0)
    full = channel.throttle_open(throttle, SPEED, BAND)
    throttle[100] = 88.0
    lifted = channel.throttle_open(throttle, SPEED, BAND)
    assert full is not None
    assert full.passed
    assert lifted is not None
    assert not lifted.passed
    assert lifted.value == 88.0
    assert channel.throttle_open(np.full(201, np.nan), SPEED, BAND) is None


def test_a_sweep_rate_that_swallows_torque_counts_by_the_torque() -> None:
    """J = 0.35 kg·m²; 20 rpm/s more swallow 0.73 N·m, 0.18 % of 400 N·m."""
    rate = quality.sweep_rate(
        320.0, 300.0, inertia_kg_m2=0.35, corrected_for_inertia=False, torque_nm=400.0
    )
    assert rate.value == pytest.approx(100 * 0.35 * 20 * np.pi / 30 / 400)
    assert not rate.passed
    corrected = quality.sweep_rate(
        320.0, 300.0, inertia_kg_m2=0.35, corrected_for_inertia=True, torque_nm=400.0
    )
    assert corrected.passed
    assert corrected.value == pytest.approx(100.0 / 15.0)
    unknown = quality.sweep_rate(
        360.0, 300.0, inertia_kg_m2=None, corrected_for_inertia=False, torque_nm=400.0
    )
    assert not unknown.passed


def test_temperatures_in_the_window_and_near_the_baselines() -> None:
    inside, cold = quality.in_window("oil", 90.0, 82.0, 104.0), quality.in_window(
        "oil", 75.0, 82.0, 104.0
    )  # fmt: skip
    assert inside is not None
    assert inside.passed
    assert cold is not None
    assert (cold.passed, cold.value) == (False, 7.0)
    assert quality.in_window("oil", 75.0, None, None) is None
    assert quality.near_baseline("oil", 95.0, 91.0).passed
    assert not quality.near_baseline("oil", 98.0, 91.0).passed
    assert not quality.near_baseline("coolant", 84.0, 80.0).passed
    rest = quality.near_baseline("rest", 14.0, 5.0)
    assert (rest.passed, rest.value, rest.unit) == (False, 9.0, "min")


def test_air_that_is_stale_or_moving() -> None:
    assert quality.air_age(12.0, 15.0).passed
    assert not quality.air_age(16.0, 15.0).passed
    pressure, temperature = quality.air_moving(98.0, 26.0, 98.3, 25.0)
    assert not pressure.passed
    assert pressure.value == pytest.approx(-0.3)
    assert temperature.passed


def test_factor_zero_and_power() -> None:
    assert quality.factor_in_range(1.028, 0.93, 1.07).passed
    assert quality.factor_in_range(1.09, 0.93, 1.07).value == pytest.approx(0.02)
    assert quality.zero_shift(0.1, 0.4, 400.0).passed
    shifted = quality.zero_shift(0.0, 0.5, 400.0)
    assert (shifted.passed, shifted.value) == (False, pytest.approx(0.125))
    assert quality.power_agrees(57.0, 56.9).passed
    assert not quality.power_agrees(57.13, 56.81).passed


def test_spikes_stand_out_and_noise_does_not() -> None:
    noisy = TORQUE + RNG.normal(0.0, 0.8, 201)
    clean = channel.spikes("Torque", noisy)
    noisy[[50, 120]] += 40.0
    spiked = channel.spikes("Torque", noisy)
    assert clean is not None
    assert clean.passed
    assert spiked is not None
    assert spiked.value == 2.0
    assert channel.spikes("Torque", TORQUE[:5]) is None


def test_flat_lined_and_clipped_channels() -> None:
    fine = channel.flat_line("Torque", TORQUE)
    clipped = channel.flat_line("Torque", np.minimum(TORQUE, 380.0))
    stuck = TORQUE.copy()
    stuck[20:60] = stuck[20]
    flat = channel.flat_line("Torque", stuck)
    assert fine is not None
    assert fine.passed
    assert clipped is not None
    assert "clipped at 380" in clipped.text
    assert flat is not None
    assert not flat.passed
    assert flat.value == 40.0
    assert channel.flat_line("Lambda", np.full(50, 1.0)) is None


def test_gaps_and_missing_samples() -> None:
    whole = channel.gaps(SPEED)
    holed = channel.gaps(np.concatenate([SPEED[:80], SPEED[110:]]))
    assert whole is not None
    assert whole.passed
    assert holed is not None
    assert not holed.passed
    assert holed.value == pytest.approx(620.0)
    lacking = np.where(np.arange(201) % 50 == 0, np.nan, TORQUE)
    assert channel.missing("Torque", lacking).value == 5.0
    assert channel.missing("Torque", TORQUE).passed


def test_a_channel_without_values_is_refused() -> None:
    with pytest.raises(ValueError, match="no values"):
        channel.band_covered(np.full(4, np.nan), BAND)


def rate(rate_rpm_s: float, inertia: float | None) -> bool:
    """Whether a sweep of this rate passes beside a baseline of 300 rpm/s and 400 N·m."""
    return quality.sweep_rate(
        rate_rpm_s, 300.0, inertia_kg_m2=inertia, corrected_for_inertia=False, torque_nm=400.0
    ).passed


def moved(kpa: float, kelvin: float) -> tuple[bool, bool]:
    pressure, temperature = quality.air_moving(98.0 + kpa, 25.0 + kelvin, 98.0, 25.0)
    return pressure.passed, temperature.passed


# Common practice, no source, but for those that the trade agrees on: each limit from both sides.
@pytest.mark.parametrize(
    ("passed", "failed"),
    [
        # 0.35 kg·m² swallow 0.1 % of 400 N·m at 10.91 rpm/s more.
        (rate(310.8, 0.35), rate(311.1, 0.35)),
        (rate(329.0, None), rate(331.0, None)),
        *(
            (
                quality.near_baseline(name, 80.0 + limit - 0.1, 80.0).passed,
                quality.near_baseline(name, 80.0 - limit - 0.1, 80.0).passed,
            )
            for name, limit in (("oil", 5.6), ("coolant", 2.8), ("rest", 5.0))
        ),
        (moved(0.09, 0.0)[0], moved(-0.11, 0.0)[0]),
        (moved(0.0, 1.9)[1], moved(0.0, -2.1)[1]),
        (quality.zero_shift(0.0, 0.39, 400.0).passed, quality.zero_shift(0.0, 0.41, 400.0).passed),
        (quality.power_agrees(100.45, 100.0).passed, quality.power_agrees(99.45, 100.0).passed),
    ],
)
def test_every_limit_of_a_reading_lies_where_it_is_said_to_lie(passed: bool, failed: bool) -> None:
    assert (passed, failed) == (True, False)


def test_how_far_speed_may_fall_back_and_the_throttle_be_short_of_open() -> None:
    """2 % of the rise; 97 % of throttle."""
    for fall, passed in ((78.0, True), (84.0, False)):
        speed = np.concatenate([SPEED[:101:2], [5000.0 - fall], SPEED[102::2]])
        assert channel.speed_steady(speed).passed is passed
    for open_percent, passed in ((97.0, True), (96.9, False)):
        found = channel.throttle_open(np.full(201, open_percent), SPEED, BAND)
        assert found is not None
        assert found.passed is passed


def test_how_far_a_sample_may_stand_out() -> None:
    """A hundredth of a smooth channel's height; five scaled deviations of a rough one."""
    for out, count in ((3.8, 0.0), (4.2, 1.0)):
        smooth = 400.0 - ((SPEED - 5000.0) / 1500.0) ** 2
        smooth[100] += out
        found = channel.spikes("Torque", smooth)
        assert found is not None
        assert found.value == count
    # Turn and turn about: every sample lies 2 from the median of seven, so that 5·1.4826·2 = 14.8.
    for out, count in ((12.5, 0.0), (13.2, 1.0)):
        rough = 10.0 + np.where(np.arange(60) % 2 == 0, 1.0, -1.0)
        rough[30] += out
        found = channel.spikes("Lambda", rough)
        assert found is not None
        assert found.value == count


def test_how_long_a_channel_may_stand_still_and_how_wide_a_gap_may_be() -> None:
    """Eight equal samples; four usual steps, and a bin of 100 rpm."""
    for run, passed in ((7, True), (8, False)):
        still = TORQUE.copy()
        still[40 : 40 + run] = still[40]
        found = channel.flat_line("Torque", still)
        assert found is not None
        assert found.passed is passed
    for step, wide, passed in ((50.0, 195.0, True), (50.0, 205.0, False),
                               (5.0, 95.0, True), (5.0, 105.0, False)):  # fmt: skip
        low = 3000.0 + step * np.arange(20)
        found = channel.gaps(np.concatenate([low, low[-1] + wide + step * np.arange(20)]))
        assert found is not None
        assert found.passed is passed
