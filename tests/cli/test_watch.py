"""``logbook watch``: a line for everything that happens in the folder."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from tests.cli.conftest import CommandLine, sweep


def test_what_lies_there_waits_in_the_book(shop: CommandLine) -> None:
    folder = shop.folder / "runs"
    folder.mkdir()
    sweep(folder / "run_1.csv")
    (folder / "notes.txt").write_text("gray plugs\n")
    ended = shop.ok("watch", folder, "--once", "--json")
    found = {line["name"]: line for line in ended.json_lines}
    assert found["run_1.csv"]["event"] == "waiting"
    assert found["run_1.csv"]["size_bytes"] == (folder / "run_1.csv").stat().st_size
    assert found["notes.txt"]["event"] == "refused"
    assert shop.ok("watch", folder, "--once").out == ""
    with closing(sqlite3.connect(shop.book)) as db:
        rows = db.execute("SELECT name, state FROM landings ORDER BY name").fetchall()
    assert rows == [("notes.txt", "refused"), ("run_1.csv", "waiting")]


def test_words_for_people(shop: CommandLine) -> None:
    folder = shop.folder / "runs"
    folder.mkdir()
    sweep(folder / "run_1.csv")
    assert shop.ok("watch", folder, "--once").out == "run_1.csv has landed and waits.\n"


def test_a_folder_that_is_not_there_is_refused(shop: CommandLine) -> None:
    ended = shop("watch", shop.folder / "nowhere", "--once")
    assert (ended.code, ended.out) == (2, "")
    assert "cannot be read" in ended.err


def test_it_tells_each_landing_at_once_and_ends_with_ctrl_c(shop: CommandLine) -> None:
    folder = shop.folder / "runs"
    folder.mkdir()
    command = [sys.executable, "-m", "logbook", "--db", str(shop.book), "watch", str(folder)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=dict(os.environ),
        cwd=Path(__file__).parents[2],
    ) as watching:  # fmt: skip
        assert watching.stderr is not None and watching.stdout is not None  # noqa: PT018
        assert "Ctrl-C" in watching.stderr.readline()
        sweep(folder / "run_1.csv")
        assert watching.stdout.readline() == "run_1.csv has landed and waits.\n"
        watching.send_signal(signal.SIGINT)
        assert watching.wait(20) == 130
