"""What the doctor says about a book and its place; it changes nothing."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook.cases.doctor import FINE, LOOK, WRONG, examine
from logbook.cli.run import run
from logbook.drafts import Drafts

NOW = datetime(2027, 1, 1, 12, 0, tzinfo=UTC)


def found(book: Path, drafts: Path, now: datetime = NOW) -> dict[str, tuple[str, str]]:
    return {one.what: (one.how, one.told) for one in examine(book, drafts, now)}


def test_a_whole_book_is_fine_and_is_left_as_it_was(demo_book_path: Path, tmp_path: Path) -> None:
    before = hashlib.sha256(demo_book_path.read_bytes()).hexdigest()
    said = found(demo_book_path, tmp_path / "drafts")
    assert said["Book"][0] == FINE
    assert "5 engines" in said["Book"][1]
    assert said["Backups"] == (LOOK, "no automatic backup yet")
    assert said["Clock"][0] == FINE
    assert hashlib.sha256(demo_book_path.read_bytes()).hexdigest() == before


def test_a_clock_that_stands_before_the_last_entry_is_wrong(
    demo_book_path: Path, tmp_path: Path
) -> None:
    said = found(demo_book_path, tmp_path, NOW - timedelta(days=3650))
    assert said["Clock"][0] == WRONG


def test_a_damaged_book_a_foreign_file_and_a_missing_one(
    demo_book_path: Path, tmp_path: Path
) -> None:
    pages = bytearray(demo_book_path.read_bytes())
    for page in range(3, 40):
        pages[page * 4096 : page * 4096 + 8] = b"\xff" * 8
    demo_book_path.write_bytes(pages)
    assert found(demo_book_path, tmp_path)["Book"][0] == WRONG
    foreign = tmp_path / "notes.txt"
    foreign.write_text("no book at all")
    assert found(foreign, tmp_path)["Book"][0] == WRONG
    assert found(tmp_path / "none.db", tmp_path)["Book"][0] == LOOK
    assert not (tmp_path / "none.db").exists()


def test_what_was_typed_and_not_saved_is_mentioned(demo_book_path: Path, tmp_path: Path) -> None:
    Drafts(tmp_path / "drafts").save("air-x", {"pressure": "29.4"})
    assert "1 form" in found(demo_book_path, tmp_path / "drafts")["Typed, not saved"][1]


def test_the_command_says_how_it_is_and_fails_where_something_is_wrong(
    demo_book_path: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    config = tmp_path / "logbook.toml"
    config.write_text('[keys]\n"session.timng" = "T"\n')
    monkeypatch.setenv("LOGBOOK_CONFIG", str(config))
    monkeypatch.setenv("LOGBOOK_WATCH", str(tmp_path))
    assert run(["doctor", "--db", str(demo_book_path), "--json"]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert {row["how"] for row in rows} <= {FINE, LOOK}
    assert any("did you mean session.timing?" in row["told"] for row in rows)
    monkeypatch.setenv("LOGBOOK_WATCH", str(tmp_path / "gone"))
    assert run(["doctor", "--db", str(demo_book_path)]) == 1
    assert "is not there" in capsys.readouterr().out
