"""Undo, backup, verify, the demo, and where everything lies."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

import seed_db
from tests.cli.conftest import AIR, CommandLine, peaks


def test_undo_and_redo(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR))
    shop.ok(*peaks(404))
    assert "Pull 2 logged" in shop.ok("undo").err
    assert [p["number"] for p in shop.ok("find", "engine:RB-2", "--json").json_lines] == [1]
    shop.ok("redo")
    assert [p["number"] for p in shop.ok("find", "engine:RB-2", "--json").json_lines] == [2, 1]
    assert shop("redo").code == 2
    assert shop.ok("undo", "--json").json["sentence"]
    assert "taken back" in shop.ok("history").out


def test_backup_is_a_book_and_never_overwrites(shop: CommandLine, tmp_path: Path) -> None:
    shop.ok(*peaks(398, *AIR))
    copy = tmp_path / "copy.db"
    shop.ok("backup", copy)
    assert "RB-2" in shop.ok("engine", "list", "--db", copy).out
    before = copy.read_bytes()
    assert shop("backup", copy).code != 0
    assert copy.read_bytes() == before


def test_verify_is_0_when_whole_and_1_when_not(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR))
    whole = shop.ok("verify")
    assert "whole" in whole.err
    assert whole.out == ""
    with closing(sqlite3.connect(shop.book)) as db:
        db.execute("UPDATE scores SET corrected_peak_power_kw = 1")
        db.commit()
    found = shop("verify")
    assert found.code == 1
    assert "computed" in found.out
    report = shop("verify", "--json")
    assert report.code == 1
    assert report.json["whole"] is False
    assert report.json["problems"]


@pytest.fixture
def quick_demo(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """A stand-in for the demo, which takes a while to build; notes where it was built."""
    built: list[Path] = []

    def build(path: Path) -> None:
        built.append(path)
        path.write_text("demo")

    monkeypatch.setattr(seed_db, "build", build)
    return built


def test_the_demo_is_built_where_it_is_told(logbook: CommandLine, quick_demo: list[Path]) -> None:
    place = logbook.folder / "deep" / "demo.db"
    logbook.ok("demo", "--path", place, "--no-open")
    assert place.read_text() == "demo"
    assert quick_demo[0] != place, "it is moved there when it is whole"
    assert logbook("demo", "--path", place, "--no-open").code == 2
    assert not logbook.book.exists()


def test_the_demo_has_a_folder_of_its_own(logbook: CommandLine, quick_demo: list[Path]) -> None:
    place = Path(logbook.ok("demo", "--no-open", "--json").json["path"])
    logbook.ok("demo", "--no-open")
    assert len(quick_demo) == 1, "a demo that is there is kept as it was left"
    logbook.ok("demo", "--no-open", "--anew")
    assert len(quick_demo) == 2
    assert [path.name for path in place.parent.iterdir()] == [place.name]


def test_a_demo_that_breaks_leaves_nothing(
    logbook: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    def build(path: Path) -> None:
        path.write_text("half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(seed_db, "build", build)
    place = logbook.folder / "deep" / "demo.db"
    assert logbook("demo", "--path", place, "--no-open").code == 1
    assert list(place.parent.iterdir()) == []


def test_the_real_demo_answers(logbook: CommandLine, demo_book_path: Path) -> None:
    logbook.ok("verify", "--db", demo_book_path)
    engines = logbook.ok("engine", "list", "--json", "--db", demo_book_path).json_lines
    assert len(engines) >= 4
    for engine in engines:
        ref = f"{engine['tag']}/last"
        shown = logbook.ok("session", "show", ref, "--json", "--db", demo_book_path).json
        assert shown["pulls"]
    found = logbook.ok("find", "timing:>10", "--json", "--limit", "5", "--db", demo_book_path)
    assert len(found.json_lines) == 5


def test_where_everything_lies(logbook: CommandLine) -> None:
    places = logbook.ok("where", "--json").json
    assert places["book"] == str(logbook.book)
    assert places["operator"] == "KL"
    assert str(logbook.folder) in places["log"]
    assert str(logbook.book) in logbook.ok("where").out


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_completion_scripts(logbook: CommandLine, shell: str) -> None:
    assert "_LOGBOOK_COMPLETE" in logbook.ok("completion", shell).out


def test_a_damaged_book_is_said_and_rescued(shop: CommandLine, tmp_path: Path) -> None:
    shop.ok(*peaks(398, *AIR, "--note", "quince jam"))
    content = bytearray(shop.book.read_bytes())
    content[100] ^= 255  # the table of contents
    shop.book.write_bytes(content)
    found = shop("verify")
    assert found.code == 1
    assert "damaged" in found.out + found.err
    assert "can save: " in found.err
    report = shop("verify", "--json").json
    assert report["whole"] is False
    assert "pull 1" in report["advice"][0]
    new = tmp_path / "new.db"
    saved = shop.ok("rescue", shop.book, new)
    assert "saved: 1 pull" in saved.out
    assert shop.book.read_bytes() == bytes(content)
    assert "quince jam" in shop.ok("find", "quince", "--db", new).out
    shop.ok("verify", "--db", new)
    again = shop("rescue", shop.book, new)
    assert again.code == 2
    assert "a file of this name exists" in again.err
    assert shop("rescue", tmp_path / "none.db", tmp_path / "x.db").code == 1
