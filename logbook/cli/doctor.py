"""``logbook doctor``: places, versions, the terminal, the book's health."""

from __future__ import annotations

import importlib.util
import os
import platform
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from datetime import UTC, datetime

import click

from logbook import __version__
from logbook.cases.doctor import FINE, LOOK, WRONG, Finding, examine
from logbook.cli.door import BookCommand, Door
from logbook.cli.trouble import FAILED

_SIGNS = {FINE: "✓", LOOK: "!", WRONG: "✗"}
_EXTRAS = {"asammdf": "mdf", "pyarrow": "parquet", "textual_serve": "serve"}
_LEAST_COLUMNS, _LEAST_LINES = 80, 24


@click.command(cls=BookCommand)
@click.pass_context
def doctor(ctx: click.Context) -> None:
    """What this installation and its book are like.

    Nothing is changed. ✓ is fine, ! is worth a look, ✗ is wrong. Exit code 1 where something is
    wrong. The whole book is checked by `logbook verify`.

    \b
    Examples:
      logbook doctor
      logbook doctor --json
    """
    door = ctx.ensure_object(Door)
    settings = door.settings
    found = [
        *_program(),
        *_config(door),
        *examine(door.book_path, settings.drafts_folder, datetime.now(UTC)),
        *_folder(door),
        *_terminal(),
    ]
    if door.json:
        for one in found:
            door.put({"what": one.what, "how": one.how, "told": one.told, "advice": one.advice})
    else:
        from logbook.reports.tables import grid

        rows = [(_SIGNS[one.how], one.what, one.told, one.advice) for one in found]
        door.table(grid(("", "What", "How it is", "To do"), rows))
    if any(one.how == WRONG for one in found):
        ctx.exit(FAILED)


def _program() -> Iterator[Finding]:
    yield Finding(
        "Versions",
        FINE,
        f"logbook {__version__}, Python {platform.python_version()},"
        f" SQLite {sqlite3.sqlite_version}, {platform.system()} {platform.release()}",
    )
    missing = [extra for module, extra in _EXTRAS.items() if not importlib.util.find_spec(module)]
    if missing:
        yield Finding("Extras", FINE, f"not installed: {', '.join(missing)}",
                      f"pip install 'dyno-cell-logbook[{','.join(missing)}]'")  # fmt: skip


def _config(door: Door) -> Iterator[Finding]:
    from logbook.app.keymap import Keymap

    settings = door.settings
    there = settings.config_path.exists()
    yield Finding("Config file", FINE, f"{settings.config_path}{'' if there else ' (none)'}")
    for caution in (*settings.cautions, *Keymap(settings.keys).cautions):
        yield Finding("Config file", LOOK, caution)


def _folder(door: Door) -> Iterator[Finding]:
    folder = door.settings.watch_folder
    if folder is None:
        return
    if folder.is_dir():
        yield Finding("Watched folder", FINE, str(folder))
    else:
        yield Finding("Watched folder", WRONG, f"{folder} is not there", "mount or make it")


def _terminal() -> Iterator[Finding]:
    if not sys.stdout.isatty():
        yield Finding("Terminal", FINE, "none: the output goes to a pipe or a file")
        return
    size = shutil.get_terminal_size()
    term = os.environ.get("TERM", "")
    told = f"{size.columns}×{size.lines}, TERM={term or 'unset'}, {sys.stdout.encoding}"
    for name, word in (("TMUX", "tmux"), ("SSH_CONNECTION", "over SSH"), ("NO_COLOR", "NO_COLOR")):
        if os.environ.get(name):
            told += f", {word}"
    if size.columns < _LEAST_COLUMNS or size.lines < _LEAST_LINES:
        yield Finding("Terminal", LOOK, told, f"{_LEAST_COLUMNS}×{_LEAST_LINES} or larger")
    elif "utf" not in (sys.stdout.encoding or "").casefold():
        yield Finding("Terminal", LOOK, told, "a UTF-8 locale, or signs are replaced")
    elif term in {"", "dumb"}:
        yield Finding("Terminal", WRONG, told, "a terminal that can be drawn in")
    else:
        yield Finding("Terminal", FINE, told)
