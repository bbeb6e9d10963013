"""``logbook report``: a file that appears whole or not at all, or text on stdout."""

from __future__ import annotations

import pytest

from tests.cli.conftest import AIR, CommandLine, peaks
from tests.reports.page_reader import read_page


@pytest.fixture
def logged(shop: CommandLine) -> CommandLine:
    shop.ok(*peaks(398, *AIR))
    shop.ok(*peaks(404, "--set", "timing=34"))
    return shop


def test_a_page_goes_into_a_file_that_is_not_written_over(logged: CommandLine) -> None:
    page = logged.folder / "rb2.html"
    assert logged.ok("report", "RB-2/last", "-o", page).out == ""
    assert "leaning" in read_page(page.read_text(encoding="utf-8")).words()
    again = logged("report", "RB-2/last", "-o", page)
    assert again.code == 2
    assert "--replace" in again.err
    logged.ok("report", "--engine", "RB-2", "-o", page, "--replace")
    assert "best corrected" in read_page(page.read_text(encoding="utf-8")).words()
    nowhere = logged("report", "RB-2/last", "-o", logged.folder / "no" / "such" / "x.html")
    assert nowhere.code == 1
    assert "cannot be written" in nowhere.err
    assert [path.name for path in logged.folder.glob("*.part")] == []


def test_markdown_units_and_json(logged: CommandLine) -> None:
    text = logged.ok("report", "RB-2/last", "--markdown", "--units", "metric").out
    assert text.startswith("# RB-2, boat V8\n")
    assert "kW" in text
    assert " hp" not in text
    assert logged.ok("report", "RB-2/last", "--json", "--markdown").json["format"] == "markdown"
    note = logged.folder / "build.md"
    told = logged.ok("report", "--engine", "RB-2", "--build", "build 1", "-o", note, "--json")
    assert told.json == {"format": "markdown", "file": str(note)}
    assert note.read_text(encoding="utf-8").startswith("# RB-2, boat V8, build 1\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "SESSION"),
        (("RB-2/last", "--engine", "RB-2"), "SESSION"),
        (("RB-2/last", "--build", "build 1"), "SESSION"),
        (("RB-9/last",), "RB-9"),
        (("--engine", "RB-2", "--build", "build 9"), "build 1"),
    ],
)
def test_what_cannot_be_reported(
    logged: CommandLine, arguments: tuple[str, ...], said: str
) -> None:
    ended = logged("report", *arguments)
    assert ended.code == 2
    assert said in ended.err
