"""Control limits and trends: what they say and when they say nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.refusals import BadInput
from logbook.verdict.control import individuals, trend

values = st.lists(st.floats(-1e3, 1e3), min_size=5, max_size=30)
STEADY = [50.0, 51.0, 50.5, 49.5, 50.2, 49.8, 50.6, 50.1]


def test_one_wild_value_is_beyond_the_limits_and_a_jump() -> None:
    found = individuals([*STEADY, 60.0, *STEADY])
    assert found.beyond == (8,)
    assert found.jumps == (8, 9)


def test_a_lasting_shift_is_seen_though_every_value_is_within() -> None:
    found = individuals([10.0, 10.4, 9.8, 10.1, 9.9, 10.3, 10.0, 9.7] + [10.9, 11.2] * 5)
    assert not found.beyond
    assert found.shifted


@given(st.floats(-1e3, 1e3), st.integers(8, 30), st.integers(8, 30))
def test_what_never_moves_has_not_shifted(value: float, first: int, then: int) -> None:
    """A mean is rounded: 0.1 twelve times does not lie on one side of its center."""
    found = individuals([value] * (first + then), [0] * first + [1] * then)
    assert found.beyond == found.jumps == found.shifted == ()


def test_eight_in_a_row_are_a_shift_and_seven_are_none() -> None:
    """The Western Electric rule as the handbook prints it (section 6.3.2): eight in a row."""
    sides = [-1.0, 1.0] * 4
    seven, eight = (individuals([*sides, *[-0.5] * n, *[0.5] * n]) for n in (7, 8))
    assert seven.shifted == ()
    assert eight.shifted == (15, 23)


def test_limits_and_widest_step_as_the_handbook_has_them() -> None:
    """Steps of 1: limits 3/1.128 from the center; a step is too wide beyond 3.267 mean steps."""
    found = individuals([10.0, 11.0] * 4)
    assert found.high is not None
    assert found.high - found.center == pytest.approx(2.6596, abs=1e-4)
    for last, jumps in ((14.9, ()), (16.0, (8,))):
        # Mean steps (7 + 3.9)/8 and (7 + 5)/8, so that 4.45 and 4.90 are allowed.
        assert individuals([*[10.0, 11.0] * 4, last]).jumps == jumps


def test_limits_need_five_values() -> None:
    four, five = individuals(STEADY[:4]), individuals(STEADY[:5])
    assert (four.low, four.high) == (None, None)
    assert five.low is not None
    times = [0.0, 0.5, 1.0, 1.5, 2.0]
    assert trend(times[:4], [1.0, 2.0, 3.0, 4.0]) is None
    assert trend(times, [1.0, 2.0, 3.0, 4.0, 5.0]) is not None


def test_a_handful_has_a_center_but_no_limits() -> None:
    found = individuals([3.0, 5.0])
    assert (found.center, found.low, found.high) == (4.0, None, None)
    assert trend([0, 1], [3.0, 5.0]) is None
    with pytest.raises(BadInput, match="finite"):
        individuals([])


def test_no_time_between_the_values_makes_no_trend() -> None:
    assert trend([2.0] * 6, STEADY[:6]) is None


@given(values, st.floats(0.1, 5.0), st.floats(-100, 100))
def test_limits_go_with_the_unit(data: list[float], times: float, shift: float) -> None:
    once = individuals(data)
    more = individuals([v * times + shift for v in data])
    assert once.low is not None
    assert once.high is not None
    assert more.low == pytest.approx(once.low * times + shift, abs=1e-6)
    assert more.high == pytest.approx(once.high * times + shift, abs=1e-6)
    assert once.low <= once.center <= once.high


def test_a_wear_is_a_trend_and_a_wobble_is_none() -> None:
    years = [0.0, 0.5, 1.1, 1.8, 2.2, 3.0]
    falling = trend(years, [300.0, 299.1, 298.0, 296.9, 296.2, 294.0])
    assert falling is not None
    assert falling.word == "falls"
    assert falling.low <= -2.0 <= falling.high
    wobble = trend(years, STEADY[:6])
    assert wobble is not None
    assert wobble.word == "no trend shown"


@given(st.lists(st.integers(-9, 9), min_size=6, max_size=12), st.integers(-900, 900))
def test_how_far_two_parts_lie_apart_changes_nothing(data: list[int], apart: int) -> None:
    """Only what stands within a part counts: the limits are about the last part's own mean."""
    half = len(data) // 2
    part = [0] * half + [1] * (len(data) - half)
    times = [0.5 * n for n in range(len(data))]
    near = individuals(data, part)
    far = individuals([v + apart for v in data[:half]] + data[half:], part)
    assert far.mean_range == pytest.approx(near.mean_range, abs=1e-9)
    assert far.low == pytest.approx(near.low, abs=1e-9)
    assert far.ranges == len(data) - 2
    slope, other = (
        trend(times, [v + shift for v in data[:half]] + data[half:], part) for shift in (0, apart)
    )
    assert (slope is None) == (other is None)
    if slope is not None and other is not None:
        assert other.slope == pytest.approx(slope.slope, abs=1e-6)


def test_a_step_between_parts_is_no_trend_but_wear_in_each_of_them_is() -> None:
    times = [float(n) for n in range(12)]
    part = [0] * 6 + [1] * 6
    wear = [n + (10.0 if n < 6 else 0.0) for n in range(12)]
    found = trend(times, wear, part)
    assert found is not None
    assert (found.slope, found.word) == (1.0, "rises")
    assert trend([0.0, 1.0, 2.0, 3.0, 4.0], [1, 2, 5, 6, 7], [0, 0, 1, 1, 1]) is None
