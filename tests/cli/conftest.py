"""A command line of its own: no config, no home folder, one book in the test's folder."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from logbook.cli.run import run

AIR = ("--pressure", "29.42 inHg", "--temperature", "78 F", "--rh", "41")


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one object on stdout."""
        return json.loads(self.out)

    @property
    def json_lines(self) -> list[Any]:
        """The objects on stdout, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]


@dataclass(frozen=True)
class CommandLine:
    """Calls ``logbook`` in this process; the book is the one LOGBOOK_DB names."""

    book: Path
    folder: Path
    _take: Callable[[], tuple[str, str]]

    def __call__(self, *arguments: str | Path) -> Ended:
        self._take()
        code = run([str(argument) for argument in arguments])
        return Ended(code, *self._take())

    def ok(self, *arguments: str | Path) -> Ended:
        """A command that must end with 0."""
        ended = self(*arguments)
        assert ended.code == 0, ended.err
        return ended

    def rows(self) -> dict[str, list[tuple[Any, ...]]]:
        """Everything the book holds, table by table (the query planner's notes aside)."""
        with closing(sqlite3.connect(f"file:{self.book}?mode=ro", uri=True)) as db:
            names = db.execute(
                "SELECT name FROM sqlite_master"
                " WHERE type = 'table' AND name NOT LIKE 'sqlite_stat%'"
            ).fetchall()
            return {
                name: sorted(db.execute(f'SELECT * FROM "{name}"'), key=repr) for (name,) in names
            }


@pytest.fixture
def logbook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> CommandLine:
    """The command line on a book that is not there yet."""
    book = tmp_path / "book.db"
    for name in ("LOGBOOK_CONFIG", "LOGBOOK_UNITS", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home" / name))
    monkeypatch.setenv("LOGBOOK_DB", str(book))
    monkeypatch.setenv("LOGBOOK_OPERATOR", "KL")

    def take() -> tuple[str, str]:
        captured = capsys.readouterr()
        return captured.out, captured.err

    return CommandLine(book, tmp_path, take)


@pytest.fixture
def shop(logbook: CommandLine) -> CommandLine:
    """The command line on a book with one engine and its band."""
    logbook.ok("engine", "add", "RB-2", "--name", "boat V8", "--cylinders", "8",
               "--bore", "4.030 in", "--stroke", "3.48 in", "--band", "4500-6500",
               "--limit-timing", "36")  # fmt: skip
    return logbook


def peaks(torque: float, *more: str, at: str = "4600") -> list[str]:
    """A pull of typed peaks whose power goes with its torque."""
    return ["pull", "add", "--engine", "RB-2", "--peak-torque", f"{torque} lb-ft", "--at", at,
            "--peak-power", f"{torque * 1.04} hp", "--power-at", "6100", *more]  # fmt: skip


def sweep(path: Path, scale: float = 1.0) -> Path:
    """An invented sweep file, 4000–7000 rpm."""
    lines = ["Engine speed [rpm],Torque [lb-ft],Manifold vacuum [inHg],Sparkle [zorks]"]
    for rpm in range(4000, 7001, 50):
        torque = scale * (400 - ((rpm - 5000) / 150) ** 2)
        lines.append(f"{rpm},{torque:.2f},{0.4 + (rpm - 4000) / 4000:.2f},{rpm % 7}")
    path.write_text("\n".join(lines) + "\n")
    return path
