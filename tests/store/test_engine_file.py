"""The engine's file in the book: kept, searched, merged, rescued, migrated, and its files."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from logbook.records.attachment import Attachment
from logbook.records.build_item import BuildItem
from logbook.records.calibration import Calibration
from logbook.records.due_mark import DueMark
from logbook.records.engine import Build
from logbook.records.ids import new_id
from logbook.records.inspection import Clearance, Inspection
from logbook.records.pull import Pull
from logbook.refusals import BadFile, BadInput, Conflict
from logbook.store import attached, migrations
from logbook.store.book import Book
from logbook.store.query import parse_query
from logbook.store.rescue import rescue
from logbook.store.safety import backup, verify
from logbook.store.search import find
from tests.store.conftest import OPENED, Shop
from tests.store.joined import held, merge


def filed(shop: Shop, photo: Path) -> dict[str, Any]:
    """One record of every kind in the shop's book."""
    sha256, size = attached.keep(shop.book.path, photo)
    look = Inspection(
        new_id(), shop.engine.id, "2026-03-13", build_id=shop.build.id, kind="before the season",
        leak_down_percent=(4.0, None, 5.5, 3.0), plugs=("tan", "tan", "specks", ""),
        typed={"leak_down_percent": "4 - 5.5 3 %"},
    )  # fmt: skip
    records = {
        "item": BuildItem(
            new_id(), shop.build.id, "ring pack", "top ring", text="1.0 mm", number=1.0, unit="mm",
            per_cylinder=(0.35, None, 0.36, 0.35), low=0.3, high=0.4, done="new",
        ),
        "inspection": look,
        "clearance": Clearance(new_id(), look.id, "main bearing", 0.05, "main 3", 0.03, 0.06),
        "calibration": Calibration(
            new_id(), shop.cell.id, OPENED, "load cell", "N·m", (0.0, 100.0, 0.0),
            (0.1, 100.3, 0.0), ("up", "up", "down"), due_on="2026-09-14",
        ),
        "due": DueMark(new_id(), shop.engine.id, "oil", OPENED, limit_pulls=25),
        "file": Attachment(
            new_id(), "ring gap.jpg", sha256, size, "image/jpeg", OPENED, build_id=shop.build.id
        ),
    }  # fmt: skip
    with shop.book.changing(who="K. L.", what="Filed") as change:
        for record in records.values():
            change.insert(record)
    return records


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "photo.jpg"
    path.write_bytes(b"\xff\xd8\xff" + bytes(range(256)))
    return path


@pytest.fixture
def other(template: Shop, tmp_path: Path) -> Iterator[Book]:
    """Another cell's book that began as the same one."""
    path = tmp_path / "other" / "other.db"
    path.parent.mkdir()
    shutil.copy(template.book.path, path)
    with Book.open(path) as book:
        yield book


def test_all_of_it_comes_back_as_it_went_in_and_is_taken_back_as_one(
    shop: Shop, photo: Path
) -> None:
    records = filed(shop, photo)
    with shop.book.reading() as read:
        for record in records.values():
            assert read.get(type(record), record.id) == record
        group = read.changes(1)[0].group
    assert verify(shop.book) == []
    with shop.book.changing(who="x") as change:
        change.undo(group)
    with shop.book.reading() as read:
        assert not any(read.where(type(record)) for record in records.values())
    assert verify(shop.book) == []


def test_the_views_lay_it_out_in_rows(shop: Shop, photo: Path) -> None:
    records = filed(shop, photo)
    pull = shop.pull(at="2026-10-01T08:00:00Z")
    early = shop.pull(at="2026-03-01T08:00:00Z")
    gaps = shop.plain_sql("SELECT build, item, cylinder, cylinder_value FROM build_sheets")
    assert gaps[:2] == [
        ("first rings", "top ring", 1, 0.35), ("first rings", "top ring", 2, None)
    ]  # fmt: skip
    leaks = "SELECT cylinder, leak_down_percent, plug FROM inspected_cylinders ORDER BY cylinder"
    assert shop.plain_sql(leaks)[2] == (3, 5.5, "specks")
    points = shop.plain_sql("SELECT reference_value, reading, direction FROM calibration_points")
    assert points == [(0.0, 0.1, "up"), (100.0, 100.3, "up"), (0.0, 0.0, "down")]
    stood = shop.plain_sql("SELECT pull_id, calibration_id, overdue FROM pull_calibrations")
    assert stood == [(pull.id, records["calibration"].id, 1)]
    assert early.id not in {row[0] for row in stood}
    assert shop.plain_sql("SELECT name, engine, build FROM attached_files") == [
        ("ring gap.jpg", "Otter", "first rings")
    ]


@pytest.mark.parametrize("words", ["top ring", "specks", "part:top", 'file:"ring gap"', "season"])
def test_pulls_are_found_by_what_is_in_their_build(shop: Shop, photo: Path, words: str) -> None:
    pull = shop.pull()
    records = filed(shop, photo)
    query = parse_query(words, now=datetime(2026, 4, 1, tzinfo=UTC))
    with shop.book.reading() as read:
        assert [hit.pull_id for hit in find(read, query)] == [pull.id]
    with shop.book.changing(who="x") as change:
        for record in (records["item"], records["file"], records["clearance"]):
            change.withdraw(type(record), record.id)
        change.withdraw(Inspection, records["inspection"].id)
    with shop.book.reading() as read:
        assert find(read, query) == []
    assert verify(shop.book) == []


@pytest.mark.parametrize(
    ("record", "said"),
    [
        ({"done": "polished"}, "n item is new, kept, reclaimed or rejected"),
        ({"name": " "}, "n item needs a name"),
        ({"low": 2.0, "high": 1.0}, "low end must not be above"),
        ({"per_cylinder": (1.0, float("nan"))}, "not a finite number"),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_sentence(
    shop: Shop, record: dict[str, Any], said: str
) -> None:
    item = BuildItem(new_id(), shop.build.id, "pistons", "skirt")
    with pytest.raises(BadInput, match=said), shop.book.changing(who="x") as change:
        change.insert(replace(item, **record))


def test_nothing_goes_that_something_else_leans_on(shop: Shop, photo: Path) -> None:
    records = filed(shop, photo)
    shop.pull(calibration_id=records["calibration"].id)
    for kind, record in ((Inspection, "inspection"), (Calibration, "calibration")):
        with pytest.raises(Conflict, match="still belong"), shop.book.changing(who="x") as change:
            change.withdraw(kind, records[record].id)


def test_a_calibration_that_is_applied_makes_the_figures_anew(shop: Shop, photo: Path) -> None:
    calibration = filed(shop, photo)["calibration"]
    pull = shop.pull(power_kw=100.0, recalibration_id=calibration.id)
    before = shop.stamp()
    with shop.book.changing(who="x") as change:
        change.update(Calibration, calibration.id, readings=(0.1, 100.9, 0.0))
    with shop.book.reading() as read:
        assert read.score(pull.id) is None
    assert shop.stamp() > before


def test_files_are_kept_once_checked_and_saved_as_they_were(
    shop: Shop, photo: Path, tmp_path: Path
) -> None:
    record = filed(shop, photo)["file"]
    kept = attached.place_of(shop.book.path, record.sha256)
    assert attached.keep(shop.book.path, photo) == (record.sha256, photo.stat().st_size)
    assert [one for one in attached.folder_of(shop.book.path).rglob("*") if one.is_file()] == [kept]
    attached.save_as(shop.book.path, record.sha256, tmp_path / "again.jpg")
    assert (tmp_path / "again.jpg").read_bytes() == photo.read_bytes()
    with pytest.raises(Conflict):
        attached.save_as(shop.book.path, record.sha256, tmp_path / "again.jpg")
    kept.write_bytes(b"spoiled")
    assert ["hash" in said for said in verify(shop.book)] == [True]
    with pytest.raises(BadFile, match="damaged"):
        attached.save_as(shop.book.path, record.sha256, tmp_path / "no.jpg")
    attached.keep(shop.book.path, photo)  # attached again it is whole again
    assert verify(shop.book) == []
    kept.unlink()
    assert ["not there" in said for said in verify(shop.book)] == [True]


def test_copies_of_the_book_have_their_files(shop: Shop, photo: Path, tmp_path: Path) -> None:
    record = filed(shop, photo)["file"]
    copies = [backup(shop.book, tmp_path / "stick" / "copy.db"), shop.book.keep_copy("by-itself")]
    for copy in copies:
        with Book.open(copy) as book:
            assert verify(book) == []
            assert attached.hash_of(attached.place_of(copy, record.sha256)) == record.sha256


def test_a_merge_takes_it_along_and_asks_about_an_item_entered_twice(
    shop: Shop, other: Book, photo: Path
) -> None:
    records = filed(shop, photo)
    assert not merge(other, shop.book.path).both.clashes
    assert merge(other, shop.book.path).nothing_new
    assert held(other.path)["build_items"] == held(shop.book.path)["build_items"]
    twice = BuildItem(new_id(), shop.build.id, "Ring pack", "top  ring", text="1.2 mm")
    again = replace(records["item"], id=new_id(), name="second ring")
    with shop.book.changing(who="x") as change:
        change.insert(replace(again, id=new_id()))
    with other.changing(who="y") as change:
        change.insert(again)
        change.withdraw(BuildItem, records["item"].id)
        change.insert(twice)
    with shop.book.changing(who="x") as change:
        change.insert(replace(twice, id=new_id(), text="1.5 mm"))
        change.withdraw(BuildItem, records["item"].id)
    (clash,) = merge(other, shop.book.path).both.open
    assert clash.kind == "one item of a build was entered in both books"
    merge(other, shop.book.path, {clash.code: "there"})
    with other.reading() as read:
        assert [item.text for item in read.where(BuildItem, name="top  ring")] == ["1.5 mm"]
        assert len(read.where(BuildItem, name="second ring")) == 1
    assert [said for said in verify(other) if "not there" not in said] == []


def test_of_a_damaged_book_all_of_it_is_rescued(shop: Shop, photo: Path, tmp_path: Path) -> None:
    records = filed(shop, photo)
    shop.pull(calibration_id=records["calibration"].id)
    shop.plain_sql("PRAGMA foreign_keys = OFF")
    with closing(sqlite3.connect(shop.book.path)) as db:
        db.execute("DROP TRIGGER calibrations_kept")
        db.execute("DROP TRIGGER inspections_kept")
        db.execute("DELETE FROM calibrations")
        db.execute("DELETE FROM inspections")
        db.commit()
    rescued = rescue(shop.book.path, tmp_path / "new.db", who="x")
    assert rescued.saved["build item"] == rescued.saved["due mark"] == 1
    assert any("its calibration" in said for said in rescued.lost)
    with Book.open(rescued.path) as book, book.reading() as read:
        assert read.where(BuildItem) == [records["item"]]
        assert read.where(Pull)[0].calibration_id is None
        assert read.get(Inspection, records["inspection"].id).kind.startswith("LOST-")
        assert read.get(Clearance, records["clearance"].id) == records["clearance"]


def test_a_book_from_before_is_brought_up_and_can_still_be_rescued(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = [step.name for step in migrations.MIGRATIONS]
    before = migrations.MIGRATIONS[: steps.index(migrations.ENGINE_FILE_STEP)]
    old = tmp_path / "old.db"
    with monkeypatch.context() as past:
        past.setattr(migrations, "MIGRATIONS", before)
        with closing(sqlite3.connect(old, isolation_level=None)) as db:
            migrations.migrate(db, old)
            migrations.drop_made(db)
            db.execute("INSERT INTO engines (id, tag, strokes, ignition, aspiration)"
                       f" VALUES ('{shop.engine.id}', 'Otter', 4, 'spark', 'natural')")  # fmt: skip
            migrations.make_again(db)
    assert rescue(old, tmp_path / "rescued.db", who="x").saved["engine"] == 1
    with Book.open(old) as book:
        with book.changing(who="x") as change:
            build = Build(change.insert(Build(new_id(), shop.engine.id, "b")), shop.engine.id, "b")
            change.insert(BuildItem(new_id(), build.id, "pistons", "skirt"))
        assert verify(book) == []
