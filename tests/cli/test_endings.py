"""Every way a command can end: exit code, a sentence on stderr, never a traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from logbook.cases import engines
from logbook.refusals import BookTrouble
from tests.cli.conftest import AIR, CommandLine, peaks


def _raise(monkeypatch: pytest.MonkeyPatch, trouble: BaseException) -> None:
    def raises(*_: object) -> None:
        raise trouble

    monkeypatch.setattr(engines, "list_engines", raises)


def test_a_book_in_trouble_is_a_failure(shop: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    _raise(monkeypatch, BookTrouble("is locked by another program", where="book.db"))
    ended = shop("engine", "list")
    assert (ended.code, ended.out) == (1, "")
    assert ended.err == "Failed: book.db: is locked by another program.\n"


def test_a_disk_in_trouble_is_a_failure(shop: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    _raise(monkeypatch, OSError(28, "No space left on device", "/cell"))
    ended = shop("engine", "list")
    assert (ended.code, ended.err) == (1, "Failed: /cell: No space left on device.\n")


def test_an_error_of_our_own_is_one_sentence_with_the_details_kept(
    shop: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    _raise(monkeypatch, KeyError("inner secret"))
    ended = shop("engine", "list")
    assert ended.code == 1
    assert ended.err.count("\n") == 1
    assert "Traceback" not in ended.err
    (log,) = shop.folder.rglob("logbook.log")
    assert str(log) in ended.err
    assert "KeyError: 'inner secret'" in log.read_text()


def test_a_state_folder_that_takes_nothing_is_said(
    shop: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = shop.folder / "file"
    in_the_way.write_text("")
    monkeypatch.setenv("XDG_STATE_HOME", str(in_the_way))
    _raise(monkeypatch, KeyError("x"))
    ended = shop("engine", "list")
    assert ended.code == 1
    assert "could not be written" in ended.err


def test_ctrl_c(shop: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    _raise(monkeypatch, KeyboardInterrupt())
    ended = shop("engine", "list")
    assert ended.code == 130
    assert ended.err.strip().startswith("Stopped: ")


def test_no_book_is_made_by_looking(logbook: CommandLine) -> None:
    ended = logbook("engine", "list")
    assert ended.code == 1
    assert str(logbook.book) in ended.err
    assert not logbook.book.exists()


def test_a_file_that_is_no_book_is_left_alone(logbook: CommandLine) -> None:
    logbook.book.write_text("a shopping list, long enough to be read as a page\n" * 50)
    before = logbook.book.read_bytes()
    ended = logbook("engine", "list")
    assert ended.code == 1
    assert logbook.book.read_bytes() == before


def test_the_book_by_option_before_or_after(shop: CommandLine, tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    shop.ok("engine", "add", "Z-1", "--db", other)
    for arguments in (("--db", other, "engine", "list"), ("engine", "list", "--db", other)):
        assert "Z-1" in shop.ok(*arguments).out
    assert "Z-1" not in shop.ok("engine", "list").out


def test_who_did_it_is_in_the_audit_trail(shop: CommandLine) -> None:
    assert shop.ok("history", "--json").json_lines[0]["who"] == "KL"


def test_a_caution_about_the_config_file_is_said_once(
    shop: CommandLine, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    config = tmp_path / "logbook.toml"
    config.write_text('opperator = "X"\n')
    monkeypatch.setenv("LOGBOOK_CONFIG", str(config))
    ended = shop.ok("engine", "list")
    assert ended.err.count("did you mean operator?") == 1


def _program(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "logbook", *arguments]


def test_a_reader_that_has_enough_gets_no_traceback(shop: CommandLine) -> None:
    """As with ``logbook find … | head -1``."""
    for count in range(3):
        shop.ok(*peaks(398 + count, *AIR, "--note", "long note " * 20_000))
    with subprocess.Popen(
        _program("find", "note", "--json"), stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as find:
        assert find.stdout is not None
        assert find.stderr is not None
        find.stdout.read(10)
        find.stdout.close()
        said = find.stderr.read()
    assert said == b""
    assert find.returncode == 1


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_an_interrupted_program_ends_with_130(shop: CommandLine) -> None:
    program = (
        "import signal, os\n"
        "from logbook.cases import engines\n"
        "from logbook.cli import main\n"
        f"engines.list_engines = lambda desk: os.kill(os.getpid(), {int(signal.SIGINT)})\n"
        "import sys; sys.argv = ['logbook', 'engine', 'list']\n"
        "main()\n"
    )
    ended = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert ended.returncode == 130
    assert "Traceback" not in ended.stderr


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_a_terminal_without_unicode_is_no_error(shop: CommandLine, encoding: str) -> None:
    shop.ok(*peaks(398, *AIR, "--note", "点火 → ✓"))
    for command in (("pull", "show", "RB-2/last/1"), ("export", "--engine", "RB-2")):
        ended = subprocess.run(
            _program(*command),
            capture_output=True,
            env={**os.environ, "PYTHONIOENCODING": encoding},
        )
        assert ended.returncode == 0, ended.stderr
        assert b"RB-2" in ended.stdout
