"""The whole book in open formats, and back: the same record by record."""

from __future__ import annotations

import csv
import json
import shutil
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from logbook.cases import (
    archive,
    attachments,
    builds,
    calibrations,
    change,
    due,
    engines,
    finding,
    inspections,
    judge,
    landing,
    pulls,
    safety,
    sessions,
)
from logbook.cases.attachments import Owner
from logbook.cases.calibrations import CalibrationEntry
from logbook.cases.desk import open_desk
from logbook.cases.entry import PullEntry
from logbook.cases.inspections import ClearanceEntry
from logbook.refusals import BadFile, BookTrouble, Conflict, Refusal
from logbook.store import archive as kept
from logbook.store import archive_words, attached
from logbook.store.archive_formats import FORMS
from logbook.store.archive_shelf import shelf_at
from logbook.store.migrations import MIGRATIONS, migrate
from logbook.store.reader import Reader
from tests.cases.conftest import AIR, Shop

HOSTILE = "=1+1 'so' \x1b[31m \u202e \\u001b \\ \t\r\n0012 \U000e0041 \ufeff end'"


def tables(book: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every table that anybody enters something in, row by row."""
    with closing(sqlite3.connect(f"file:{book}?mode=ro", uri=True)) as db:
        return {
            shape.name: sorted(db.execute(f"SELECT * FROM {shape.name}"), key=repr)
            for shape in kept.shapes(Reader(db))
        }


def full(shop: Shop) -> Shop:
    """Something in every table, hostile texts, gaps in a trace, things taken back and undone."""
    desk = shop.desk
    engines.change_engine(desk, "RB-2", {"owner": "'; DROP", "note": HOSTILE})
    engines.add_fuel(desk, "Tango", {"note": "0012"})
    pulls.new_air(desk, shop.session_id, AIR, units=None)
    entry = CalibrationEntry("load cell", "0:0 100:100.1 200:200.3", "lb-ft", at="2026-03-01")
    calibrations.add_calibration(desk, "North", entry)
    rows = ["Engine speed [rpm],Torque [lb-ft],Torque [lb-ft],=Odd [zorks],e"]
    rows += [f"{n},{300 + n / 1e4:.2f},{n % 7 or ''},-0.{n % 10},{n * 1e-30:.3e}"
             for n in range(4000, 7001, 50)]  # fmt: skip
    (shop.folder / "=odd name.CSV").write_text("\n".join(rows) + "\n")
    watch = landing.FolderWatch(shop.folder, tick=iter(range(100)).__next__)
    landing.choose_app_folder(desk, shop.folder)
    for _ in range(3):
        landing.take_in(desk, watch.look(desk))
    shop.trace(1.0, timing=30)
    pulls.add_pull(desk, PullEntry(session_id=shop.session_id, trace=shop.folder / "=odd name.CSV",
                                   torque_state="observed"))  # fmt: skip
    shop.log({"peak-torque": "398 lb-ft", "at": "4800", "note": HOSTILE, "observed": "007"})
    pulls.change_pull(desk, pulls.find_pull(desk, "RB-2/last/3").id, {},
                      set_up={"jets": "+2", "'plug": "=A1"}, why=HOSTILE)  # fmt: skip
    sessions.set_baseline(desk, shop.session_id, (pulls.find_pull(desk, "RB-2/last/1").id,))
    pulls.exclude(desk, pulls.find_pull(desk, "RB-2/last/2").id, "'")
    builds.set_item(desk, "RB-2", None, "ring pack", "top ring", {"value": "0.043 in"})
    inspections.add_inspection(desk, "RB-2", {"leak-down": "4 5 4 6 4 5 19 4"},
                               clearances=[ClearanceEntry("main", "0.05 mm")])  # fmt: skip
    due.add_due(desk, "RB-2", "oil", {"pulls": "40"})
    photo = shop.folder / "plug 3.jpg"
    photo.write_bytes(bytes(range(256)))
    attachments.attach(desk, photo, Owner(engine="RB-2"), note="specks")
    shop.peaks(399)
    change.undo_last(desk)
    return shop


@pytest.fixture
def told(shop: Shop) -> Shop:
    return full(shop)


@pytest.mark.parametrize("form", FORMS)
def test_a_book_made_of_an_archive_is_equal_record_by_record(told: Shop, form: str) -> None:
    before = tables(told.desk.book.path)
    assert all(before.values()), "something of everything goes through"
    target = told.folder / ("shop.zip" if form == "jsonl" else "shop")
    written = archive.write_archive(told.desk, target, form)
    assert written.missing == ()
    new = told.folder / "new" / "book.db"
    done = archive.import_archive(target, new, who="somebody else")
    assert done.rows == {table: len(rows) for table, rows in before.items()}
    assert tables(new) == before
    desk = open_desk(new, create=False, now=told.clock)
    assert safety.verify(desk) == []
    assert finding.find(desk, "oil:>0 OR specks") == finding.find(told.desk, "oil:>0 OR specks")
    assert judge.session_view(desk, told.session_id) == judge.session_view(
        told.desk, told.session_id
    )
    (photo,) = attachments.list_attached(desk, "RB-2")
    assert photo.path.read_bytes() == bytes(range(256))
    assert photo.path.is_relative_to(attached.folder_of(new))
    desk.close()


def test_what_was_recorded_stands_there_as_it_was_printed(told: Shop) -> None:
    target = told.folder / "shop"
    archive.write_archive(told.desk, target, "csv")
    (trace,) = (target / "traces").rglob("pull-002-*.csv")
    with trace.open(encoding="utf-8", newline="") as file:
        heads, first, second, *_ = csv.reader(file)
    assert heads[:2] == ["Engine speed [rpm]", "Torque [lb·ft]"]
    assert first[:2] == ["4000", "300.40"]
    assert (first[2], second[2]) == (str(4000 % 7), str(4050 % 7))
    assert {path.read_bytes() for path in (target / "sources").iterdir()} >= {
        (told.folder / "=odd name.CSV").read_bytes()
    }
    for path in (target / "records").iterdir():
        with path.open(encoding="utf-8", newline="") as file:
            for cell in (cell for row in csv.reader(file) for cell in row):
                assert not cell.lstrip().startswith(("=", "@", "+")), cell


def test_every_table_goes_out_or_is_computed_and_every_column_is_told(told: Shop) -> None:
    with closing(sqlite3.connect(told.desk.book.path)) as db:
        every = {row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type='table'")}
        found = kept.shapes(Reader(db))
    names = {shape.name for shape in found}
    assert {name for name in every if not name.startswith("sqlite_")} - names == kept.DERIVED
    archive.write_archive(told.desk, told.folder / "shop", "jsonl")
    with (told.folder / "shop" / "dictionary.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    assert all(line["meaning"].strip("'") for line in lines)
    for shape in found:
        path = told.folder / "shop" / "records" / f"{shape.name}.jsonl"
        said = {line["column"] for line in lines if line["table"] == shape.name}
        keys = json.loads(path.read_text(encoding="utf-8").split("\n")[0])
        assert keys.keys() == said - {"", "'"}
    units = {(line["table"], line["column"]): line["unit"] for line in lines}
    assert units["pulls", "peak_power_kw"] == "kW"
    assert units["engines", "bore_mm"] == "mm"


def _manifest(folder: Path, **changed: Any) -> None:
    path = folder / "manifest.json"
    path.write_text(json.dumps({**json.loads(path.read_text()), **changed}))


def test_an_archive_that_is_not_as_it_was_written_is_refused(told: Shop) -> None:
    whole = told.folder / "whole"
    archive.write_archive(told.desk, whole, "jsonl")

    def spoil(kind: str, folder: Path) -> None:
        records = folder / "records"
        match kind:
            case "changed":
                text = (records / "pulls.jsonl").read_text(encoding="utf-8")
                (records / "pulls.jsonl").write_text(text.replace("4800", "4900"))
            case "gone":
                (records / "airs.jsonl").unlink()
            case "no archive":
                (folder / "manifest.json").write_text("[1, 2]")
            case "newer":
                _manifest(folder, steps=[*(m.name for m in MIGRATIONS), "2199-01-01-later"])
            case "newer form":
                _manifest(folder, version=99)
            case "way out":
                files = json.loads((folder / "manifest.json").read_text())["files"]
                _manifest(folder, files={**files, "../new.db": {"bytes": 1, "sha256": "0" * 64}})
            case "linked":
                (records / "airs.jsonl").unlink()
                (records / "airs.jsonl").symlink_to(whole / "records" / "airs.jsonl")

    for kind, said in (
        ("changed", "changed since the archive was written"), ("gone", "cannot be read"),
        ("no archive", "no logbook's archive"), ("newer", "newer version"),
        ("newer form", "newer version"), ("way out", "no such file"), ("linked", "cannot be read"),
    ):  # fmt: skip
        folder = told.folder / kind
        shutil.copytree(whole, folder)
        spoil(kind, folder)
        with pytest.raises((BadFile, BookTrouble), match=said):
            archive.import_archive(folder, told.folder / "new.db", who="")
        assert not (told.folder / "new.db").exists()
    with pytest.raises(BadFile, match="no archive here"):
        archive.import_archive(told.folder / "nowhere", told.folder / "new.db", who="")
    with pytest.raises(Conflict):
        archive.import_archive(whole, told.desk.book.path, who="")
    with pytest.raises(Conflict):
        archive.write_archive(told.desk, whole, "csv")
    assert not [path for path in told.folder.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize(
    "changed",
    [
        {"rows": {"engines": "many"}},
        {"rows": [1]},
        {"files": {"records/engines.jsonl": {"bytes": "12", "sha256": "0" * 64}}},
        {"files": {"records/engines.jsonl": None}},
        {"steps": "2026-01-01"},
        {"steps": [1]},
        {"table_files": None},
        {"missing_attached": 3},
        {"version": "1"},
    ],
)
def test_a_manifest_of_other_kinds_is_refused_in_words(shop: Shop, changed: dict[str, Any]) -> None:
    folder = shop.folder / "whole"
    archive.write_archive(shop.desk, folder, "jsonl")
    _manifest(folder, **changed)
    with pytest.raises(BadFile, match="manifest is not as it was written"):
        archive.import_archive(folder, shop.folder / "new.db", who="")


def test_a_damaged_or_locked_zip_is_refused_in_words(shop: Shop) -> None:
    """Bytes of two members turned in their place, and the mark of encryption set."""
    whole, bad = shop.folder / "whole.zip", shop.folder / "bad.zip"
    archive.write_archive(shop.desk, whole, "csv")
    content = whole.read_bytes()
    with zipfile.ZipFile(whole) as packed:
        turned = [
            (member.header_offset + 30 + len(member.filename) + place, 0xFF)
            for member in map(packed.getinfo, ("manifest.json", "records/engines.csv"))
            for place in range(0, min(member.compress_size, 60), 4)
        ]
    flags = content.rindex(b"records/engines.csv") - 46 + 8  # in the list at the end of the file
    for place, bits in (*turned, (flags, 1)):
        changed = bytearray(content)
        changed[place] ^= bits
        bad.write_bytes(changed)
        with pytest.raises(BadFile):
            archive.import_archive(bad, shop.folder / "new.db", who="")


def test_what_goes_wrong_while_a_file_is_open_is_not_blamed_on_the_archive(shop: Shop) -> None:
    folder = shop.folder / "whole"
    archive.write_archive(shop.desk, folder, "csv")
    with shelf_at(folder) as shelf:
        for trouble in (OSError(28, "No space left on device"), KeyError("mine")):
            with pytest.raises(type(trouble)), shelf.open("records/engines.csv"):
                raise trouble


def test_a_hand_that_knows_the_manifest_still_meets_the_books_own_rules(told: Shop) -> None:
    """Hashes made to fit: rows that break a constraint, and samples that are no numbers."""
    whole = told.folder / "whole"
    archive.write_archive(told.desk, whole, "jsonl")
    for name, old, new, said in (
        ("records/engines.jsonl", '"strokes": 4', '"strokes": 3', "two- or four-stroke"),
        ("records/pulls.jsonl", '"number": 1,', '"number": [],', "pulls, row"),
        ("records/setup_levels.jsonl", '"number": 30.0', '"number": 31.0', "factors are not"),
        ("records/cells.jsonl", '"units"', '"sqlite"', "no column"),
        ("traces", "4000.0", '"x"', "no number"),
        ("records/sources.jsonl", '"sha256"', '"data_sha"', "no column"),
        ("records/sources.jsonl", '"sha256": ', '"file": ', "not as it was written"),
        ("records/channels.jsonl", '"decimals": ', '"decimals": "x", "column": ', "as it was"),
        ("records/pulls.jsonl", '"number": 1,', f'"number": {10**30},', "too large"),
    ):
        folder = told.folder / f"{said} {name.replace('/', ' ')}"
        shutil.copytree(whole, folder)
        path = folder / name
        if name == "traces":
            path = sorted(path.rglob("*.jsonl"))[0]
        path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
        refit(folder)
        with pytest.raises(Refusal, match=said):
            archive.import_archive(folder, told.folder / "new.db", who="")


def refit(folder: Path) -> None:
    """Give the manifest the hashes of the files as they are."""
    files = json.loads((folder / "manifest.json").read_text())["files"]
    for name in files:
        if (folder / name).is_file():
            size = (folder / name).stat().st_size
            files[name] = {"bytes": size, "sha256": attached.hash_of(folder / name)}
    _manifest(folder, files=files)


def test_an_archive_of_an_older_book_goes_the_steps_that_the_book_would_have_gone(
    told: Shop,
) -> None:
    """As the first version would have written it: fewer tables, fewer columns."""
    folder = told.folder / "older"
    archive.write_archive(told.desk, folder, "jsonl")
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db, Path(":memory:"), steps=1)
        older = {shape.name: shape for shape in kept.shapes(Reader(db))}
    rows = json.loads((folder / "manifest.json").read_text())["rows"]
    for path in (folder / "records").iterdir():
        if path.stem in older:
            names = {*older[path.stem].names, "file", "column"}
            lines = [json.loads(line) for line in path.read_text(encoding="utf-8").split("\n")[:-1]]
            short = [{k: v for k, v in line.items() if k in names} for line in lines]
            path.write_text("".join(json.dumps(line) + "\n" for line in short))
    _manifest(
        folder, steps=[MIGRATIONS[0].name], rows={t: n for t, n in rows.items() if t in older}
    )
    refit(folder)
    new = told.folder / "new.db"
    archive.import_archive(folder, new, who="")
    now, then = tables(new), tables(told.desk.book.path)
    assert now["audit_fields"] == then["audit_fields"]
    assert [row[0] for row in now["pulls"]] == [row[0] for row in then["pulls"]]
    assert (now["channels"], now["landings"]) == (then["channels"], [])
    desk = open_desk(new, create=False)
    assert safety.verify(desk) == []
    desk.close()


def test_the_demo_book_goes_through_one_file(demo_book_path: Path, tmp_path: Path) -> None:
    desk = open_desk(demo_book_path, create=False)
    archive.write_archive(desk, tmp_path / "demo.zip", "csv")
    desk.close()
    assert zipfile.ZipFile(tmp_path / "demo.zip").testzip() is None
    archive.import_archive(tmp_path / "demo.zip", tmp_path / "again.db", who="")
    assert tables(tmp_path / "again.db") == tables(demo_book_path)


def test_words_for_every_table() -> None:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db, Path(":memory:"))
        assert all(archive_words.table_meaning(one.name) for one in kept.shapes(Reader(db)))
