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
