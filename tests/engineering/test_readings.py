"""One figure of a recorded channel: near a speed, or over the band."""

from __future__ import annotations

import numpy as np

from logbook.engineering.readings import channel_at, channel_mean

SPEED = np.array([3880.0, 3905.0, 4000.0, 4095.0, 4125.0, 4500.0])
VALUES = np.array([9.0, 1.0, 2.0, 3.0, 9.0, np.nan])


def test_a_channel_at_a_speed_is_the_mean_of_a_hundred_rpm_either_way() -> None:
    assert channel_at(SPEED, VALUES, 4000.0) == 2.0


def test_the_nearest_sample_that_has_a_value_stands_in() -> None:
    assert channel_at(SPEED, VALUES, 4500.0) == 9.0
    assert channel_at(SPEED, np.full(6, np.nan), 4000.0) is None


def test_a_mean_over_the_band_holds_what_lies_in_it_ends_and_all() -> None:
    assert channel_mean(SPEED, VALUES, (3905.0, 4095.0)) == 2.0
    assert channel_mean(SPEED, VALUES, None) == 24.0 / 5.0
    assert channel_mean(SPEED, VALUES, (5000.0, 6000.0)) is None
