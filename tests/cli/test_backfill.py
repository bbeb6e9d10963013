"""``logbook backfill``: a report of what was taken, refused and why."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli.conftest import CommandLine, sweep


@pytest.fixture
def old(shop: CommandLine) -> Path:
    folder = shop.folder / "old"
    folder.mkdir()
    for number in range(3):
        path = sweep(folder / f"run_{number}.csv", 1 + number / 100)
        os.utime(path, (1_240_000_000 + 600 * number,) * 2)
    (folder / "notes.txt").write_text("gray plugs\n")
    return folder


def test_files_are_taken_once_and_the_rest_is_said(shop: CommandLine, old: Path) -> None:
    given = ("backfill", old, "--engine", "RB-2", "--torque-is", "observed")
    dry = shop.ok(*given, "--dry-run")
    assert dry.out.count(": taken: ") == 3
    assert "nothing was written" in dry.err
    assert shop.rows()["pulls"] == []
    first = shop.ok(*given)
    assert "notes.txt: refused: " in first.out
    assert "3 taken, 0 taken before, 1 refused" in first.err
    second = shop.ok(*given, "--json")
    assert [line["what"] for line in second.json_lines] == ["taken before"] * 3 + ["refused"]
    assert second.json_lines[0]["pulls"] == ["RB-2/2009-04-17/1"]


def test_all_refused_ends_with_2(shop: CommandLine, old: Path) -> None:
    assert shop("backfill", old, "--engine", "XX-1").code == 2
    assert shop("backfill", old / "nowhere", "--engine", "RB-2").code == 2


def test_a_sheet_is_listed_row_by_row(shop: CommandLine) -> None:
    sheet = shop.folder / "paper.csv"
    sheet.write_text(
        "date,peak power [hp],power at,timing\n2009-05-04,401,6100,30\n2009-05-05,,6100,30\n"
    )
    dry = shop.ok("backfill", sheet, "--sheet", "--engine", "RB-2", "--dry-run")
    assert "paper.csv, line 2: taken: 2009-05-04, RB-2, timing 30" in dry.out
    assert "paper.csv, line 3: refused: " in dry.out
    done = shop.ok("backfill", sheet, "--sheet", "--engine", "RB-2", "--json")
    assert [line["what"] for line in done.json_lines] == ["taken", "refused"]
    assert shop.ok("find", "timing:30", "--json").json["number"] == 1
