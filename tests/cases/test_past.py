"""Pulls of the past: old files and old sheets, resumable, refused one by one."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from logbook.cases import change, past
from logbook.cases.backfill import PastFile, files_in
from logbook.cases.past import Outcome, Terms, take_all
from logbook.cases.past_sheet import rows_of
from logbook.cases.pulls import find_pull
from logbook.records.air import AirReading
from logbook.records.pull import Pull
from logbook.records.session import CLOSED, Session
from logbook.refusals import BadFile
from logbook.store.safety import verify
from tests.cases.conftest import Shop, sweep_csv
from tests.cases.test_parts import evening

TERMS = Terms("RB-2", band="4500-6500", set_up={"fuel": "Tango"}, torque_state="observed")


@pytest.fixture
def archive(shop: Shop) -> Path:
    """Files of two days in 2009, one below the other's folder, and things that are no pulls."""
    folder = shop.folder / "old"
    (folder / "may").mkdir(parents=True)
    for name, scale, day, hour in (
        ("a.csv", 1.0, 4, 15), ("b.csv", 1.01, 4, 16), ("may/c.csv", 1.02, 6, 15),
    ):  # fmt: skip
        path = folder / name
        path.write_text(sweep_csv(scale))
        moment = datetime(2009, 5, day, hour, tzinfo=UTC).timestamp()
        os.utime(path, (moment, moment))
    (folder / "shopping.txt").write_text("plugs\n")
    (folder / "photo.jpg").write_bytes(b"\xff\xd8")
    return folder


def run(shop: Shop, folder: Path, terms: Terms = TERMS, *, dry_run: bool = False) -> list[Outcome]:
    items = [PastFile(path, terms) for path in files_in([folder])]
    return list(take_all(shop.desk, items, dry_run=dry_run))


def short(outcomes: list[Outcome]) -> list[tuple[str, str]]:
    return [(Path(one.name).name, one.what) for one in outcomes]


def test_each_day_becomes_a_closed_session_and_each_file_its_pulls(
    shop: Shop, archive: Path
) -> None:
    assert short(run(shop, archive)) == [
        ("a.csv", "taken"), ("b.csv", "taken"), ("c.csv", "taken"), ("shopping.txt", "refused"),
    ]  # fmt: skip
    with shop.desk.book.reading() as read:
        days = read.where(Session, purpose=past.PURPOSE, order="opened_at")
        pulls = [read.where(Pull, session_id=day.id, order="number") for day in days]
        setup = read.setup(pulls[0][0].setup_id)
    assert [(day.opened_at[:10], day.status) for day in days] == [
        ("2009-05-04", CLOSED), ("2009-05-06", CLOSED),
    ]  # fmt: skip
    assert [[pull.at for pull in one] for one in pulls] == [
        ["2009-05-04T15:00:00Z", "2009-05-04T16:00:00Z"], ["2009-05-06T15:00:00Z"],
    ]  # fmt: skip
    assert {name: level.text for name, level in setup.levels.items()} == {"fuel": "Tango"}
    assert verify(shop.desk.book) == []


def test_begun_again_it_leaves_alone_what_was_taken(shop: Shop, archive: Path) -> None:
    run(shop, archive)
    again = run(shop, archive)
    assert [what for _, what in short(again)] == ["taken before"] * 3 + ["refused"]
    assert again[0].pulls == ("RB-2/2009-05-04/1",)
    (archive / "d.csv").write_text(sweep_csv(1.05))
    os.utime(archive / "d.csv", (datetime(2009, 5, 4, 17, tzinfo=UTC).timestamp(),) * 2)
    (taken,) = (one for one in run(shop, archive) if one.what == "taken")
    assert taken.pulls == ("RB-2/2009-05-04/3",)


def test_a_stop_half_way_loses_only_the_batch_under_way(
    shop: Shop, archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(past, "BATCH", 2)
    items = [PastFile(path, TERMS) for path in files_in([archive])]
    outcomes = take_all(shop.desk, items)
    assert [next(outcomes).what, next(outcomes).what] == ["taken", "taken"]
    outcomes.close()  # type: ignore[attr-defined]
    assert [what for _, what in short(run(shop, archive))] == [
        "taken before", "taken before", "taken", "refused",
    ]  # fmt: skip


def test_a_dry_run_says_the_same_and_writes_nothing(shop: Shop, archive: Path) -> None:
    with shop.desk.book.reading() as read:
        before = len(read.where(Session)), len(read.changes())
    dry = run(shop, archive, dry_run=True)
    with shop.desk.book.reading() as read:
        assert (len(read.where(Session)), len(read.changes())) == before
        assert read.source_of_content("x") is None
    assert run(shop, archive) == dry


def test_nothing_is_carried_forward_from_today(shop: Shop, archive: Path) -> None:
    shop.trace(1.1, timing=34)
    run(shop, archive, Terms("RB-2", torque_state="observed"))
    pull = find_pull(shop.desk, "RB-2/2009-05-04/1")
    with shop.desk.book.reading() as read:
        assert read.setup(pull.setup_id).levels == {}
    assert pull.air_id is None


def test_a_log_with_several_pulls_is_taken_whole(shop: Shop) -> None:
    folder = shop.folder / "old"
    folder.mkdir()
    evening(folder / "evening.csv")
    (one,) = run(shop, folder)
    assert len(one.pulls) == 4
    assert "4 pulls" in one.text
    (again,) = run(shop, folder)
    assert (again.what, again.pulls) == ("taken before", one.pulls)


def test_undo_takes_a_batch_back_and_it_can_be_taken_again(shop: Shop, archive: Path) -> None:
    run(shop, archive)
    assert change.undo_last(shop.desk).sentence == "Taken back: 3 pulls of the past logged"
    assert [what for _, what in short(run(shop, archive))] == ["taken"] * 3 + ["refused"]
    assert verify(shop.desk.book) == []


def test_an_unknown_engine_or_path_is_refused(shop: Shop, archive: Path) -> None:
    assert {what for _, what in short(run(shop, archive, Terms("XX-1")))} == {"refused"}
    assert {what for _, what in short(run(shop, archive, Terms()))} == {"refused"}
    with pytest.raises(BadFile, match="no such file or folder"):
        files_in([archive / "nowhere"])


SHEET = """Date,Engine,Timing,Main jets,Peak power [hp],Power at,Peak torque [lb-ft],At,\
Barometer [inHg],Air temperature [F],RH,Note
5/4/2009,RB-2,30,82,401,6100,389,4600,29.42,78,41,rings fresh
5/4/2009,RB-2,32,82,405,6100,391,4600,29.41,79,40,
5/14/2009,RB-2,32,84,404,6100,391,4600,,,,
5/14/2009,XX-9,32,84,404,6100,391,4600,,,,
5/14/2009,RB-2,32,84,404,6100,491,4600,,,,
,RB-2,32,84,404,6100,391,4600,,,,
"""


@pytest.fixture
def sheet(shop: Shop) -> Path:
    path = shop.folder / "paper.csv"
    path.write_text(SHEET)
    return path


def take(shop: Shop, sheet: Path, *, dry_run: bool = False) -> list[Outcome]:
    return list(take_all(shop.desk, rows_of(sheet, Terms()), dry_run=dry_run))


def test_each_row_becomes_a_pull_of_typed_peaks(shop: Shop, sheet: Path) -> None:
    found = take(shop, sheet)
    assert [one.what for one in found] == ["taken"] * 3 + ["refused"] * 3
    assert found[0].name == "paper.csv, line 2"
    assert found[0].text.startswith("2009-05-04, RB-2, timing 30, main jets 82, peak power 401 hp")
    assert ["engine" in found[3].text, "Peak power" in found[4].text, "Date" in found[5].text]
    assert [one.pulls for one in found[:3]] == [
        ("RB-2/2009-05-04/1",), ("RB-2/2009-05-04/2",), ("RB-2/2009-05-14/1",),
    ]  # fmt: skip
    first, third = (find_pull(shop.desk, one.pulls[0]) for one in (found[0], found[2]))
    assert first.peak_power_kw == pytest.approx(401 * 0.745699872)
    assert (first.typed["peak_power_kw"], first.notes) == ("401 hp", "rings fresh")
    with shop.desk.book.reading() as read:
        assert first.air_id is not None
        assert read.get(AirReading, first.air_id).temperature_c == pytest.approx(25.56, abs=0.01)
        assert read.setup(first.setup_id).timing_deg == 30
    # A row without weather is not corrected with that of another one.
    assert third.air_id is None
    assert verify(shop.desk.book) == []


def test_a_sheet_taken_again_finds_its_own_rows(shop: Shop, sheet: Path) -> None:
    dry = take(shop, sheet, dry_run=True)
    first = take(shop, sheet)
    assert first == dry
    assert [one.what for one in take(shop, sheet)] == ["taken before"] * 3 + ["refused"] * 3
    sheet.write_text(SHEET + "5/20/2009,RB-2,33,84,406,6100,392,4600,,,,\n")
    assert [one.what for one in take(shop, sheet)][-1] == "taken"


def test_a_sheet_without_dates_is_refused(shop: Shop) -> None:
    path = shop.folder / "paper.csv"
    path.write_text("day,peak power [hp]\n1,2\n")
    with pytest.raises(BadFile, match='no column "date"'):
        rows_of(path, Terms())
