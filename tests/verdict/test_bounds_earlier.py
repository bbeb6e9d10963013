"""What earlier sessions permit and forbid today; every lapse has its test."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.records.pull import ALARMS, KNOCK_HEARD, KNOCK_NONE, KNOCK_UNKNOWN
from logbook.verdict.bounds import Bounds, TimedPull, bounds
from logbook.verdict.conditions import Conditions, lapsed, lapsed_since

NOW = Conditions(
    "build 3", "drum 12", "jets 72", 0.88, air_c=24.0, coolant_c=80.0, air_kpa=96.0, vapor_kpa=1.2
)
TODAY = [TimedPull(30.0, KNOCK_UNKNOWN, NOW)]


def permitted(*earlier: TimedPull, pulls: list[TimedPull] = TODAY, limit: float = 40.0) -> Bounds:
    return bounds(
        pulls, NOW, present_deg=30.0, limit_deg=limit, least_deg=24.0, earlier=list(earlier)
    )


def before(
    timing: float, knock: str = KNOCK_NONE, then: Conditions = NOW, alarms: tuple[str, ...] = ()
) -> TimedPull:
    return TimedPull(timing, knock, then, alarms, "2026-03-02")


def test_a_timing_found_clean_before_may_be_returned_to_but_not_passed() -> None:
    assert permitted().high_deg == 30.0
    found = permitted(before(32.0), before(34.0))
    assert found.high_deg == 34.0
    assert found.about_clean.startswith("34° was found clean on 2026-03-02")
    assert found.about_clean in found.says
    assert any("Check for knock" in said for said in found.says)


def test_a_check_today_opens_two_degrees_as_ever() -> None:
    today = [TimedPull(30.0, KNOCK_NONE, NOW)]
    assert permitted(before(31.0), pulls=today).high_deg == 32.0
    assert permitted(before(34.0), pulls=today).high_deg == 34.0


@pytest.mark.parametrize(
    ("then", "why"),
    [
        (replace(NOW, build="build 2"), "another build"),
        (replace(NOW, fuel_batch="drum 11"), "another fuel batch"),
        (replace(NOW, fuel_batch=""), "fuel batch not known"),
        (replace(NOW, rest_of_setup="jets 70"), "another set-up"),
        (replace(NOW, lambda_ratio=0.84), "another lambda"),
        (replace(NOW, lambda_ratio=None), "lambda not known"),
        (replace(NOW, air_c=23.5), "hotter air"),
        (replace(NOW, air_c=None), "air not known"),
        (replace(NOW, coolant_c=79.5), "hotter coolant"),
        (replace(NOW, coolant_c=None), "coolant not known"),
        (replace(NOW, air_kpa=94.5), "higher air pressure"),
        (replace(NOW, air_kpa=None), "air pressure not known"),
        (replace(NOW, vapor_kpa=1.7), "drier air"),
        (replace(NOW, vapor_kpa=None), "humidity not known"),
    ],
)
def test_what_was_clean_on_another_day_lapses(then: Conditions, why: str) -> None:
    assert why in lapsed_since(then, NOW)
    assert permitted(before(34.0, then=then)).high_deg == 30.0


@pytest.mark.parametrize(
    "then",
    [
        NOW,
        replace(NOW, air_c=30.0, coolant_c=88.0, air_kpa=99.0, vapor_kpa=0.8),
        replace(NOW, lambda_ratio=0.89, air_kpa=95.2, vapor_kpa=1.4),
    ],
)
def test_what_was_clean_in_air_no_kinder_holds(then: Conditions) -> None:
    assert lapsed_since(then, NOW) == ""
    assert permitted(before(34.0, then=then)).high_deg == 34.0


@pytest.mark.parametrize("unknown", ["lambda_ratio", "air_c", "coolant_c", "air_kpa", "vapor_kpa"])
def test_what_was_never_read_holds_from_pull_to_pull_but_not_from_day_to_day(unknown: str) -> None:
    bare = replace(NOW, **{unknown: None})
    today = [TimedPull(30.0, KNOCK_NONE, bare)]
    found = bounds(
        today, bare, present_deg=30.0, limit_deg=40.0, least_deg=24.0,
        earlier=[before(34.0, then=bare)],
    )  # fmt: skip
    assert found.high_deg == 32.0


@pytest.mark.parametrize("unread", ["lambda_ratio", "air_c", "coolant_c", "air_kpa", "vapor_kpa"])
def test_what_was_read_then_and_not_today_is_taken_for_changed(unread: str) -> None:
    today = replace(NOW, **{unread: None})
    assert lapsed_since(NOW, today)


@pytest.mark.parametrize(
    ("moved", "kept", "lost"),
    [("lambda_ratio", 0.019, 0.021), ("air_kpa", -0.99, -1.01), ("vapor_kpa", 0.29, 0.31)],
)
def test_how_far_a_reading_may_be_off_from_day_to_day(moved: str, kept: float, lost: float) -> None:
    """What meters scatter, 1 kPa of barometer and 0.3 kPa of vapor (common practice, no source)."""
    for by, lapses in ((kept, False), (lost, True)):
        then = replace(NOW, **{moved: getattr(NOW, moved) + by})
        assert bool(lapsed_since(then, NOW)) is lapses


@pytest.mark.parametrize("moved", ["air_c", "coolant_c"])
def test_within_a_session_three_kelvin_are_the_thermometers(moved: str) -> None:
    for by, lapses in ((2.9, False), (3.1, True)):
        now = replace(NOW, **{moved: getattr(NOW, moved) + by})
        assert bool(lapsed(NOW, now)) is lapses


@pytest.mark.parametrize("alarm", ALARMS)
def test_a_pull_with_an_alarm_found_nothing_clean(alarm: str) -> None:
    assert permitted(before(34.0, alarms=(alarm,))).high_deg == 30.0


def test_unrecorded_was_not_clean_then_either() -> None:
    assert permitted(before(34.0, KNOCK_UNKNOWN)).high_deg == 30.0


def test_knock_heard_before_keeps_todays_advice_two_degrees_below_it() -> None:
    today = [TimedPull(30.0, KNOCK_NONE, NOW), TimedPull(32.0, KNOCK_NONE, NOW)]
    assert permitted(pulls=today).high_deg == 34.0
    found = permitted(before(34.0, KNOCK_HEARD), before(36.0), pulls=today)
    assert (found.high_deg, found.ceiling_deg) == (32.0, 32.0)
    assert "Knock was heard at 34° on 2026-03-02: stay 2° below." in found.says


def test_weather_does_not_make_knock_unheard_but_another_build_does() -> None:
    cooler = replace(NOW, air_c=40.0, coolant_c=95.0, lambda_ratio=None, fuel_batch="")
    today = [TimedPull(32.0, KNOCK_NONE, NOW)]
    assert permitted(before(34.0, KNOCK_HEARD, cooler), pulls=today).high_deg == 32.0
    for changed in ({"build": "build 2"}, {"fuel_batch": "drum 9"}, {"rest_of_setup": "jets 60"}):
        then = replace(NOW, **changed)  # type: ignore[arg-type]
        assert permitted(before(34.0, KNOCK_HEARD, then), pulls=today).high_deg == 34.0


def test_the_engines_limit_stands_above_what_was_clean_before() -> None:
    assert permitted(before(38.0), limit=35.0).high_deg == 35.0


def test_an_earlier_session_alone_advises_nothing() -> None:
    assert permitted(before(34.0), pulls=[]).stop == "No timing has been pulled yet."


@given(
    st.lists(
        st.tuples(
            st.integers(20, 44),
            st.sampled_from([KNOCK_NONE, KNOCK_HEARD, KNOCK_UNKNOWN]),
            st.booleans(),
        ),
        max_size=6,
    ),
    st.integers(24, 44),
)
def test_no_history_crosses_a_bound(history: list[tuple[int, str, bool]], limit: int) -> None:
    earlier = [
        before(float(t), knock, NOW if same else replace(NOW, coolant_c=60.0))
        for t, knock, same in history
    ]
    found = permitted(*earlier, limit=float(limit))
    clean = [t for t, knock, same in history if knock == KNOCK_NONE and same]
    heard = [t for t, knock, _ in history if knock == KNOCK_HEARD]
    if found.high_deg is None:
        return
    assert found.high_deg <= min([limit, max([30, *clean]), *(t - 2 for t in heard)])
    assert found.permits(found.high_deg)
    assert not found.permits(found.high_deg + 0.1)
