"""Calibrations: pairs as written down, what they say, pulls that are flagged or taken through."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest

from logbook.cases import (
    calibrations,
    change,
    compare,
    judge,
    pulls,
    recalibrate,
    safety,
    sessions,
    side_by_side,
    timing,
)
from logbook.cases.calibrations import CalibrationEntry
from logbook.cases.entry import PullEntry
from logbook.cases.scoring import SCORE_VERSION
from logbook.records.calibration import Calibration
from logbook.records.cell import Cell
from logbook.records.pull import Pull
from logbook.refusals import BadInput, Conflict
from logbook.store import lookups
from tests.cases.conftest import Shop, sweep_csv

GOOD = "0:0.0 100:100.1 200:200.1 300:300.2 400:400.3 300:300.1 200:200.0 100:100.0 0:0.0"


def enter(shop: Shop, **given: str) -> calibrations.CalibrationView:
    entry = {"instrument": "load cell", "pairs": GOOD, "unit": "lb-ft", "tolerance": "0.2 %",
             "at": "2026-03-01", "due": "6 months", **given}  # fmt: skip
    return calibrations.add_calibration(shop.desk, "North", CalibrationEntry(**entry))


def codes(shop: Shop, pull_id: str) -> set[str]:
    return {caution.code for caution in judge.pull_story(shop.desk, pull_id).row.cautions}


def test_a_calibration_keeps_its_pairs_and_says_what_they_mean(shop: Shop) -> None:
    view = enter(shop, zero_before="0.0", zero_after="0.1 lb-ft", note="after the new arm")
    one = view.calibration
    assert (one.unit, one.who, one.due_on) == ("lb·ft", "KL", "2026-09-01")
    assert one.readings[:2] == (0.0, 100.1)
    assert one.directions == ("up",) * 5 + ("down",) * 4
    assert one.calibrated_at == "2026-03-01T07:00:00Z"  # midnight in the cell's zone
    assert view.verdict == "within tolerance"
    assert view.figures.worst_percent == pytest.approx(0.075)
    assert view.figures.zero_shift_percent == pytest.approx(0.025)
    assert calibrations.list_calibrations(shop.desk, "north") == [view]
    assert calibrations.show_calibration(shop.desk, one.id[:13]) == view
    assert safety.verify(shop.desk) == []


def test_a_reading_that_changed_by_itself_is_found(shop: Shop) -> None:
    enter(shop)
    assert safety.verify(shop.desk) == []
    with closing(sqlite3.connect(shop.desk.book.path)) as db:
        db.execute("UPDATE calibrations SET readings = replace(readings, '100.1', '101.1')")
        db.commit()
    assert "its pairs are not those typed" in " ".join(safety.verify(shop.desk))


@pytest.mark.parametrize(
    ("text", "readings", "ways"),
    [
        ("0 0.1\n100 100.2\n50 50.1", (0.1, 100.2, 50.1), ("up", "up", "down")),
        ("100:100.2 50:50.1 0:0.1", (100.2, 50.1, 0.1), ("down",) * 3),
        ("up 0:0 100:100 100:101 down 100:102", (0, 100, 101, 102), ("up",) * 3 + ("down",)),
        ("0 = 0.1; 100 = 100,2 up", (0.1, 100.2), ("up", "up")),
    ],
)
def test_pairs_are_read_however_they_are_written(
    shop: Shop, text: str, readings: tuple[float, ...], ways: tuple[str, ...]
) -> None:
    one = enter(shop, pairs=text).calibration
    assert (one.readings, one.directions) == (readings, ways)


def test_weights_on_the_arm_become_torque_by_the_gravity_of_the_place(shop: Shop) -> None:
    hung = {"pairs": "0:0.1 10:72.4 20:144.7", "weights": "kg", "arm": "1000 mm"}
    assumed = enter(shop, **hung)
    assert [caution.code for caution in assumed.cautions] == ["gravity-assumed"]
    here = enter(shop, **hung, latitude="39.7").calibration
    assert here.gravity_m_s2 == pytest.approx(9.8003, abs=2e-4)
    assert here.reference_values[1] == pytest.approx(
        10 * here.gravity_m_s2 * (1 - 1.2 / 8000) / 1.3558179483
    )
    assert here.typed["weights"] == "kg"
    with pytest.raises(BadInput, match="no arm"):
        enter(shop, pairs="0:0 10:72", weights="kg")
    with pytest.raises(BadInput, match="hung with weights"):
        enter(shop, instrument="barometer", unit="inHg", weights="kg", arm="1 m")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"instrument": "scale"}, "not an instrument"),
        ({"unit": "inHg"}, "no unit of a load cell"),
        ({"pairs": "0 0.1 100 100.2"}, "is no pair"),
        ({"pairs": "0:0.1 0:0.2"}, "1 different references"),
        ({"pairs": "0:0.1 100:x"}, "is not a number"),
        ({"pairs": "0:0.1lb-ft 100:100"}, "not a plain number"),
        ({"tolerance": "-1 %"}, "not above zero"),
        ({"tolerance": "3 inHg"}, "a pressure"),
        ({"due": "2026-02-01"}, "not after the calibration"),
        ({"due": "soon"}, "not a date"),
        ({"at": "yesterday"}, "not a time"),
        ({"weights": "kg", "arm": "1 m", "gravity": "9.81 ft/s²"}, "not in m/s²"),
    ],
)
def test_what_is_no_calibration_is_said(shop: Shop, given: dict[str, str], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        enter(shop, **given)
    assert calibrations.list_calibrations(shop.desk) == []


def test_a_tolerance_in_the_unit_and_an_interval_end_on_the_right_day(shop: Shop) -> None:
    view = enter(shop, tolerance="0.2 lb-ft", at="2026-01-31", due="1 month")
    assert (view.calibration.tolerance_in, view.calibration.due_on) == ("unit", "2026-02-28")
    assert view.tolerance_percent == pytest.approx(0.05)
    assert view.verdict == "out of tolerance"
    assert view.overdue
    thermometer = enter(
        shop, instrument="thermo", which="left", unit="F", pairs="32:32.5 212:211", tolerance="2 F"
    )
    assert thermometer.verdict == "within tolerance"
    assert thermometer.tolerance_percent == pytest.approx(100 * 2 / 180)


def test_pulls_after_a_bad_or_overdue_calibration_are_flagged(
    shop: Shop, air: dict[str, str]
) -> None:
    before = shop.peaks(400, timing=30, **air)
    shop.clock.turn(60)
    bad = enter(shop, at="2026-03-14T10:00", pairs="0:0 400:402", due="1 day").calibration
    after = shop.peaks(401, timing=30)
    shop.clock.turn(60 * 24)
    late = shop.peaks(401, timing=30)
    flags = {"calibration-out-of-tolerance", "calibration-overdue"}
    assert codes(shop, before.pull_id).isdisjoint(flags)
    assert codes(shop, after.pull_id) & flags == {"calibration-out-of-tolerance"}
    assert codes(shop, late.pull_id) & flags == flags
    with shop.desk.book.reading() as read:
        assert read.get(Pull, before.pull_id).calibration_id is None
        assert read.get(Pull, late.pull_id).calibration_id == bad.id
    # Another one, entered afterwards for the time before, stood as well.
    enter(shop, at="2026-03-14T09:06", pairs=GOOD)
    assert codes(shop, after.pull_id) & flags == {"calibration-out-of-tolerance"}
    calibrations.change_calibration(shop.desk, bad.id, tolerance="1 %", due="", why="its sheet")
    assert codes(shop, late.pull_id).isdisjoint(flags)
    calibrations.drop_calibration(shop.desk, bad.id)
    with shop.desk.book.reading() as read:
        assert read.get(Pull, late.pull_id).calibration_id is None
        assert read.get(Calibration, bad.id).withdrawn


def test_pulls_are_taken_through_a_calibration_and_back(shop: Shop, air: dict[str, str]) -> None:
    typed, swept = shop.peaks(400, timing=30, **air), shop.trace(1.0, timing=30)
    ids = [typed.pull_id, swept.pull_id]

    def figures(pull_id: str) -> tuple[float | None, float | None, float | None]:
        score = judge.pull_story(shop.desk, pull_id).row.score
        return (score.observed.peak_torque_nm, score.corrected.peak_torque_nm,
                score.corrected.peak_power_kw)  # fmt: skip

    before = [figures(one) for one in ids]
    # The load cell shows one percent too much.
    high = enter(shop, pairs="0:0 200:202 300:303", at="2026-03-20", tolerance="").calibration
    assert recalibrate.apply_calibration(shop.desk, high.id, ids, why="found high") == 2
    for (observed, torque, power), now in zip(before, [figures(one) for one in ids], strict=True):
        assert now[0] == observed, "what was shown stays"
        assert now[1] == pytest.approx(torque / 1.01)
        assert now[2] == pytest.approx(power / 1.01)
    said = [c.text for c in judge.pull_story(shop.desk, swept.pull_id).row.cautions
            if c.code == "recalibrated"]  # fmt: skip
    assert "calibration of 2026-03-20; above 300 lb·ft" in said[0]
    assert safety.verify(shop.desk) == []
    with pytest.raises(Conflict):
        calibrations.drop_calibration(shop.desk, high.id)
    change.undo_last(shop.desk)
    assert [figures(one) for one in ids] == before
    change.redo_last(shop.desk)
    assert recalibrate.take_off_calibration(shop.desk, ids) == 2
    assert [figures(one) for one in ids] == before


def test_a_calibration_is_made_good_only_by_one_that_mends_what_it_found(
    shop: Shop, air: dict[str, str]
) -> None:
    older = enter(shop, pairs="0:0 400:400.1", at="2026-03-01").calibration
    shop.clock.turn(60)
    high = enter(shop, pairs="0:0 200:202 400:404", at="2026-03-14T10:00").calibration
    pull = shop.peaks(400, timing=30, **air).pull_id
    bad = "calibration-out-of-tolerance"
    assert bad in codes(shop, pull)
    for one, mended in ((high, True), (older, False)):
        recalibrate.apply_calibration(shop.desk, one.id, [pull])
        assert (bad not in codes(shop, pull)) is mended
    for pairs, shift, mended in (
        ("0:0 200:202 400:404.05", {}, True),  # within 0.2 % of its own line
        ("0:0 200:208 300:303 400:404", {}, False),  # scatters about it
        ("0:0 200:202 400:404", {"zero_before": "0", "zero_after": "3"}, False),
    ):
        one = enter(shop, pairs=pairs, at="2026-03-20", **shift).calibration
        recalibrate.apply_calibration(shop.desk, one.id, [pull])
        assert (bad not in codes(shop, pull)) is mended, pairs
        recalibrate.take_off_calibration(shop.desk, [pull])
        calibrations.drop_calibration(shop.desk, one.id)


def test_pulls_before_a_calibration_that_found_the_instrument_out_are_flagged(
    shop: Shop, air: dict[str, str]
) -> None:
    enter(shop, at="2026-03-01")
    pull = shop.peaks(400, timing=30, **air).pull_id
    flag = "found-out-of-tolerance"
    assert flag not in codes(shop, pull)
    found = enter(shop, at="2026-04-01", pairs="0:0 200:202 400:404").calibration
    enter(shop, at="2026-04-02", pairs="0:0 200:206 400:412")  # not the first one after
    (said,) = [c.text for c in judge.pull_story(shop.desk, pull).row.cautions if c.code == flag]
    assert said == (
        "After this pull, on 2026-04-01, the load cell was found out of tolerance:"
        " 1.00 % of span, tolerance 0.2 % of span"
    )
    recalibrate.apply_calibration(shop.desk, found.id, [pull])
    assert flag not in codes(shop, pull)


def test_below_the_least_load_of_a_calibration_is_said(shop: Shop, air: dict[str, str]) -> None:
    pull = shop.trace(1.0, timing=30).pull_id  # 222 to 400 lb·ft
    high = enter(shop, pairs="250:252 300:303 350:353", at="2026-03-20T20:00").calibration
    recalibrate.apply_calibration(shop.desk, high.id, [pull])
    (said,) = [c.text for c in judge.pull_story(shop.desk, pull).row.cautions
               if c.code == "recalibrated"]  # fmt: skip
    assert said == (
        "Corrected torque is taken through the load cell's calibration of 2026-03-20; below"
        " 250 lb·ft, where it began, and above 350 lb·ft, where it ended, its fit is carried on"
    )


def test_days_are_those_of_the_cell(shop: Shop) -> None:
    """20:00 in Denver is the day after by universal time."""
    view = enter(shop, at="2026-03-10T20:00", due="1 day")
    assert view.calibration.due_on == "2026-03-11"
    shop.clock.moment = datetime(2026, 3, 11, 3, tzinfo=UTC)
    assert not calibrations.show_calibration(shop.desk, view.calibration.id).overdue
    shop.clock.moment = datetime(2026, 3, 11, 7, tzinfo=UTC)
    assert calibrations.show_calibration(shop.desk, view.calibration.id).overdue


def test_only_what_the_load_cell_showed_is_taken_through(shop: Shop, air: dict[str, str]) -> None:
    logged = shop.peaks(400, timing=30, **air)
    barometer = enter(shop, instrument="barometer", unit="inHg", pairs="28:28 30:30.1").calibration
    with pytest.raises(BadInput, match="load cell in torque"):
        recalibrate.apply_calibration(shop.desk, barometer.id, [logged.pull_id])
    high = enter(shop, pairs="0:0 200:202").calibration
    path = shop.folder / "corrected.csv"
    path.write_text(sweep_csv(1.0))
    corrected = pulls.add_pull(
        shop.desk,
        PullEntry(session_id=shop.session_id, trace=path, torque_state="sae-j1349"),
    )
    with pytest.raises(BadInput, match="had corrected the torque already"):
        recalibrate.apply_calibration(shop.desk, high.id, [logged.pull_id, corrected.pull_id])
    with shop.desk.book.reading() as read:
        assert read.get(Pull, logged.pull_id).recalibration_id is None


def test_pulls_on_different_scales_are_not_judged_against_each_other(
    shop: Shop, air: dict[str, str]
) -> None:
    base = [shop.peaks(torque, timing=30, **air) for torque in (400, 400.2, 399.9)]
    same = [shop.peaks(torque, timing=32) for torque in (400.1, 399.8, 400)]
    ids = [one.pull_id for one in same]
    low = enter(shop, pairs="0:0 200:194 300:291 500:485", at="2026-03-20", tolerance="")

    def said() -> list[str]:
        view = judge.session_view(shop.desk, shop.session_id)
        return [c.text for c in view.cautions if c.code == "another-calibration"]

    def told(pull_id: str) -> tuple[str, str]:
        found = judge.answer(shop.desk, shop.session_id, pull_id)
        return found.row.worth.verdict if found.row.worth else "", found.why_none

    assert said() == []
    plain, _ = told(ids[-1])
    recalibrate.apply_calibration(shop.desk, low.calibration.id, ids)
    assert said() == [
        "Pulls 1–3 taken through no calibration, pulls 4–6 taken through the load cell's"
        " calibration of 2026-03-20: they are not compared; take all of them through one, or none"
    ]
    assert told(ids[-1]) == (
        "",
        "Pulls 1 and 6 are not taken through the same calibration of the load cell: take all of"
        " them through one, or none",
    )
    beside = compare.compare(shop.desk, base[0].pull_id, ids[0])
    assert beside.worth is None
    assert "same calibration" in beside.why_no_worth
    left_out = timing.timing_view(shop.desk, shop.session_id).left_out
    assert [number for _, number, _ in left_out] == [1, 2, 3]
    recalibrate.apply_calibration(shop.desk, low.calibration.id, [b.pull_id for b in base])
    assert (said(), told(ids[-1])[0]) == ([], plain)


def test_another_calibration_between_sessions_is_not_controlled(
    shop: Shop, air: dict[str, str]
) -> None:
    base = tuple(shop.peaks(torque, timing=30, **air).pull_id for torque in (400, 400.2))
    shop.clock.turn(60 * 24)
    shop.session_id = sessions.open_session(shop.desk, "RB-2", baseline=base).id
    here = shop.peaks(400.1, timing=30, **air).pull_id

    def reason() -> str:
        worth = judge.pull_story(shop.desk, here).worth
        assert worth is not None
        return worth.reason

    assert "Not controlled" not in reason()
    low = enter(shop, pairs="0:0 500:485", at="2026-03-20", tolerance="").calibration
    recalibrate.apply_calibration(shop.desk, low.id, [here])
    assert "Not controlled: another calibration of the load cell." in reason()
    view = judge.session_view(shop.desk, shop.session_id)
    assert "What the load cell changed is in the difference" in " ".join(
        c.text for c in view.cautions
    )
    sides = side_by_side.compare_sides(shop.desk, "RB-2/2026-03-14", "RB-2/2026-03-15")
    assert sides.uncontrolled == ("another calibration of the load cell",)
    recalibrate.apply_calibration(shop.desk, low.id, base)
    assert "Not controlled" not in reason()


def test_a_day_partly_taken_through_a_calibration_counts_with_its_larger_part(
    shop: Shop, air: dict[str, str]
) -> None:
    pulls.new_air(shop.desk, shop.session_id, air, units=None)
    ids = [shop.trace(1.0 + part / 1000, timing=30).pull_id for part in (0, 1, -1, 2, -2)]
    low = enter(shop, pairs="0:0 500:485", at="2026-03-20", tolerance="").calibration
    recalibrate.apply_calibration(shop.desk, low.id, ids[3:])
    shop.clock.turn(60 * 24)
    shop.session_id = sessions.open_session(shop.desk, "RB-2").id
    shop.peaks(400, timing=30, **air)
    shop.trace(1.0003, timing=30)
    sides = side_by_side.compare_sides(shop.desk, "RB-2/2026-03-14", "RB-2/2026-03-15")
    assert [c.text for c in sides.cautions] == [
        "RB-2/2026-03-14: pulls 4–5 taken through another calibration of the load cell than the"
        " rest: left out"
    ]
    assert sides.worth.percent == pytest.approx(0.03, abs=0.001)
    with shop.desk.book.reading() as read:
        (cell,) = read.where(Cell)
        rows = lookups.scores_of_earlier_sessions(
            read, cell.id, before="9", version=SCORE_VERSION, sessions=1
        ) + lookups.scores_of_earlier_sessions(
            read, cell.id, before="2026-03-15", version=SCORE_VERSION, sessions=1
        )
        means = lookups.session_means(
            read, cell.id, standard="sae-j1349", version=SCORE_VERSION, sessions=5
        )
    assert len({fingerprint for _, _, fingerprint, _, _ in rows}) == 2, "no noise of a cell"
    assert len({fingerprint for *_, fingerprint in means}) == 2, "nor how it reproduces"
