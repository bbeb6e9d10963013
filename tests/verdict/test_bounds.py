"""The bounds that advice on timing never crosses; each test fails without its bound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.records.pull import ALARMS, KNOCK_HEARD, KNOCK_NONE, KNOCK_UNKNOWN
from logbook.verdict.bounds import Bounds, TimedPull, advice_barred, bounds
from logbook.verdict.conditions import Conditions, lapsed
from logbook.verdict.next_timing import NextTiming, next_timing
from logbook.verdict.timing import timing_pulls

NOW = Conditions("build 3", "drum 12", "jets 72", lambda_ratio=0.88, air_c=24.0, coolant_c=80.0)


def pulled(*timings: float, knock: str = KNOCK_NONE, then: Conditions = NOW) -> list[TimedPull]:
    return [TimedPull(timing, knock, then) for timing in timings]


def permitted(pulls: list[TimedPull], **options: object) -> Bounds:
    given = {"present_deg": 30.0, "limit_deg": 40.0, "least_deg": None, **options}
    return bounds(pulls, NOW, **given)  # type: ignore[arg-type]


def advised(pulls: list[TimedPull], rising: bool = True, **options: object) -> NextTiming:
    """Advice on an engine whose torque still rises steeply where it was pulled."""
    timings = [pull.timing_deg for pull in pulls if pull.timing_deg is not None]
    slope = 0.5 if rising else -0.5
    torque = 100.0 + slope * (np.array(timings) - 30.0)
    return next_timing(
        timing_pulls(range(1, len(timings) + 1), timings, torque),
        permitted(pulls, **options),
        present_deg=30.0,
    )


def test_advance_stops_at_the_engines_limit() -> None:
    free = advised(pulled(30, 32, 34), limit_deg=40.0)
    held = advised(pulled(30, 32, 34), limit_deg=34.0)
    assert free.next_deg is not None
    assert free.next_deg > 34.0
    assert held.bounds.high_deg == 34.0
    assert held.now_deg is not None
    assert held.now_deg <= 34.0
    assert held.next_deg is None or held.next_deg <= 34.0
    assert "The engine's limit is 34°." in held.bounds.says


def test_advance_stops_two_degrees_beyond_the_highest_clean_timing() -> None:
    pulls = [*pulled(30, 32), *pulled(36, knock=KNOCK_UNKNOWN)]
    assert permitted(pulls).high_deg == 34.0
    assert advised(pulls).next_deg in (None, 33.0, 34.0)


def test_unrecorded_is_not_clean_and_advice_stays_within_what_was_pulled() -> None:
    pulls = pulled(28, 30, 32, knock=KNOCK_UNKNOWN)
    found = permitted(pulls)
    assert (found.low_deg, found.high_deg) == (28.0, 32.0)
    assert any("Check for knock and write it down" in said for said in found.says)
    assert advised(pulls).bounds.high_deg == 32.0


@pytest.mark.parametrize(
    ("then", "why"),
    [
        (replace(NOW, build="build 2"), "another build"),
        (replace(NOW, fuel_batch="drum 11"), "another fuel batch"),
        (replace(NOW, rest_of_setup="jets 70"), "another set-up"),
        (replace(NOW, lambda_ratio=0.84), "another lambda"),
        (replace(NOW, lambda_ratio=None), "lambda read only once"),
        (replace(NOW, air_c=18.0), "hotter air"),
        (replace(NOW, coolant_c=72.0), "hotter coolant"),
        (replace(NOW, coolant_c=None), "coolant read only once"),
    ],
)
def test_a_clean_timing_lapses(then: Conditions, why: str) -> None:
    assert lapsed(then, NOW) == why
    found = permitted(pulled(28, 30, 34, then=then))
    assert found.high_deg == 34.0
    assert any(why in said for said in found.says)


@pytest.mark.parametrize(
    "then",
    [NOW, replace(NOW, air_c=30.0, coolant_c=88.0), replace(NOW, lambda_ratio=0.89)],
)
def test_a_clean_timing_holds_in_cooler_air_or_the_same_mixture(then: Conditions) -> None:
    assert lapsed(then, NOW) == ""
    assert permitted(pulled(28, 30, 34, then=then)).high_deg == 36.0


def test_what_nobody_ever_reads_does_not_lapse() -> None:
    bare = Conditions("build 3", "drum 12", "jets 72")
    found = bounds(pulled(30, then=bare), bare, present_deg=30.0, limit_deg=None, least_deg=None)
    assert found.high_deg == 32.0
    assert "The engine's sheet has no timing limit." in found.says


def test_knock_on_the_last_pull_stops_all_advice() -> None:
    pulls = [*pulled(30, 32), *pulled(34, knock=KNOCK_HEARD)]
    advice = advised(pulls)
    assert advice.stop.startswith("Knock heard at 34°: back off")
    assert (advice.now_deg, advice.next_deg, advice.least_deg) == (None, None, None)


def test_knock_heard_earlier_keeps_advice_two_degrees_below_it() -> None:
    pulls = [*pulled(30, 32), *pulled(33, knock=KNOCK_HEARD), *pulled(31)]
    found = permitted(pulls)
    assert found.high_deg == 31.0
    assert any("Knock was heard at 33°" in said for said in found.says)
    # Nor does a clean pull at the same timing lift it.
    assert permitted([*pulls, *pulled(33), *pulled(30)]).high_deg == 31.0


def test_knock_at_a_timing_nobody_wrote_down_stops_advice_until_somebody_does() -> None:
    heard = TimedPull(None, KNOCK_HEARD, NOW)
    found = permitted([*pulled(30, 32), heard, *pulled(30)])
    assert (found.low_deg, found.high_deg) == (None, None)
    assert found.stop.startswith("Knock was heard at a timing nobody wrote down: set it")
    assert permitted([*pulled(30, 32), replace(heard, timing_deg=34.0), *pulled(30)]).high_deg == 32


def test_where_knock_was_heard_is_no_timing_already_pulled() -> None:
    """Nothing checked clean: back to what was pulled below the knock, not to 2° below it."""
    once = pulled(30, knock=KNOCK_UNKNOWN)
    found = permitted([*once, *pulled(34, knock=KNOCK_HEARD), *once])
    assert (found.low_deg, found.high_deg) == (30.0, 30.0)
    assert "Knock was heard at 34°: stay 2° below." in found.says
    none = permitted([*once, *pulled(31, knock=KNOCK_HEARD), *once])
    assert none.stop == "Nothing is left between the retard bound 30° and the advance bound 29°."


@pytest.mark.parametrize("changed", [{"fuel_batch": "race drum"}, {"rest_of_setup": "jets 70"}])
def test_what_was_pulled_on_another_fuel_or_set_up_is_nothing_to_go_to(
    changed: dict[str, str],
) -> None:
    other = replace(NOW, **changed)  # type: ignore[arg-type]
    for knock in (KNOCK_NONE, KNOCK_UNKNOWN):
        before = pulled(34, 38, knock=knock, then=other)
        found = permitted([*before, *pulled(30, 32, knock=KNOCK_UNKNOWN)])
        assert found.high_deg == 32.0
    # A set-up that nobody has pulled yet: what was pulled on its fuel is all there is.
    on_fuel = [*pulled(38, then=replace(NOW, fuel_batch="race drum")),
               *pulled(33, then=replace(NOW, rest_of_setup="jets 70"))]  # fmt: skip
    assert permitted(on_fuel).high_deg == 33.0


def test_retard_stops_at_the_engines_sheet() -> None:
    found = advised(pulled(30, 29, 28), rising=False, least_deg=28.0)
    assert found.bounds.low_deg == 28.0
    assert found.now_deg is not None
    assert found.now_deg >= 28.0
    assert found.next_deg is None or found.next_deg >= 28.0


def test_without_a_retard_limit_six_degrees_below_the_start_are_assumed_and_said() -> None:
    found = advised(pulled(30, 27, 24), rising=False)
    assert found.bounds.low_deg == 24.0
    assert found.now_deg is not None
    assert found.now_deg >= 24.0
    assert any("6° below 30° is assumed" in said for said in found.bounds.says)


@pytest.mark.parametrize("alarm", ALARMS)
def test_no_advice_after_an_alarm(alarm: str) -> None:
    pulls = [replace(pulled(30)[0], alarms=(alarm,)), *pulled(32, 34)]
    advice = advised(pulls)
    assert alarm in advice.stop
    assert advice.next_deg is None
    assert advice.now_deg is None


def test_an_alarm_on_a_pull_without_timing_counts_too() -> None:
    pulls = [TimedPull(None, KNOCK_UNKNOWN, NOW, ("oil pressure",)), *pulled(30, 32)]
    assert "oil pressure" in permitted(pulls).stop


def test_no_advice_past_the_pull_budget() -> None:
    advice = advised(pulled(30, 32, 34), pulls_taken=12, budget=12)
    assert advice.stop == "The session's budget of 12 pulls is used up."
    assert advice.next_deg is None
    assert advised(pulled(30, 32, 34), pulls_taken=11, budget=12).stop == ""
    assert advice_barred([]) == ""


def test_before_any_timing_there_is_nothing_to_advise_from() -> None:
    assert permitted([]).stop == "No timing has been pulled yet."
    assert permitted([]).whole_degrees() == ()


def test_bounds_that_cross_leave_nothing_and_say_so() -> None:
    found = permitted(pulled(30), limit_deg=20.0)
    assert found.whole_degrees() == ()
    assert "Nothing is left between" in found.stop


def test_a_clean_pull_at_the_bound_opens_the_next_two_degrees_up_to_the_ceiling() -> None:
    found = permitted(pulled(30, 32), limit_deg=35.0)
    assert found.high_deg == 34.0
    assert found.opened_by(33.0) == 35.0
    assert found.opened_by(30.0) == 34.0


@given(
    st.lists(
        st.tuples(
            st.integers(20, 44), st.sampled_from([KNOCK_NONE, KNOCK_HEARD, KNOCK_UNKNOWN]),
            st.booleans(), st.floats(90.0, 110.0),
        ),
        min_size=1, max_size=8,
    ),
    st.integers(24, 44), st.integers(10, 30),
)  # fmt: skip
def test_no_history_makes_advice_cross_a_bound(
    history: list[tuple[int, str, bool, float]], limit: int, least: int
) -> None:
    pulls = [
        TimedPull(float(t), knock, NOW if same else replace(NOW, build="build 2"))
        for t, knock, same, _ in history
    ]
    torque = [value for *_, value in history]
    timings = [float(t) for t, *_ in history]
    found = bounds(
        pulls, NOW, present_deg=timings[0], limit_deg=float(limit), least_deg=float(least)
    )
    advice = next_timing(
        timing_pulls(range(len(pulls)), timings, torque), found, present_deg=timings[0]
    )
    clean = [p.timing_deg or 0.0 for p in pulls if p.knock == KNOCK_NONE and p.conditions == NOW]
    heard = [p.timing_deg or 0.0 for p in pulls if p.knock == KNOCK_HEARD]
    for deg in (advice.now_deg, advice.next_deg, advice.least_deg):
        if deg is None:
            continue
        assert least <= deg <= limit
        assert not heard or deg <= min(heard) - 2.0
        assert pulls[-1].knock != KNOCK_HEARD
        assert deg <= (max(clean) + 2.0 if clean else max(timings))
