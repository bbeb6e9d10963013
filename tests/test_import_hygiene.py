"""Nothing heavy is loaded before it is needed. No clock: what stands in `sys.modules` counts."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("pandas", "pint", "numpy", "scipy", "sqlite_utils", "psychrolib",
         "matplotlib", "jinja2", "pyarrow")  # fmt: skip
DRAWING = ("textual", "rich")

_LOADED = "import json, sys; print(json.dumps([m for m in {names!r} if m in sys.modules]))"


def loaded(program: str, names: tuple[str, ...], home: Path) -> list[str]:
    """Which of `names` a fresh interpreter has imported once `program` has run."""
    variables = ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME")
    ended = subprocess.run(
        [sys.executable, "-c", f"{program}\n{_LOADED.format(names=names)}"],
        capture_output=True,
        text=True,
        check=False,
        env={
            **{k: v for k, v in os.environ.items() if not k.startswith("LOGBOOK_")},
            **{name: str(home / name) for name in variables},
        },
    )
    assert ended.returncode == 0, ended.stderr
    found: list[str] = json.loads(ended.stdout.splitlines()[-1])
    return found


@pytest.mark.parametrize(
    "arguments",
    [
        ["--version"],
        ["--help"],
        ["pull", "add", "--help"],
        ["report", "--help"],
        ["where", "--json"],
    ],
)
def test_version_and_help_load_nothing_heavy(arguments: list[str], tmp_path: Path) -> None:
    program = f"from logbook.cli.run import run; assert run({arguments!r}) == 0"
    assert loaded(program, (*HEAVY, *DRAWING), tmp_path) == []


@pytest.mark.parametrize("argument", ["--version", "--help"])
def test_version_and_help_load_only_what_they_print_with(argument: str, tmp_path: Path) -> None:
    """Each of these costs what a bare answer would be waited for; an interpreter may bring one."""
    names = ("logbook.settings", "logbook.quantities", "difflib", "pathlib", "urllib.parse")
    program = f"from logbook.cli.run import run; assert run([{argument!r}]) == 0"
    assert loaded(program, names, tmp_path) == loaded("", names, tmp_path)


def test_a_list_for_scripts_loads_nothing_heavy(demo_book_path: Path, tmp_path: Path) -> None:
    arguments = ["engine", "list", "--json", "--db", str(demo_book_path)]
    program = f"from logbook.cli.run import run; assert run({arguments!r}) == 0"
    assert loaded(program, (*HEAVY, "textual"), tmp_path) == []


@pytest.mark.parametrize(
    "module",
    [
        "logbook", "logbook.cli", "logbook.refusals", "logbook.plain", "logbook.settings",
        "logbook.drafts", "logbook.quantities", "logbook.records.trace", "logbook.store.book",
        "logbook.cases.results", "logbook.cases.pulls", "logbook.cases.judge",
        "logbook.cases.form", "logbook.cases.compare", "logbook.cases.finding",
        "logbook.engineering.air", "logbook.engineering.correction",
    ],
)  # fmt: skip
def test_rooms_that_every_start_goes_through_are_light(module: str, tmp_path: Path) -> None:
    assert loaded(f"import {module}", (*HEAVY, *DRAWING), tmp_path) == []


FIRST_SCREEN = """
import asyncio
from pathlib import Path
from logbook.app.app import LogbookApp
from logbook.app.widgets.rows import Rows
from logbook.cases.desk import open_desk

async def paint():
    app = LogbookApp(lambda: open_desk(Path({book!r}), who="KL"))
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(200):
            await pilot.pause(0.02)
            if app.screen.query_one(Rows).current is not None:
                break
        else:
            raise SystemExit("the list of engines was never shown")
        import json, sys
        print(json.dumps([m for m in {names!r} if m in sys.modules]), flush=True)

asyncio.run(paint())
"""


def test_the_first_screen_is_painted_with_nothing_heavy(
    demo_book_path: Path, tmp_path: Path
) -> None:
    """What is loaded the moment the engines are on the screen; later it may be anything."""
    program = FIRST_SCREEN.format(book=str(demo_book_path), names=HEAVY)
    ended = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "XDG_STATE_HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)},
    )
    assert ended.returncode == 0, ended.stderr
    assert json.loads(ended.stdout.splitlines()[0]) == []
