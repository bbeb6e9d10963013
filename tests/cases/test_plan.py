"""A session's plan: within the bounds, kept, ticked off visit by visit, withdrawn, undone."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from logbook.cases import finding, plan, pulls, safety, sessions
from logbook.cases.change import undo_last
from logbook.cases.engines import change_engine
from logbook.cases.entry import PullEntry
from logbook.cases.plan_changes import read_change, read_changes
from logbook.refusals import BadInput, Conflict, Refusal
from logbook.store import migrations
from logbook.store.schema_landings import PLANS_NOT_SEARCHED

from .conftest import Shop

JETS, SPACER = "main jets=82", "spacer=1 in"


def accept(shop: Shop, *texts: str, budget: int = 7) -> plan.PlanView:
    changes = read_changes(texts)
    plan.accept_plan(
        shop.desk,
        shop.session_id,
        plan.propose_plan(shop.desk, shop.session_id, changes, budget),
    )
    view = plan.plan_view(shop.desk, shop.session_id)
    assert view is not None
    return view


def ticks(shop: Shop) -> list[int]:
    progress = plan.plan_progress(shop.desk, shop.session_id)
    assert progress is not None
    return [line.place for line in progress.lines if line.done]


def test_a_plan_is_accepted_ticked_off_withdrawn_and_brought_back(
    shop: Shop, air: dict[str, str]
) -> None:
    changes = read_changes(["timing=32"], hard=["manifold=single plane"])
    proposed = plan.propose_plan(shop.desk, shop.session_id, changes, 12)
    assert len(proposed.lines) <= 12
    assert proposed.lines[0].name == proposed.lines[-1].name == "baseline"
    assert proposed.smallest_gain_percent > 0
    plan.accept_plan(shop.desk, shop.session_id, proposed)
    shop.peaks(400, timing=30, **air)
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert ticks(shop) == [1]
    assert kept.next == kept.lines[1]
    plan.withdraw_plan(shop.desk, shop.session_id)
    assert plan.plan_view(shop.desk, shop.session_id) is None
    with pytest.raises(Conflict, match="no accepted plan"):
        plan.withdraw_plan(shop.desk, shop.session_id)
    undo_last(shop.desk)
    assert ticks(shop) == [1]


def test_the_next_pull_brings_its_whole_set_up_from_the_baseline(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(400.2)
    view = accept(shop, f"{JETS},{SPACER}")
    assert view.next is not None
    assert dict(view.next.levels) == {"timing": "30", "main jets": "82", "spacer": "1 in"}
    pulls.add_pull(
        shop.desk,
        PullEntry(session_id=shop.session_id, set_up=dict(view.next.levels),
                  fields={"peak-torque": "402 lb-ft", "at": "4800"}),
    )  # fmt: skip
    assert ticks(shop) == [1, 2, 3]


def test_only_a_baseline_that_was_pulled_last_stands_for_the_plans_first(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(400.2)
    shop.peaks(404, timing=32)
    accept(shop, JETS)
    assert ticks(shop) == []
    shop.peaks(400.1, timing=30)
    assert ticks(shop) == [1]


def test_repeats_of_the_baseline_do_not_close_the_bracket(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    accept(shop, JETS)
    for torque in (400.2, 400.1, 400.3):
        shop.peaks(torque)
    view = plan.plan_view(shop.desk, shop.session_id)
    assert view is not None
    assert ticks(shop) == [1, 2]
    assert view.next is not None
    assert view.next.name == "main jets 82"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("timing=40", "past the engine's limit of 36°"),
        ("timing=18", "later than the engine's least of 20°"),
        ("timing=30", "the baseline's own set-up"),
        ("timing=30°", "the baseline's own set-up"),
    ],
)
def test_what_a_plan_must_not_hold_is_refused_in_words(
    shop: Shop, air: dict[str, str], text: str, said: str
) -> None:
    change_engine(shop.desk, "RB-2", {"least-timing": "20"})
    shop.peaks(400, timing=30, **air)
    with pytest.raises(BadInput, match=said):
        plan.propose_plan(shop.desk, shop.session_id, read_changes([text]), 7)


def test_a_timing_far_past_the_highest_clean_one_is_cautioned_until_it_is_near(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, timing=30, knock="none", **air)
    shop.peaks(400.2, knock="none")
    view = accept(shop, "timing=32", "timing=34", budget=9)
    (caution,) = view.cautions
    assert caution.startswith("Timing 34° is past 32°")
    shop.peaks(402, timing=32, knock="none")
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert kept.cautions == ()


def test_an_unrecorded_knock_check_is_not_clean(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(400.2)
    proposed = plan.propose_plan(shop.desk, shop.session_id, read_changes(["timing=31"]), 7)
    assert "checked for knock" in proposed.cautions[0]


def test_a_clean_timing_lapses_for_a_planned_fuel(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, knock="none", **air)
    shop.peaks(400.2, knock="none")
    here = plan.propose_plan(shop.desk, shop.session_id, read_changes(["timing=32"]), 7)
    other = plan.propose_plan(
        shop.desk, shop.session_id, read_changes(["timing=32,fuel=Foxtrot"]), 7
    )
    assert here.cautions == ()
    assert "past 30°" in other.cautions[0]


def test_a_timing_near_knock_that_was_heard_is_refused(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=34, knock="heard", **air)
    shop.peaks(399, timing=30, knock="none")
    with pytest.raises(BadInput, match="knock was heard"):
        plan.propose_plan(shop.desk, shop.session_id, read_changes(["timing=33"]), 7)


@pytest.mark.parametrize("alarms", ["oil pressure", "fuel pressure", "coolant", "knock"])
def test_an_alarm_bars_a_plan_that_was_accepted_before_it(
    shop: Shop, air: dict[str, str], alarms: str
) -> None:
    shop.peaks(400, timing=30, **air)
    proposed = plan.propose_plan(shop.desk, shop.session_id, read_changes([JETS]), 7)
    accept(shop, JETS)
    shop.peaks(398, alarms=alarms)
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert alarms in kept.barred
    assert kept.next is None
    with pytest.raises(Conflict, match=alarms):
        plan.accept_plan(shop.desk, shop.session_id, proposed)


def test_a_plan_never_goes_past_the_sessions_own_budget(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    sessions.change_session(shop.desk, shop.session_id, pull_budget=6)
    with pytest.raises(BadInput, match="5 of the session's 6"):
        plan.propose_plan(shop.desk, shop.session_id, read_changes([JETS]), 7)
    sessions.change_session(shop.desk, shop.session_id, pull_budget=7)
    accept(shop, JETS)
    sessions.change_session(shop.desk, shop.session_id, pull_budget=1)
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert kept.barred == "The session's budget of 1 pull is used up."


def test_a_limit_lowered_later_bars_what_was_planned(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(400.2)
    accept(shop, "timing=34")
    change_engine(shop.desk, "RB-2", {"limit-timing": "32"})
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert "past the engine's limit of 32°" in kept.barred
    assert kept.next is None


def test_a_closed_session_plans_nothing(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    accept(shop, JETS)
    sessions.close_session(shop.desk, shop.session_id)
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert kept.next is None
    with pytest.raises(Conflict, match="closed"):
        plan.propose_plan(shop.desk, shop.session_id, read_changes([JETS]), 7)


def test_a_session_measured_from_another_is_told_that_its_band_is_wider(
    shop: Shop, air: dict[str, str]
) -> None:
    base = [shop.peaks(400, timing=30, **air).pull_id, shop.peaks(400.4).pull_id]
    shop.session_id = sessions.open_session(shop.desk, "RB-2", baseline=tuple(base)).id
    view = accept(shop, JETS)
    assert "another one" in view.cautions[0]
    assert view.next is not None
    assert view.next.levels["timing"] == "30"
    first = shop.peaks(399, timing=30, **air).pull_id
    assert ticks(shop) == [1]
    sessions.set_baseline(shop.desk, shop.session_id, (first,))
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert kept.cautions == ()


@pytest.mark.parametrize("kept", ["{", '{"changes": [], "pulls": [[3, ""]], "budget": 1}', "{}"])
def test_a_plan_that_cannot_be_read_is_said_and_can_be_withdrawn(shop: Shop, kept: str) -> None:
    sessions.change_session(shop.desk, shop.session_id, plan=kept)
    with pytest.raises(Conflict, match="cannot be read"):
        plan.plan_view(shop.desk, shop.session_id)
    progress = plan.plan_progress(shop.desk, shop.session_id)
    assert progress is not None
    assert "withdraw" in progress.barred
    plan.withdraw_plan(shop.desk, shop.session_id)
    assert plan.plan_progress(shop.desk, shop.session_id) is None


def test_words_somebody_wrote_are_no_accepted_plan(shop: Shop) -> None:
    sessions.change_session(shop.desk, shop.session_id, plan="jets first, then timing")
    assert plan.plan_view(shop.desk, shop.session_id) is None


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        ("timing=34", {"timing": "34"}),
        ("timing 34", {"timing": "34"}),
        ("fuel=Tango, main jets 82", {"fuel": "Tango", "main jets": "82"}),
        ("air cleaner=flame arrestor, fine mesh", {"air cleaner": "flame arrestor, fine mesh"}),
        ("lash=0,3 mm,timing=34", {"lash": "0,3 mm", "timing": "34"}),
        ("spacer=", {"spacer": ""}),
        ("timing=", {"timing": ""}),
    ],
)
def test_a_change_is_read_as_people_type_it(text: str, levels: dict[str, str]) -> None:
    assert read_change(text, ("timing", "main jets", "jets")) == levels


@pytest.mark.parametrize(
    "text", ["", "34", "=34", "new idea", "timing=34, timing 36", "timing=x", f"{'x' * 500}="]
)
def test_what_is_no_change_is_refused_in_words(text: str) -> None:
    with pytest.raises(Refusal):
        read_change(text, ("timing",))


def test_an_accepted_plan_is_not_searched_and_no_longer_in_an_older_book(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, timing=30, **air)
    accept(shop, JETS)
    assert finding.find(shop.desk, "hard") == []
    assert safety.verify(shop.desk) == []
    with closing(sqlite3.connect(shop.folder / "book.db")) as db:
        migrations.drop_made(db)
        db.execute("UPDATE search_documents SET text = text || (SELECT plan FROM sessions)")
        db.execute("INSERT INTO search_index (search_index) VALUES ('rebuild')")
        assert db.execute("SELECT 1 FROM search_index WHERE search_index MATCH 'hard'").fetchone()
        for statement in migrations.statements(PLANS_NOT_SEARCHED):
            db.execute(statement)
        migrations.make_again(db)
        db.commit()
    assert finding.find(shop.desk, "hard") == []
    assert safety.verify(shop.desk) == []


def test_changes_that_read_alike_are_kept_apart(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    changes = (plan.PlanChange({"main": "jets 82"}), plan.PlanChange({"main jets": "82"}))
    assert changes[0].name == changes[1].name
    proposed = plan.propose_plan(shop.desk, shop.session_id, changes, 16)
    plan.accept_plan(shop.desk, shop.session_id, proposed)
    kept = plan.plan_view(shop.desk, shop.session_id)
    assert kept is not None
    assert [line.set_up for line in kept.lines] == [line.set_up for line in proposed.lines]
    assert {line.change for line in kept.lines} == {0, 1, 2}
