"""What makes somebody look twice: repeats that do not repeat, old air, lost figures, the close."""

from __future__ import annotations

import sqlite3

import pytest

from logbook.cases import closing, engines, judge, plan, pulls, safety, sessions
from logbook.cases.desk import spoken
from logbook.cases.plan_changes import read_changes
from logbook.refusals import BadInput
from logbook.reports import closing_words

from .conftest import AIR, Shop


def codes(shop: Shop, number: int) -> set[str]:
    rows = judge.session_view(shop.desk, shop.session_id).rows
    return {c.code for row in rows if row.pull.number == number for c in row.cautions}


def test_a_pull_far_from_the_others_of_its_set_up_says_so(shop: Shop) -> None:
    for torque in (400, 400.4, 399.8, 376):
        shop.peaks(torque, timing=30, **(AIR if torque == 400 else {}))
    assert "repeat-apart" in codes(shop, 4)
    assert all("repeat-apart" not in codes(shop, number) for number in (1, 2, 3))
    view = judge.session_view(shop.desk, shop.session_id)
    assert "noisy-session" in {c.code for c in view.cautions}


def test_pulls_that_repeat_as_a_sound_cell_does_say_nothing(shop: Shop) -> None:
    for torque in (400, 400.6, 399.4, 400.2):
        shop.peaks(torque, timing=30, **(AIR if torque == 400 else {}))
    assert all("repeat-apart" not in codes(shop, number) for number in range(1, 5))
    view = judge.session_view(shop.desk, shop.session_id)
    assert "noisy-session" not in {c.code for c in view.cautions}


def test_a_figure_that_may_be_a_slip_of_the_pen_is_questioned(shop: Shop) -> None:
    for number, torque in enumerate((400, 401, 540)):
        shop.peaks(torque, timing=30 + number, **(AIR if torque == 400 else {}))
    assert [("far-from-session" in codes(shop, number)) for number in (1, 2, 3)] == [
        False, False, True,
    ]  # fmt: skip
    fields = {"peak-torque": "4500 lb-ft", "at": "390 rpm"}
    from logbook.cases.entry import PullEntry

    pulls.add_pull(shop.desk, PullEntry(session_id=shop.session_id, fields=fields))
    assert "peak-speed-low" in codes(shop, 4)


def test_old_air_is_said_in_words_people_use(shop: Shop) -> None:
    assert [spoken(m) for m in (9, 300, 15_362)] == ["9 min", "5 h", "11 days"]
    shop.peaks(400, **AIR)
    shop.clock.turn(15_362)
    shop.peaks(401)
    texts = [c.text for c in judge.session_view(shop.desk, shop.session_id).rows[0].cautions]
    assert any("11 days before the pull" in text for text in texts)


def test_no_part_of_a_stale_reading_passes_for_one_just_read(shop: Shop) -> None:
    pulls.new_air(shop.desk, shop.session_id, AIR, units="us")
    shop.clock.turn(10)
    again = pulls.new_air(shop.desk, shop.session_id, {"temperature": "82 F"}, units="us")
    assert again.reading.pressure_kpa == pytest.approx(99.63, abs=0.01)
    shop.clock.turn(20)
    with pytest.raises(BadInput, match="Station pressure: it was not given and the last one is"):
        pulls.new_air(shop.desk, shop.session_id, {"temperature": "84 F"}, units="us")


def test_a_missing_sample_does_not_hide_a_speed_past_the_limit(shop: Shop) -> None:
    pulls.new_air(shop.desk, shop.session_id, AIR, units="us")
    path = shop.folder / "gap.csv"
    lines = [f"{rpm},{300 - rpm / 100:.1f},1" for rpm in range(4000, 7501, 50)]
    lines.insert(20, ",,1")
    path.write_text("\n".join(["Engine speed [rpm],Torque [lb-ft],Marker", *lines]) + "\n")
    from logbook.cases.entry import PullEntry

    pulls.add_pull(shop.desk, PullEntry(session_id=shop.session_id, trace=path))
    assert "speed-above-limit" in codes(shop, 1)


def test_figures_lost_to_another_program_are_computed_anew(shop: Shop) -> None:
    shop.peaks(400, **AIR)
    best = engines.list_engines(shop.desk)[0].best_power_kw
    with sqlite3.connect(shop.folder / "book.db") as other:
        other.execute("DELETE FROM scores")
    assert engines.list_engines(shop.desk)[0].best_power_kw is None
    assert any("verify --refresh" in problem for problem in safety.verify(shop.desk))
    assert safety.refresh_scores(shop.desk) == 1
    assert engines.list_engines(shop.desk)[0].best_power_kw == best
    assert safety.refresh_scores(shop.desk) == 0
    assert safety.verify(shop.desk) == []


@pytest.mark.parametrize("last_is_baseline", [True, False])
def test_what_closing_does_is_told_by_the_judgement_not_by_the_last_pull(
    shop: Shop, last_is_baseline: bool
) -> None:
    """A change bracketed in the middle becomes final, though the session ends on it."""
    order = [(400, 30)] * 3 + [(410, 32)] * 3 + [(400, 30)] * 2
    order += [] if last_is_baseline else [(410, 32)]
    for number, (torque, timing) in enumerate(order):
        shop.peaks(torque + 0.1 * (number % 3), timing=timing, **({} if number else AIR))
    found = closing.closing(shop.desk, shop.session_id)
    assert found.returned
    assert found.open == ()
    assert [(end.running, end.stand.word) for end in found.endings] == [("gain so far", "gain")]
    sessions.close_session(shop.desk, shop.session_id)
    rows = judge.session_view(shop.desk, shop.session_id).rows
    verdicts = {row.worth.verdict for row in rows if row.worth and row.pull.number in (4, 5, 6)}
    assert verdicts == {"gain"}


def test_a_change_that_was_not_bracketed_stays_open_at_the_close(shop: Shop) -> None:
    for number, (torque, timing) in enumerate([(400, 30)] * 3 + [(412, 32)] * 3):
        shop.peaks(torque + 0.1 * (number % 3), timing=timing, **({} if number else AIR))
    found = closing.closing(shop.desk, shop.session_id)
    assert found.returned is False
    assert found.not_returned == (4, 5, 6)
    assert "Pull it once more" in closing_words.before_closing(found)
    assert closing_words.open_words(found) == "Stays open: pulls 4–6 stay “so far”."
    pulls.change_pull(
        shop.desk, pulls.find_pull(shop.desk, "RB-2/last/6").id, {"alarms": "oil pressure"},
        why="seen on the tape",
    )  # fmt: skip
    assert closing_words.before_closing(closing.closing(shop.desk, shop.session_id)) == ""


def test_what_stays_open_names_the_plan_and_what_was_not_settled(shop: Shop) -> None:
    for number, (torque, timing) in enumerate([(400, 30), (400.2, 30), (401, 32)]):
        shop.peaks(torque, timing=timing, **({} if number else AIR))
    changes = read_changes(["main jets=82"])
    view = plan.propose_plan(shop.desk, shop.session_id, changes, 7)
    plan.accept_plan(shop.desk, shop.session_id, view)
    said = closing_words.open_words(closing.closing(shop.desk, shop.session_id))
    assert said == f"Stays open: pull 3 leaning; {len(view.lines)} pulls of the plan not made."
