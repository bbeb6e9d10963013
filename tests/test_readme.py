"""What the README promises: its tour can be walked, and every command in it runs."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from logbook.cases.desk import open_desk
from logbook.cases.engines import add_fuel
from logbook.cli.run import run
from tests.app.conftest import hand_on, sweep_csv

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
_KEYS = {
    "Enter": "enter", "↓": "down", "Esc": "escape", "+": "plus", "Del": "delete", "/": "slash",
    ":": "colon", "Space": "space", "Ctrl+S": "ctrl+s", "F9": "f9",
}  # fmt: skip
# What a reader has by then, and the README does not spell out.
_BEFORE = {
    "logbook compare 'RB-2/build 3' 'RB-2/build 4'": (
        "build add RB-2 'build 3'",
        "session open RB-2 --build 'build 3'",
        "pull add --engine RB-2 --session last --trace later-3.csv --pressure '29.4 inHg'"
        " --temperature '70 F' --rh 40",
        "session close RB-2/last",
        "build add RB-2 'build 4'",
        "session open RB-2 --build 'build 4'",
        "pull add --engine RB-2 --session last --trace later-4.csv --pressure '29.4 inHg'"
        " --temperature '70 F' --rh 40",
    ),
}
# These run until they are stopped; each has tests of its own.
ENDLESS = ("logbook serve", "logbook watch", "logbook demo")


def tour() -> list[tuple[list[str], list[str]]]:
    """(keys, what must be seen) of each line of the tour."""
    part = README.split("## Five minutes on the demo")[1].split("\n## ")[0]
    rows = [line.split("|")[1:3] for line in part.splitlines() if line.startswith("|")][2:]
    return [
        ([_KEYS.get(key, key) for key in keys.split()], re.findall(r"`([^`]+)`", seen))
        for keys, seen in rows
    ]


async def test_the_tour_shows_what_it_says(demo_book_path: Path) -> None:
    async with hand_on(demo_book_path, size=(120, 40)) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        steps = tour()
        assert len(steps) > 10
        for keys, wanted in steps:
            assert wanted, keys
            for key in keys:
                before = hand.app.screen
                await hand.press(key)
                if key in ("enter", "escape", "slash") or len(keys) == 1:
                    await hand.pilot.pause(0.05)
                if before is not hand.app.screen:
                    await hand.until(lambda: not _reading(hand.screen_text()), "the screen")
            for words in wanted:
                await hand.until(lambda words=words: words in hand.screen_text(), words)  # type: ignore[misc]


def _reading(text: str) -> bool:
    return "reading the book" in text or "Judging the pulls" in text


def commands() -> list[str]:
    """Every command of the README's blocks, in their order."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    lines = [line.strip() for block in blocks for line in block.splitlines()]
    return [line for line in lines if line.startswith("logbook ")]


def test_every_command_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In their order, on one book; only the places are others."""
    book = tmp_path / "book.db"
    monkeypatch.setenv("LOGBOOK_DB", str(book))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    desk = open_desk(book, who="KL")
    for name, batch in (("Tango", "7"), ("Methanol", "")):
        add_fuel(
            desk, name, {"batch": batch, "stoichiometric-ratio": "14.1", "density": "740 kg/m3"}
        )
    desk.close()
    other = open_desk(tmp_path / "south-cell.db", who="MK")
    other.close()
    for name, scale in (("run_0412.csv", 1.0), ("old-runs/a.csv", 0.98), ("later-3.csv", 1.01),
                        ("later-4.csv", 1.03)):  # fmt: skip
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(sweep_csv(scale))
    (tmp_path / "paper-2009.csv").write_text(
        "date,Peak power [hp],Power at,Barometer [inHg],Air temperature [F],Humidity [%],timing\n"
        "2009-05-01,410,6100,29.4,70,40,32\n"
    )
    tried = 0
    for line in commands():
        if line.startswith(ENDLESS):
            continue
        for before in _BEFORE.get(line, ()):
            assert run(shlex.split(before)) == 0, f"{before}\n{capsys.readouterr().err}"
        words = [
            str(tmp_path / Path(word).name) if word.startswith(("/m", "~/")) else word
            for word in shlex.split(line.split(" > ")[0])[1:]
        ]
        code = run(words)
        said = capsys.readouterr()
        assert code == 0, f"{line}\n{said.out}{said.err}"
        tried += 1
    assert tried > 20
