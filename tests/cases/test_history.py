"""What a cell's earlier sessions are worth: noise, drift and re-setting learned from them."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.cases import engines, judge, pulls, sessions
from logbook.cases.laying_out import lay_out
from logbook.reports.as_json import session_json

from .conftest import AIR, Shop

BRACKET = (30, 30, 34, 34, 30)


def earlier_sessions(shop: Shop, count: int, spread: float, seed: int = 3) -> None:
    """Closed sessions of a cell whose typed peaks scatter by so many percent, baseline first and
    last; then a session that is open."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        for place, timing in enumerate(BRACKET):
            torque = 400.0 * (1.0 + rng.normal(0.0, spread) / 100.0)
            shop.peaks(round(torque, 3), timing=timing, **({} if place else AIR))
        sessions.close_session(shop.desk, shop.session_id)
        shop.clock.turn(60 * 24)
        shop.session_id = sessions.open_session(shop.desk, "RB-2").id


def judged_today(shop: Shop) -> judge.SessionView:
    """Five pulls as quiet as can be, the change worth half a percent."""
    for place, (timing, torque) in enumerate(
        zip(BRACKET, (400.0, 400.4, 402.2, 402.6, 400.2), strict=True)
    ):
        shop.peaks(torque, timing=timing, **({} if place else AIR))
    return judge.session_view(shop.desk, shop.session_id)


def width(view: judge.SessionView) -> float:
    worth = next(row.worth for row in view.rows if row.worth is not None)
    return worth.interval_kw[1] - worth.interval_kw[0]


def test_drift_and_resetting_are_learned_from_ten_sessions_and_assumed_with_nine(
    shop: Shop,
) -> None:
    earlier_sessions(shop, 9, 0.1)
    view = judged_today(shop)
    assert view.drift is not None
    assert (view.drift.usual.drift_percent, view.drift.usual.resetting_percent) == (0.1, 0.15)
    assert view.drift.usual.source == "assumed"
    assumed = width(view)

    sessions.close_session(shop.desk, shop.session_id)
    shop.clock.turn(60 * 24)
    shop.session_id = sessions.open_session(shop.desk, "RB-2").id
    view = judged_today(shop)
    assert view.drift is not None
    assert view.drift.usual.source == "cell history"
    assert view.drift.usual.drift_percent == pytest.approx(0.08), "as little as is believed"
    assert width(view) < 0.9 * assumed
    told = session_json(view)
    assert told["drift"]["source"] == "cell history"
    assert told["drift"]["usual_percent_per_pull"] == view.drift.usual.drift_percent
    against = next(p["against_baseline"] for p in told["pulls"] if p["against_baseline"])
    assert against["drift_source"] == "cell history"
    assert against["resetting_percent"] == view.drift.usual.resetting_percent


def test_a_quieter_history_gives_narrower_intervals(shop: Shop) -> None:
    earlier_sessions(shop, 10, 0.08)
    quiet = width(judged_today(shop))
    for row in judge.session_view(shop.desk, shop.session_id).rows:
        pulls.exclude(shop.desk, row.pull.id, "to be made again")
    engines.add_cell(shop.desk, "South", {"altitude": "1250 ft", "time-zone": "America/Denver"})
    sessions.close_session(shop.desk, shop.session_id)
    shop.session_id = sessions.open_session(shop.desk, "RB-2", cell="South").id
    earlier_sessions(shop, 10, 0.5)
    assert width(judged_today(shop)) > 1.5 * quiet


def test_what_was_learned_follows_a_change_of_an_earlier_session(shop: Shop) -> None:
    first = shop.session_id
    earlier_sessions(shop, 10, 0.1)
    judged_today(shop)
    learned = lay_out(shop.desk, shop.session_id).learned
    assert lay_out(shop.desk, shop.session_id).learned is learned
    shop.peaks(401.0)
    assert lay_out(shop.desk, shop.session_id).learned is learned  # nothing earlier has changed
    for row in judge.session_view(shop.desk, first).rows[:2]:
        pulls.exclude(shop.desk, row.pull.id, "oil cold")
    anew = lay_out(shop.desk, shop.session_id).learned
    assert anew is not learned
    assert anew.wander("peak power").source == "assumed"


def test_a_baseline_taken_from_another_session_follows_what_is_pulled_there(shop: Shop) -> None:
    """Also pulls that were not named: the noise of that day is on the baseline's side."""
    there = shop.session_id
    first = [shop.peaks(t, timing=30, **(AIR if t == 400 else {})).pull_id for t in (400, 401)]
    engines.add_cell(shop.desk, "South", {"altitude": "1250 ft"})
    later = sessions.open_session(shop.desk, "RB-2", cell="South", baseline=tuple(first))
    shop.session_id = later.id
    shop.peaks(404, timing=32, **AIR)
    before = width(judge.session_view(shop.desk, later.id))
    shop.session_id = there
    shop.peaks(410, timing=30)
    assert width(judge.session_view(shop.desk, later.id)) != before


def test_an_excluded_pull_of_another_set_up_breaks_a_run_of_the_past(shop: Shop) -> None:
    """Two runs with a change between are no repeats of each other, whether it counts or not."""
    for timing, torque in ((30, 400.0), (34, 380.0), (30, 408.0)):
        shop.peaks(torque, timing=timing, **(AIR if torque == 400.0 else {}))
    middle = judge.session_view(shop.desk, shop.session_id).rows[1].pull
    pulls.exclude(shop.desk, middle.id, "misfire")
    from logbook.cases.history import _past_sessions, _spread

    sessions.close_session(shop.desk, shop.session_id)
    shop.clock.turn(60)
    later = sessions.open_session(shop.desk, "RB-2")
    with shop.desk.book.reading() as read:
        past = _past_sessions(read, later)["peak power"]
    assert [len(one) for one in past] == [2]
    assert _spread(past[0]) is None


def test_a_pull_without_load_does_not_keep_the_others_from_being_judged(shop: Shop) -> None:
    pulls.new_air(shop.desk, shop.session_id, AIR, units="us")
    for scale in (1.0, 1.001, 1.02, 1.021):
        shop.trace(scale, timing=30 if scale < 1.01 else 34)
    shop.trace(-0.05)
    view = judge.session_view(shop.desk, shop.session_id)
    assert view.noise is not None
    assert view.rows[0].worth is None
    assert judge.answer(shop.desk, shop.session_id, view.rows[0].pull.id).why_none == (
        "The pull has no power to judge"
    )


def test_torque_is_said_to_point_the_other_way_only_by_the_same_fit(shop: Shop) -> None:
    """On a drifting day means of pulls point anywhere: torque is judged as power is."""
    pulls.new_air(shop.desk, shop.session_id, AIR, units="us")
    for place, timing in enumerate((30, 30, 34, 34, 34, 34)):
        shop.trace(1.0 + 0.002 * place - 0.0045 * (timing == 34), timing=timing)
    bench = lay_out(shop.desk, shop.session_id)
    group = bench.groups[0]
    judged = group.judgement.by_setup[1]
    assert group.torque_percent[1] == pytest.approx(judged.percent, abs=1e-3)
    assert (
        "points the other way"
        not in judge.answer(shop.desk, shop.session_id, bench.pulls[-1].id).row.worth.reason
    )  # type: ignore[union-attr]
