"""Help: every command explains itself, and its examples are ones it takes."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Iterator

import click
import pytest

from logbook import __version__
from logbook.cli.root import logbook as root
from tests.cli.conftest import CommandLine


def commands(
    group: click.Group = root, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command with the words that call it."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield (*path, name), command
        if isinstance(command, click.Group):
            yield from commands(command, (*path, name))


ALL = [pytest.param(path, command, id=" ".join(path)) for path, command in commands()]


def test_version(logbook: CommandLine) -> None:
    assert logbook.ok("--version").out == f"logbook {__version__}\n"


def test_the_commands_there_must_be(logbook: CommandLine) -> None:
    names = {path for path, _ in commands()}
    for words in (
        "demo", "air", "engine add", "engine list", "engine show", "build add", "build list",
        "fuel add", "fuel list", "cell add", "cell list", "session open", "session show",
        "session close", "pull add", "pull show", "pull exclude", "find", "compare", "export",
        "undo", "redo", "backup", "verify",
    ):  # fmt: skip
        assert tuple(words.split()) in names


def test_the_main_help_documents_the_exit_codes(logbook: CommandLine) -> None:
    out = logbook.ok("--help").out
    for line in (r"0 +done", r"1 +failed", r"2 +refused", r"130 +stopped"):
        assert re.search(line, out)
    assert "..." not in out.split("Commands:")[1], "no command's summary is cut"


@pytest.mark.parametrize(("path", "command"), ALL)
def test_every_command_has_help_with_examples(
    logbook: CommandLine, path: tuple[str, ...], command: click.Command
) -> None:
    out = logbook.ok(*path, "--help").out
    assert "Examples:" in out
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{path}: {parameter.name} has no help"


def examples(command: click.Command) -> list[list[str]]:
    """The example lines of a command's help, split as a shell does."""
    text = (command.help or "").replace("\\\n", " ")
    lines = (line.strip() for line in text.splitlines())
    return [shlex.split(line) for line in lines if line.startswith("logbook")]


@pytest.mark.parametrize(("path", "command"), [*ALL, pytest.param((), root, id="logbook")])
def test_the_examples_are_taken(
    path: tuple[str, ...], command: click.Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each names real commands and options, and gives every argument that is needed."""
    called: list[str] = []

    def noting(words: tuple[str, ...]) -> Callable[..., None]:
        return lambda **_: called.append(" ".join(words))

    for words, one in [((), root), *commands()]:
        monkeypatch.setattr(one, "callback", noting(words))
    assert examples(command)
    for example in examples(command):
        plain = next((example[: example.index(s)] for s in (">", ">>") if s in example), example)
        called.clear()
        root.main(plain[1:], prog_name="logbook", standalone_mode=False)
        assert called[-1].startswith(" ".join(path))


def test_the_summaries_that_help_lists_are_the_commands_own() -> None:
    context = click.Context(root)
    shown = root.get_help(context)
    for name in root.list_commands(context):
        command = root.get_command(context, name)
        assert command is not None
        summary = command.get_short_help_str(limit=100)
        assert re.search(rf"^  {re.escape(name)} +{re.escape(summary)}$", shown, re.MULTILINE), name
