"""The engineer's half: timing, ledger, plan, priors learned from the cell's history."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.cases import judge, ledger, plan, pulls, sessions, timing
from logbook.cases.desk import open_desk
from logbook.cases.entry import PullEntry
from logbook.cases.plan_changes import read_changes
from logbook.refusals import Conflict

from .conftest import Shop


def type_sweep(shop: Shop, points: list[tuple[float, float]], **fields: str) -> str:
    """Typed torques at 1100 rpm, one pull a timing, in a session that corrects nothing."""
    session = sessions.open_session(shop.desk, "RB-2", standard="none")
    for degrees, torque in points:
        shop.clock.turn(5)
        pulls.add_pull(
            shop.desk,
            PullEntry(
                session_id=session.id,
                set_up={"timing": f"{degrees:g}"},
                fields={"peak-torque": f"{torque} Nm", "at": "1100 rpm", **fields},
            ),
        )
    return session.id


PROPANE = [(0, 32.196), (10, 33.470), (20, 32.086), (30, 28.611), (40, 23.209)]


def test_a_wide_sweep_gives_a_best_and_says_why_its_interval_is_not_to_be_trusted(
    shop: Shop,
) -> None:
    """Single-cylinder research engine on propane, 1100 rpm (published university exercise, 2025):
    the parabola through all five points has its top at 9.65°."""
    from logbook.verdict.timing import fit_timing, timing_pulls

    degrees, torque = zip(*PROPANE, strict=True)
    whole = fit_timing(timing_pulls(range(1, 6), degrees, torque), near_percent=None)
    assert whole.top_deg == pytest.approx(9.65, abs=0.005)
    view = timing.timing_view(shop.desk, type_sweep(shop, PROPANE))
    assert view.scored_on == "peak torque"
    assert view.answer is not None
    assert not view.answer.trusted
    assert view.answer.doubts or view.answer.fit.why_not
    assert view.all_timings_deg == pytest.approx(9.65, abs=0.05)
    assert {number for _, number, why in view.left_out if "outside the fit" in why} == {4, 5}
    assert len(view.used) == 3
    assert view.advice is not None
    low, high = view.answer.fit.interval_deg
    assert low is not None
    assert high is not None
    assert view.advice.now_deg is not None
    assert low <= view.advice.now_deg <= high, "the choice must not contradict the data"


def test_advice_without_a_knock_check_stays_within_what_was_pulled(shop: Shop) -> None:
    view = timing.timing_view(
        shop.desk, type_sweep(shop, [(28, 40.0), (30, 40.4), (32, 40.5), (30, 40.4)])
    )
    assert view.bounds.high_deg == 32
    assert any("checked for knock" in sentence for sentence in view.bounds.says)


def test_advice_never_passes_the_engines_limit(shop: Shop) -> None:
    view = timing.timing_view(
        shop.desk,
        type_sweep(shop, [(31, 40.0), (33, 40.4), (35, 40.8), (35, 40.8)], knock="none"),
    )
    assert view.limit_deg == 36
    assert view.bounds.high_deg == 36
    assert view.advice is not None
    assert view.advice.next_deg is None or view.advice.next_deg <= 36


def test_an_alarm_stops_all_advice(shop: Shop) -> None:
    session_id = type_sweep(shop, [(30, 40.0), (32, 40.4), (34, 40.5)], alarms="oil pressure")
    view = timing.timing_view(shop.desk, session_id)
    assert "oil pressure" in view.bounds.stop
    assert view.advice is not None
    assert view.advice.next_deg is None
    with pytest.raises(Conflict, match="oil pressure"):
        plan.propose_plan(shop.desk, session_id, read_changes(["timing=34"]), 7)


def test_the_ledger_sums_exactly_and_names_the_bundle(shop: Shop, air: dict[str, str]) -> None:
    for torque, degrees in ((400, 30), (400.4, 30), (404, 32), (404.2, 32)):
        shop.peaks(torque, timing=degrees, **(air if torque == 400 else {}))
    for torque in (407, 407.3):
        shop.clock.turn(5)
        pulls.add_pull(
            shop.desk,
            PullEntry(
                session_id=shop.session_id,
                set_up={"main jets": "82", "spacer": "1 in"},
                fields={"peak-torque": f"{torque} lb-ft", "at": "4800",
                        "peak-power": f"{torque * 1.04} hp", "power-at": "6200"},
            ),
        )  # fmt: skip
    view = ledger.ledger_view(shop.desk, shop.session_id)
    assert [step.bundle for step in view.steps] == [False, True]
    assert view.total is not None
    assert sum(step.worth.difference_kw for step in view.steps) == pytest.approx(
        view.total.difference_kw, abs=1e-9
    )
    (group,) = view.effects.inseparable
    assert {term.factor for term in group.terms} == {"main jets", "spacer"}
    assert len(group.separate_by) == 1


def test_excluding_a_pull_judges_everything_anew(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(400.5)
    bad = shop.peaks(390, timing=32)
    shop.peaks(404)
    before = judge.session_view(shop.desk, shop.session_id).rows[0].worth
    pulls.exclude(shop.desk, bad.pull_id, "throttle not open")
    after = judge.session_view(shop.desk, shop.session_id).rows[0].worth
    assert before is not None
    assert after is not None
    assert after.percent > before.percent + 1


def test_a_closed_session_without_the_baseline_again_keeps_so_far(
    shop: Shop, air: dict[str, str]
) -> None:
    for torque, degrees in ((400, 30), (400.2, 30), (400.1, 30), (410, 32), (410.2, 32)):
        shop.peaks(torque, timing=degrees, **(air if torque == 400 else {}))
    sessions.close_session(shop.desk, shop.session_id)
    worth = judge.session_view(shop.desk, shop.session_id).rows[0].worth
    assert worth is not None
    assert worth.verdict == "gain so far"
    assert "baseline" in worth.reason


def test_a_session_measured_from_an_earlier_visit_has_the_wider_band(
    shop: Shop, air: dict[str, str]
) -> None:
    first = [shop.peaks(400, timing=30, **air).pull_id, shop.peaks(400.4).pull_id]
    later = sessions.open_session(shop.desk, "RB-2", baseline=tuple(first))
    shop.session_id = later.id
    for torque in (404, 404.2):
        shop.peaks(torque, timing=32, **(air if torque == 404 else {}))
    view = judge.session_view(shop.desk, later.id)
    worth = view.rows[0].worth
    assert worth is not None
    assert worth.noise.percent == pytest.approx(1.0)
    assert worth.verdict in {"leaning", "not settled"}
    assert "session of" in view.baseline_label


def test_the_demo_cell_has_learned_its_noise(demo_book_path: Path) -> None:
    desk = open_desk(demo_book_path)
    session = sessions.find_session(desk, "RB-8/last")
    view = judge.session_view(desk, session.id)
    assert view.noise is not None
    assert view.noise.source == "cell history"
    desk.close()


def test_an_open_verdict_names_which_pulls_would_settle_it(demo_book_path: Path) -> None:
    from logbook.app.widgets.answer_words import settled_by

    desk = open_desk(demo_book_path)
    rows = judge.session_view(desk, sessions.find_session(desk, "RB-8/last").id).rows
    worth = next(row.worth for row in rows if row.pull.number == 11)
    assert worth is not None
    assert worth.verdict == "leaning"
    assert sum(worth.settle_by) == worth.more_pulls
    here, there = worth.settle_by
    assert settled_by(worth) == f"{worth.more_pulls} more settle it: {here} here, {there} baseline"
    desk.close()
