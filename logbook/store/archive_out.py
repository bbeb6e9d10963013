"""Writing an archive of a book: all of one moment, whole or not at all."""

from __future__ import annotations

import json
import os
import shutil
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.records.times import day_in
from logbook.refusals import BookTrouble, Conflict
from logbook.store import archive, archive_words, attached, codec
from logbook.store.archive import Column, Shape
from logbook.store.archive_formats import CSV, write_table
from logbook.store.migrations import MIGRATIONS

if TYPE_CHECKING:
    from logbook.store.book import Book
    from logbook.store.reader import Reader

_CHUNK = 1 << 20
ZIP = ".zip"
_CHANNELS = (
    "SELECT position, name, unit, decimals, base, width, digits, listed FROM channels"
    " WHERE pull_id = ? ORDER BY position"
)
_TRACES = (
    "SELECT t.pull_id, t.samples, e.tag, s.opened_at, k.time_zone, p.number FROM traces t"
    " JOIN pulls p ON p.id = t.pull_id JOIN sessions s ON s.id = p.session_id"
    " JOIN engines e ON e.id = s.engine_id JOIN cells k ON k.id = s.cell_id ORDER BY t.pull_id"
)


@dataclass(frozen=True, slots=True)
class Archived:
    """What was written where: rows by table, traces, files kept byte for byte, and the hashes of
    attached files that could not be found."""

    path: Path
    rows: dict[str, int]
    traces: int
    files: int
    missing: tuple[str, ...]


def write_archive(book: Book, target: Path, form: str, *, made: dict[str, str]) -> Archived:
    """Write the book as it is now to the folder (or ``.zip`` file) `target`.

    `form` is that of the table files; `made` says when, by whom and with what. Raises
    `Conflict` where there is such a file or folder, `BookTrouble` where it cannot be written or
    the book is damaged.
    """
    target = target.expanduser()
    if target.exists():
        raise Conflict("there is already a file or folder of this name", where=str(target),
                       wanted="another name")  # fmt: skip
    unfinished = target.with_name(f".{target.name}.{os.getpid()}.unfinished")
    try:
        unfinished.mkdir(parents=True)
        with book.reading() as read:
            done = _Writer(read, book.path, unfinished, form).everything(made)
        if target.suffix.casefold() == ZIP:
            packed_up = unfinished.with_suffix(ZIP)
            _zip(unfinished, packed_up)
            packed_up.rename(target)
        else:
            unfinished.rename(target)
    except OSError as error:
        raise BookTrouble(
            f"the archive cannot be written ({error.strerror or error})",
            where=str(target),
            wanted="a folder with room that you may write in",
        ) from error
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
        unfinished.with_suffix(ZIP).unlink(missing_ok=True)
    return replace(done, path=target)


class _Writer:
    """One archive under way, of one moment of the book."""

    def __init__(self, read: Reader, book: Path, folder: Path, form: str) -> None:
        self._read, self._book, self._folder, self._form = read, book, folder, form
        self._columns: dict[tuple[str, int], str] = {}
        self._trace_files: dict[str, str] = {}
        self._rows: dict[str, int] = {}

    def everything(self, made: dict[str, str]) -> Archived:
        """Traces and files first: what they are called stands in the tables."""
        traces = sum(1 for _ in self._traces())
        files = sum(1 for _ in self._sources())
        missing = self._attached()
        tables = archive.shapes(self._read)
        for shape in tables:
            self._table(shape)
        path = self._folder / archive.DICTIONARY
        told = [self._shown(shape) for shape in tables]
        write_table(CSV, path, archive_words.DICTIONARY_COLUMNS, archive_words.dictionary(told))
        (self._folder / archive.README).write_text(archive_words.ABOUT, encoding="utf-8")
        manifest = {
            "format": archive.FORMAT,
            "version": archive.VERSION,
            **made,
            "table_files": self._form,
            "steps": [migration.name for migration in MIGRATIONS],
            "rows": self._rows,
            "missing_attached": missing,
            "files": {name: _measured(self._folder / name) for name in _names(self._folder)},
        }
        text = json.dumps(manifest, indent=1, ensure_ascii=False)
        (self._folder / archive.MANIFEST).write_text(text + "\n", encoding="utf-8")
        attached_count = len(list((self._folder / "attached").glob("*")))
        return Archived(self._folder, self._rows, traces, files + attached_count, tuple(missing))

    def _shown(self, shape: Shape) -> Shape:
        """A table as it stands in the archive: with the names of files in it."""
        more = {"traces": "file", "channels": "column"}.get(shape.name)
        if more is None:
            return shape
        return replace(shape, columns=(*shape.columns, Column(more, archive.TEXT)))

    def _table(self, shape: Shape) -> None:
        columns, keys = ", ".join(shape.names), ", ".join(shape.keys)
        rows: Iterator[tuple[Any, ...]] = self._read.rows(
            f"SELECT {columns} FROM {shape.name} ORDER BY {keys}"
        )
        if shape.name == "traces":
            rows = ((*row, self._trace_files[row[0]]) for row in rows)
        elif shape.name == "channels":
            rows = ((*row, self._columns[row[0], row[1]]) for row in rows)
        path = self._made(archive.records_file(shape.name, self._form))
        shown = self._shown(shape).columns
        self._rows[shape.name] = write_table(self._form, path, shown, rows)

    def _traces(self) -> Iterator[str]:
        for pull_id, samples, tag, opened_at, zone, number in list(self._read.rows(_TRACES)):
            name = archive.trace_file(tag, day_in(opened_at, zone), number, pull_id, self._form)
            columns: list[Column] = []
            values: list[list[float | None]] = []
            for row in self._read.rows(_CHANNELS, (pull_id,)):
                position, channel, unit, decimals, *stored = row
                head = _unused(f"{channel} [{unit}]" if unit else channel, columns)
                self._columns[pull_id, position] = head
                exact = decimals if stored[2] is not None else None
                columns.append(Column(head, archive.NUMBER, decimals=exact))
                values.append(_values(codec.Stored(*stored), decimals, channel, samples))
            self._trace_files[pull_id] = name
            write_table(self._form, self._made(name), columns, zip(*values, strict=True))
            yield name

    def _sources(self) -> Iterator[str]:
        for (source_id,) in list(self._read.rows("SELECT id FROM sources ORDER BY id")):
            source = self._read.source(source_id)
            file = archive.source_file(source.sha256, source.name)
            self._made(file).write_bytes(source.content)
            yield file

    def _attached(self) -> list[str]:
        missing = []
        for sha256 in attached.hashes(self._read):
            kept = attached.place_of(self._book, sha256)
            try:
                sound = attached.hash_of(kept) == sha256
            except OSError:
                sound = False
            if sound:
                shutil.copyfile(kept, self._made(archive.attached_file(sha256)))
            else:
                missing.append(sha256)
        return missing

    def _made(self, name: str) -> Path:
        path = self._folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        return path


def _unused(head: str, columns: list[Column]) -> str:
    taken, number, found = {column.name for column in columns}, 2, head
    while found in taken:
        found, number = f"{head} ({number})", number + 1
    return found


def _values(stored: codec.Stored, decimals: int, channel: str, samples: int) -> list[float | None]:
    try:
        values = codec.decode(stored, decimals).tolist()
    except ValueError as error:
        raise _damaged(f"the channel {channel}", error) from error
    if len(values) != samples:
        raise _damaged(f"the channel {channel}", f"{len(values)} of {samples} samples")
    return [None if value != value else value for value in values]


def _damaged(what: str, why: object) -> BookTrouble:
    return BookTrouble(
        f"{what} is damaged ({why}); nothing was written", wanted="`logbook verify` says what else"
    )


def _names(folder: Path) -> list[str]:
    return sorted(
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()
    )


def _measured(path: Path) -> dict[str, Any]:
    return {"bytes": path.stat().st_size, "sha256": attached.hash_of(path)}


def _zip(folder: Path, target: Path) -> None:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as out:
        for name in _names(folder):
            out.write(folder / name, name)
