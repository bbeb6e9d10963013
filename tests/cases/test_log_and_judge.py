"""What a person gets from logging pulls: carry-forward, the answer, and refusals."""

from __future__ import annotations

import pytest

from logbook.cases import change, engines, judge, pulls, sessions
from logbook.cases.entry import PullEntry
from logbook.quantities import to_stored
from logbook.records.pull import Pull
from logbook.refusals import BadInput, Conflict, NotFound

from .conftest import Shop


def test_only_what_was_touched_changes(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    pulls.add_pull(
        shop.desk,
        PullEntry(
            session_id=shop.session_id,
            set_up={"main jets": "82"},
            fields={"peak-torque": "401 lb-ft", "at": "4800"},
        ),
    )
    view = judge.session_view(shop.desk, shop.session_id)
    newest = view.rows[0]
    assert newest.setup.timing_deg == 30
    assert [change.factor for change in newest.changed] == ["main jets"]
    assert newest.pull.air_id == view.rows[1].pull.air_id


def test_readings_of_a_pull_are_not_carried_to_the_next(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, **air, oil="200 F", knock="none", blow_by="3 cfm")
    shop.peaks(401)
    newest = judge.session_view(shop.desk, shop.session_id).rows[0].pull
    assert (newest.oil_c, newest.knock, newest.blow_by_m3_h) == (None, "not checked", None)


def test_what_was_typed_reads_back_as_it_was_written(shop: Shop, air: dict[str, str]) -> None:
    logged = shop.peaks(400, **air, oil="200F")
    with shop.desk.book.reading() as read:
        pull = read.get(Pull, logged.pull_id)
    assert pull.typed["peak_torque_nm"] == "400 lb-ft"
    assert pull.typed["oil_c"] == "200F"
    assert pull.oil_c == pytest.approx((200 - 32) / 1.8)


def test_single_pulls_lean_and_say_that_the_noise_is_assumed(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(404, timing=32)
    worth = judge.session_view(shop.desk, shop.session_id).rows[0].worth
    assert worth is not None
    assert worth.verdict == "leaning"
    assert worth.noise.source == "assumed"
    assert worth.interval_kw[0] < worth.difference_kw < worth.interval_kw[1]
    assert worth.percent == pytest.approx(1.0, abs=1e-6)


def test_an_excluded_pull_stays_visible_and_judges_nothing(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    logged = shop.peaks(404, timing=32)
    pulls.exclude(shop.desk, logged.pull_id, "oil cold")
    row = judge.session_view(shop.desk, shop.session_id).rows[0]
    assert row.pull.excluded_reason == "oil cold"
    assert row.worth is None
    assert "oil cold" in judge.answer(shop.desk, shop.session_id, logged.pull_id).why_none
    pulls.include(shop.desk, logged.pull_id)
    assert judge.session_view(shop.desk, shop.session_id).rows[0].worth is not None


def test_a_pull_is_excluded_only_for_a_reason(shop: Shop, air: dict[str, str]) -> None:
    logged = shop.peaks(400, **air)
    with pytest.raises(BadInput, match="only for a reason"):
        pulls.exclude(shop.desk, logged.pull_id, "  ")


def test_undo_takes_the_last_entry_back_and_redo_brings_it_again(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, timing=30, **air)
    shop.peaks(404, timing=32)
    assert change.undo_last(shop.desk).sentence == "Taken back: Pull 2 logged"
    assert [r.pull.number for r in judge.session_view(shop.desk, shop.session_id).rows] == [1]
    change.redo_last(shop.desk)
    view = judge.session_view(shop.desk, shop.session_id)
    assert [r.pull.number for r in view.rows] == [2, 1]
    assert view.rows[0].score is not None
    with pytest.raises(Conflict, match="nothing was taken back"):
        change.redo_last(shop.desk)


def test_two_undos_are_brought_back_in_order(shop: Shop, air: dict[str, str]) -> None:
    for torque in (400, 401, 402):
        shop.peaks(torque, **(air if torque == 400 else {}))
    change.undo_last(shop.desk)
    change.undo_last(shop.desk)
    change.redo_last(shop.desk)
    assert len(judge.session_view(shop.desk, shop.session_id).rows) == 2
    change.redo_last(shop.desk)
    assert len(judge.session_view(shop.desk, shop.session_id).rows) == 3


def test_mistyped_air_goes_with_the_pull_that_is_taken_back(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, **air)
    shop.peaks(401, temperature="98 F")
    change.undo_last(shop.desk)
    view = judge.session_view(shop.desk, shop.session_id)
    assert view.air is not None
    assert view.air.reading.temperature_c == pytest.approx((78 - 32) / 1.8)


def test_another_standard_corrects_every_figure_anew(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, **air)
    before = judge.session_view(shop.desk, shop.session_id).rows[0].score
    sessions.change_session(shop.desk, shop.session_id, standard="sae-j607", why="customer asks")
    after = judge.session_view(shop.desk, shop.session_id).rows[0].score
    assert before is not None
    assert after is not None
    assert after.observed == before.observed
    assert after.corrected.peak_power_kw > before.corrected.peak_power_kw * 1.03


def test_without_air_nothing_is_corrected_and_the_reason_is_said(shop: Shop) -> None:
    logged = shop.peaks(400, timing=30)
    assert "no-air" in {caution.code for caution in logged.cautions}
    view = judge.answer(shop.desk, shop.session_id, logged.pull_id)
    assert view.row.score is not None
    assert view.row.score.factor is None
    assert view.row.score.corrected.peak_power_kw is None
    assert view.row.score.observed.peak_torque_nm == pytest.approx(
        to_stored(400, "lb-ft", "torque")
    )


def test_boosted_engines_are_not_quietly_corrected(shop: Shop, air: dict[str, str]) -> None:
    engines.change_engine(shop.desk, "RB-2", {"aspiration": "boosted"}, why="blower fitted")
    logged = shop.peaks(400, **air)
    assert "not-correctable" in {caution.code for caution in logged.cautions}
    score = judge.session_view(shop.desk, shop.session_id).rows[0].score
    assert score is not None
    assert score.corrected.peak_power_kw is None


def test_cautions_stand_beside_the_pull(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=38, **air, oil="150 F", knock="heard")
    shop.clock.turn(40)
    shop.peaks(401)
    newest, first = judge.session_view(shop.desk, shop.session_id).rows
    assert {"knock-heard", "timing-above-limit", "not-ready"} <= {c.code for c in first.cautions}
    assert "air-stale" in {c.code for c in newest.cautions}


def test_a_sea_level_pressure_is_recognized_by_the_cells_altitude(shop: Shop) -> None:
    engines.change_cell(shop.desk, "North", {"altitude": "5300 ft"})
    shop.peaks(400, pressure="29.92 inHg", temperature="70 F", rh="30 %")
    cautions = judge.session_view(shop.desk, shop.session_id).rows[0].cautions
    text = next(c.text for c in cautions if c.code == "sea-level-pressure")
    assert "24.6" in text


def test_a_sea_level_pressure_said_to_be_one_is_taken_back_to_the_station(shop: Shop) -> None:
    view = pulls.new_air(
        shop.desk,
        shop.session_id,
        {"pressure": "29.92", "temperature": "70", "rh": "30"},
        units="us",
        sea_level=True,
    )
    assert view.reading.pressure_kpa == pytest.approx(96.8, abs=0.1)
    assert view.reading.typed["pressure_kpa"] == "29.92 inHg"


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "neither a trace nor a peak"),
        ({"peak-torque": "400 lb-ft"}, "its speed is missing"),
        ({"peak-torque": "400", "at": "4800"}, "unit"),
        ({"peak-torque": "400 hp", "at": "4800"}, "torque"),
        ({"peak-torque": "nan lb-ft", "at": "4800"}, "Peak torque"),
        ({"peak-torque": "400 lb-ft", "at": "48000"}, "out of range"),
        ({"peak-torque": "300 lb-ft", "at": "4800", "peak-power": "500 hp", "power-at": "6200"},
         "more torque at its speed"),
        ({"peak-torque": "600 lb-ft", "at": "6200", "peak-power": "500 hp", "power-at": "6300"},
         "more than the peak power"),
        ({"power-at": "412 rpm", "peak-torque": "620 lb-ft", "at": "3900"},
         "Peak power: a speed of 412 rpm was given without it"),
        ({"warp": "9"}, "no field"),
    ],
)  # fmt: skip
def test_bad_entries_are_refused_and_nothing_is_written(
    shop: Shop, fields: dict[str, str], said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        shop.log(fields)
    assert judge.session_view(shop.desk, shop.session_id).rows == ()


def test_the_baseline_can_be_moved_to_another_set_up(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, timing=30, **air)
    second = shop.peaks(404, timing=32)
    sessions.set_baseline(shop.desk, shop.session_id, (second.pull_id,))
    newest, first = judge.session_view(shop.desk, shop.session_id).rows
    assert newest.is_baseline
    assert first.worth is None or first.worth.difference_kw < 0


def test_a_baseline_of_two_set_ups_is_refused(shop: Shop, air: dict[str, str]) -> None:
    ids = (shop.peaks(400, timing=30, **air).pull_id, shop.peaks(404, timing=32).pull_id)
    with pytest.raises(BadInput, match="different set-ups"):
        sessions.set_baseline(shop.desk, shop.session_id, ids)


def test_pulls_are_found_as_people_name_them(shop: Shop, air: dict[str, str]) -> None:
    logged = shop.peaks(400, **air)
    for ref in (logged.pull_id, logged.pull_id[:13], "rb-2/2026-03-14/1", "RB-2/last/1"):
        assert pulls.find_pull(shop.desk, ref).id == logged.pull_id
    for ref in ("RB-2/2026-03-14/9", "RB-9/last/1", "nonsense", "RB-2/last/²"):
        with pytest.raises(NotFound):
            pulls.find_pull(shop.desk, ref)


def test_a_closed_session_takes_no_pull(shop: Shop, air: dict[str, str]) -> None:
    shop.peaks(400, **air)
    sessions.close_session(shop.desk, shop.session_id)
    with pytest.raises(Conflict, match="closed"):
        shop.peaks(401)


def test_a_correction_of_a_finished_pull_keeps_the_old_value(
    shop: Shop, air: dict[str, str]
) -> None:
    logged = shop.peaks(400, timing=30, **air)
    with pytest.raises(BadInput, match="reason"):
        pulls.change_pull(shop.desk, logged.pull_id, {"oil": "200 F"}, why="")
    pulls.change_pull(
        shop.desk, logged.pull_id, {}, set_up={"timing": "31"}, why="light read again"
    )
    assert judge.session_view(shop.desk, shop.session_id).rows[0].setup.timing_deg == 31
    assert change.history(shop.desk, 1)[0].why == "light read again"
    change.undo_last(shop.desk)
    assert judge.session_view(shop.desk, shop.session_id).rows[0].setup.timing_deg == 30
