"""Choosing a trace file: the newest first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets.field import TextEntry
from logbook.app.widgets.ink import BLANK, one
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.refusals import BadFile
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk

MOST_FILES = 5_000


@dataclass(frozen=True, slots=True)
class Found:
    """One line of a folder. `changed` is UTC, ISO 8601."""

    path: Path
    is_folder: bool
    size: int
    changed: str


class FilePicker(BookScreen[Path]):
    """Answers with the file chosen. Begins in the folder chosen from last."""

    place = "files"
    BINDINGS = bindings("files")
    last_folder: Path | None = None

    def __init__(self, heading: str = "Trace file") -> None:
        super().__init__()
        self._heading = heading
        self._folder = FilePicker.last_folder or Path.cwd()
        self._by_name = False
        self._found: dict[str, Found] = {}

    def content(self) -> ComposeResult:
        """The folder and what is in it."""
        yield Text(((self._heading, "strong"),), id="head")
        yield Rows(
            (Column("Name", 0), Column("Size", 9, "right"), Column("Changed", 18, least=60)),
            empty="Nothing here.",
        )

    def reload(self) -> None:
        """Read the folder, in a worker: a slow disk freezes nothing."""
        folder = self._folder
        self.book.work.aside(self, "folder", lambda: look_into(folder), Got)

    def got(self, lane: str, result: object) -> None:
        """Show it, or say that it is watched."""
        if lane == "watch":
            FilePicker.last_folder = self._folder
            self.dismiss(None)
            self.book.say(str(result))
            return
        found = cast("list[Found]", result)
        if self._by_name:
            found = sorted(found, key=lambda one_: (not one_.is_folder, one_.path.name.casefold()))
        self._found = {str(one_.path): one_ for one_ in found}
        kind = "by name" if self._by_name else "newest first"
        self.query_one("#head", Text).put(
            ((f"{self._heading}  ", "strong"), (_short(self._folder), ""), (f"  {kind}", "quiet"))
        )
        rows = [self._row(one_) for one_ in found]
        first_file = next((str(one_.path) for one_ in found if not one_.is_folder), None)
        self.query_one(Rows).put(rows, keep=first_file)
        self.refresh_keys()

    def _row(self, found: Found) -> Row:
        zone = self.book.zone
        when = f"{showing.day(found.changed, zone)} {showing.clock(found.changed, zone)}"
        name = f"{found.path.name}/" if found.is_folder else found.path.name
        size = BLANK if found.is_folder else one(_size(found.size))
        return Row(str(found.path), (one(name, "quiet" if found.is_folder else "strong"), size,
                                     one(when, "quiet")))  # fmt: skip

    def key_words(self, key: Key) -> str | None:
        """The sorting key names the other order."""
        if key.id == "files.newest":
            return "newest first" if self._by_name else "by name"
        if key.id == "files.watch" and self.book.landings.watched == self._folder:
            return "stop watching"
        return key.words

    def action_choose(self) -> None:
        """Take the file, or go into the folder."""
        row = self.query_one(Rows).current
        if row is None:
            return
        found = self._found[row.key]
        if found.is_folder:
            self._go(found.path)
        else:
            self.take(found.path)

    def on_rows_chosen(self) -> None:
        """A second click takes it."""
        self.action_choose()

    def take(self, path: Path) -> None:
        """This file."""
        FilePicker.last_folder = path.parent
        self.dismiss(path)

    def action_up(self) -> None:
        """The folder above."""
        self._go(self._folder.parent)

    def action_sort(self) -> None:
        """The other order."""
        self._by_name = not self._by_name
        self.reload()

    def action_watch(self) -> None:
        """Watch this folder from now on, or stop watching it."""
        folder = self._folder
        stop = self.book.landings.watched == folder

        def job(desk: Desk) -> str:
            from logbook.cases.landing import choose_app_folder

            choose_app_folder(desk, None if stop else folder)
            if stop:
                return "The folder is not watched any more."
            return f"Watching {_short(folder)}: files that land in it wait on the session."

        self.change("watch", job, Got, "looking into the folder")

    def action_path(self) -> None:
        """Type a path."""

        def typed(path: Path | None) -> None:
            if path is None:
                return
            if path.is_dir():
                self._go(path)
            elif path.is_file():
                self.take(path)
            else:
                self.notice(f"There is no file {path}", "error")

        self.app.push_screen(PathForm(self._folder), typed)

    def _go(self, folder: Path) -> None:
        self._folder = folder
        self.reload()


class PathForm(ShortForm[Path]):
    """A typed or pasted path."""

    place = "factor"
    BINDINGS = bindings("factor")

    def __init__(self, folder: Path) -> None:
        super().__init__("", "Path of a file or a folder")
        self._folder = folder

    def entries(self) -> ComposeResult:
        """The path."""
        yield TextEntry("path", "Path", wide=True)

    def action_save(self) -> None:
        """Give it to the list below."""
        text = self.touched().get("path", "").strip().strip("'\"")
        if text:
            self.dismiss((self._folder / Path(text).expanduser()).resolve())


def look_into(folder: Path) -> list[Found]:
    """What is in a folder: folders last, files newest first; hidden ones are left out.

    Raises `BadFile` where the folder cannot be read.
    """
    found: list[Found] = []
    try:
        for path in folder.iterdir():
            if path.name.startswith("."):
                continue
            try:
                seen = path.stat()
            except OSError:
                continue  # gone since, or a link to nowhere: it cannot be chosen anyway
            stamp = datetime.fromtimestamp(seen.st_mtime, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
            found.append(Found(path, path.is_dir(), seen.st_size, stamp))
            if len(found) >= MOST_FILES:
                break
    except OSError as trouble:
        raise BadFile(
            f"the folder cannot be read ({trouble.strerror})",
            where=str(folder),
            wanted="another folder",
        ) from trouble
    return sorted(found, key=lambda one_: (not one_.is_folder, one_.changed), reverse=True)


def _short(folder: Path) -> str:
    """A folder with the home folder written ``~``."""
    home = Path.home()
    return f"~/{folder.relative_to(home)}" if folder.is_relative_to(home) else str(folder)


def _size(size: int) -> str:
    for unit, over in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if size >= over:
            return f"{size / over:.1f} {unit}"
    return f"{size} B"
