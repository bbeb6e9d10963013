"""Text that would be markup, a command or a formula somewhere: kept as it is, shown harmless."""

from __future__ import annotations

import csv
import io
import json
import shutil
import unicodedata
from pathlib import Path

import pytest

from logbook.cases import engines, pulls
from logbook.cases.desk import open_desk
from logbook.cases.entry import PullEntry
from logbook.refusals import BadInput
from tests.cli.conftest import AIR, CommandLine, peaks, sweep

HOSTILE = {
    "markup": "[bold red]hi[/] [link=http://x]y[/link] [@click=app.quit]z[/]",
    "unclosed markup": "[/] [[ ]] [b",
    "escapes": "\x1b[2J\x1b]0;owned\x07\x1b[31mred\x9b2J\r\x08\x7f",
    "direction": "\u202egnp.exe\u202c \u2066x\u2069 \u200b\ufeff",
    "html": "<script>alert(1)</script><img src=x onerror=alert(1)> &lt;",
    "formula": '=cmd|"/c calc"!A1',
    "formula in full width": "＝1+1",
    "tab before formula": "\t=1+1",
    "plus": "+1+1",
    "at": "@SUM(A1)",
    "search syntax": '" OR NEAR(a, b) * ^ : -x AND (',
    "sql": "'; DROP TABLE pulls; --",
    "path": "../../../../etc/passwd",
    "percent": "%s %(a)s {0} {a.__class__} ${HOME} `id` $(id)",
    "quotes": "\"'`;,\n\r\n|",
    "surrogates": "caf\u0065\u0301 \U0001f3ce \U000e0041",
}
# What a terminal obeys; a line break ends a line.
OBEYED = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def harmless(out: str) -> bool:
    return all(unicodedata.category(c) not in OBEYED for c in out if c != "\n")


@pytest.fixture(scope="module")
def hostile_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book in which every hostile text stands wherever people can write."""
    path = tmp_path_factory.mktemp("hostile") / "book.db"
    desk = open_desk(path, who="KL", units="us")
    engines.add_engine(desk, "RB-2", {"name": HOSTILE["markup"]}, band="4500-6500")
    for n, text in enumerate(HOSTILE.values()):
        single = " ".join(text.split()) or "x"
        fields = {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %",
                  "peak-torque": f"{398 + n} lb-ft", "at": "4600", "note": text,
                  "observed": text}  # fmt: skip
        pulls.add_pull(
            desk, PullEntry(engine_tag="RB-2", set_up={"plug": single[:150]}, fields=fields)
        )
    desk.close()
    return path


@pytest.fixture
def told(logbook: CommandLine, hostile_book: Path) -> CommandLine:
    """The command line on that book."""
    shutil.copy(hostile_book, logbook.book)
    return logbook


def test_every_text_is_kept_to_the_character(told: CommandLine) -> None:
    found = told.ok("find", "engine:RB-2", "--json").json_lines
    notes = {row["entered"]["notes"] for row in found}
    assert notes >= {text.strip() for text in HOSTILE.values()}
    told.ok("verify")


@pytest.mark.parametrize("command", [
    ["find", "engine:RB-2"], ["session", "show", "RB-2/last"], ["pull", "show", "RB-2/last/3"],
    ["history"], ["ledger", "RB-2/last"], ["engine", "show", "RB-2"], ["session", "list"],
    ["export", "--engine", "RB-2"],
])  # fmt: skip
def test_nothing_that_is_printed_steers_a_terminal(told: CommandLine, command: list[str]) -> None:
    for arguments in (command, [*command, "--json"]):
        shown = told.ok(*arguments)
        assert harmless(shown.out), arguments
        assert harmless(shown.err), arguments


def test_no_cell_of_a_csv_is_a_formula(told: CommandLine, tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    told.ok("export", "--engine", "RB-2", "-o", path)
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert len(rows) == len(HOSTILE) + 1
    for cell in (cell for row in rows for cell in row):
        start = cell.lstrip()[:1]
        assert start not in set("=@＝＋－＠"), cell
        if start in ("+", "-"):
            float(cell)


def test_json_lines_keep_what_csv_must_change(told: CommandLine) -> None:
    lines = told.ok("export", "--engine", "RB-2", "--format", "jsonl").out.splitlines()
    notes = {json.loads(line)["entered"]["notes"] for line in lines}
    assert HOSTILE["formula"] in notes
    assert HOSTILE["escapes"].strip() in notes


def test_anything_may_be_searched(told: CommandLine) -> None:
    for text in HOSTILE.values():
        for query in (text, '"' + " ".join(text.split()).replace('"', " ") + '"'):
            ended = told("find", "--json", "--", query)
            assert ended.code in (0, 2), query
            assert harmless(ended.err), query


@pytest.mark.parametrize("turn", range(3))
def test_as_a_name_it_is_taken_or_refused_in_a_sentence(shop: CommandLine, turn: int) -> None:
    """Every text in a third of all places, every place with a third of all texts."""
    for n, text in enumerate(HOSTILE.values()):
        places = (
            ["engine", "add", text], ["fuel", "add", text], ["cell", "add", text],
            ["build", "add", "RB-2", text], ["engine", "show", text], ["session", "show", text],
            ["merge", text], ["pull", "add", "--engine", text, "--peak-torque", text],
            ["session", "open", "RB-2", "--purpose", text],
            ["pull", "add", "--engine", "RB-2", "--set", f"{text}={text}", "--trace", text],
        )  # fmt: skip
        if n % 3 != turn:
            continue
        for arguments in places[n // 3 % 3 :: 3]:
            ended = shop(*arguments)
            assert ended.code in (0, 1, 2), arguments
            assert harmless(ended.out + ended.err), arguments
            assert "an error of the logbook itself" not in ended.err, arguments
    shop.ok("verify")


@pytest.mark.parametrize(
    "name",
    ["=cmd().csv", "[bold]x[b].csv", "\x1b[2Jrun.csv", "\u202ecsv.exe", "a\nb.csv", "-n.csv"],
)
def test_a_file_of_any_name_is_taken_and_named_harmlessly(shop: CommandLine, name: str) -> None:
    path = sweep(shop.folder / name)
    shop.ok("pull", "add", "--engine", "RB-2", "--trace", path, "--torque-is", "observed", *AIR)
    assert harmless(shop.ok("pull", "show", "RB-2/last/1").out)
    assert harmless(shop.ok("export", "--engine", "RB-2").out)
    again = shop("pull", "add", "--engine", "RB-2", "--trace", path)
    assert again.code == 2
    assert harmless(again.err)


def test_a_note_of_a_megabyte_is_kept_found_and_exported(shop: CommandLine) -> None:
    note = ("quince " + "[b]x[/b] \x1b[31m =1+1 " * 60_000)[:999_990].rstrip() + " medlar"
    shop.ok(*peaks(398, *AIR))
    desk = open_desk(shop.book, who="KL")
    # Longer than a command line may be: pasted into the form.
    last = pulls.find_pull(desk, "RB-2/last/1").id
    pulls.change_pull(desk, last, {"note": note}, why="all of it")
    with pytest.raises(BadInput, match="longer than a note may be"):
        pulls.change_pull(desk, last, {"note": note + "x" * 100}, why="too much")
    desk.close()
    assert shop.ok("pull", "show", "RB-2/last/1", "--json").json["entered"]["notes"] == note
    assert harmless(shop.ok("pull", "show", "RB-2/last/1").out)
    assert len(shop.ok("find", "medlar", "--json").json_lines) == 1
    path = shop.folder / "out.csv"
    shop.ok("export", "--engine", "RB-2", "-o", path)
    csv.field_size_limit(4_000_000)
    with path.open(encoding="utf-8", newline="") as file:
        assert any(cell.endswith("medlar") for row in csv.reader(file) for cell in row)
    shop.ok("undo")
    shop.ok("verify")
