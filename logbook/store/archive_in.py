"""Making a book of an archive: equal to the one it was written from, record by record.

An archive of an older book is first filled into the shape that it had, and brought to this
version by the steps that the book would have gone.
"""

from __future__ import annotations

import hashlib
import sqlite3
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from logbook.refusals import BadFile, BookTrouble, Conflict
from logbook.store import archive, attached, codec, sources
from logbook.store.archive import Shape
from logbook.store.archive_formats import FORMS, read_table
from logbook.store.archive_shelf import Shelf, shelf_at
from logbook.store.book import Book, connect
from logbook.store.checks import CHECKS
from logbook.store.migrations import MIGRATIONS, drop_made, migrate
from logbook.store.reader import Reader
from logbook.store.salvor_traces import number_samples
from logbook.store.trouble import in_words

_AS_WRITTEN = "the archive as it was written"
_FILES = "sources"


@dataclass(frozen=True, slots=True)
class Imported:
    """The new book, and how many rows of each table are in it."""

    path: Path
    rows: dict[str, int]


def read_archive(source: Path, new: Path) -> Imported:
    """Make a new book at `new` of the archive at `source`. Figures are for others to compute.

    Raises `Conflict` where `new` exists, `BadFile` where the archive is none or not whole,
    `BookTrouble` where the book cannot be written or the archive is a newer version's.
    """
    source, new = source.expanduser(), new.expanduser()
    if new.exists():
        raise Conflict("a file of this name exists", where=str(new), wanted="another name")
    with shelf_at(source) as shelf:
        _check_version(shelf, source)
        shelf.check()
        try:
            new.parent.mkdir(parents=True, exist_ok=True)
            folder = tempfile.TemporaryDirectory(prefix=".import-", dir=new.parent)
        except OSError as error:
            raise BookTrouble(
                f"the new book cannot be written ({error.strerror})", where=str(new.parent),
                wanted="a folder with room that you may write in",
            ) from error  # fmt: skip
        with folder as name, Book.open(Path(name) / "imported.db") as book:
            rows = _filled(book.path, shelf, Path(name))
            _check(book.path, source)
            _bring_attached(shelf, book, new)
            book.copy_to(new)
    return Imported(new, rows)


def _check_version(shelf: Shelf, source: Path) -> None:
    known = [migration.name for migration in MIGRATIONS]
    steps = shelf.steps
    if not steps or len(steps) > len(known) or steps != known[: len(steps)]:
        raise BookTrouble("this archive was written by a newer version of the logbook",
                          where=str(source),
                          wanted="the newer version of this program")  # fmt: skip
    if shelf.form not in FORMS:
        raise BadFile(f"its tables are {shelf.form[:20]!r}", where=str(source),
                      wanted=" or ".join(FORMS))  # fmt: skip


def _filled(path: Path, shelf: Shelf, folder: Path) -> dict[str, int]:
    """Fill the new book at `path` in one transaction."""
    with closing(connect(path)) as db, in_words(path):
        db.execute("BEGIN IMMEDIATE")
        # Records refer to each other in circles: a baseline's pulls belong to the session.
        db.execute("PRAGMA defer_foreign_keys = ON")
        if len(shelf.steps) == len(MIGRATIONS):
            rows = _fill(db, shelf)
        else:
            stage = sqlite3.connect(folder / "older.db", isolation_level=None)
            with closing(stage):
                migrate(stage, folder / "older.db", steps=len(shelf.steps))
                drop_made(stage)  # those of today would not fit its tables
                stage.execute("BEGIN")
                stage.execute("PRAGMA defer_foreign_keys = ON")
                rows = _fill(stage, shelf)
                stage.execute("COMMIT")
                migrate(stage, folder / "older.db")
                sources.outline_all(stage)
                _carry(Reader(stage), db)
        number_samples(db)
        db.execute("COMMIT")
        return rows


def _carry(older: Reader, db: sqlite3.Connection) -> None:
    """Every entered row of a book, with all its columns, into the new one."""
    for shape in archive.shapes(older):
        columns = [str(row[1]) for row in older.rows(f"PRAGMA table_info({shape.name})")]
        marks = ", ".join("?" * len(columns))
        db.executemany(
            f"INSERT INTO {shape.name} ({', '.join(columns)}) VALUES ({marks})",
            older.rows(f"SELECT {', '.join(columns)} FROM {shape.name}"),
        )


def _fill(db: sqlite3.Connection, shelf: Shelf) -> dict[str, int]:
    rows, filling = {}, _Filling(shelf, db)
    # Files come last: their numbers are looked for in the traces.
    for shape in sorted(archive.shapes(Reader(db)), key=lambda shape: shape.name == _FILES):
        wanted, count = shelf.rows(shape.name), 0
        if wanted is None:
            raise BadFile("the archive has no such table", where=shape.name, wanted=_AS_WRITTEN)
        for row in filling.rows(shape):
            count += 1
            _insert(db, shape, row, count)
        if count != wanted:
            raise BadFile(f"{count} of {wanted} rows are there", where=shape.name,
                          wanted=_AS_WRITTEN)  # fmt: skip
        rows[shape.name] = count
    return rows


def _insert(db: sqlite3.Connection, shape: Shape, row: dict[str, Any], number: int) -> None:
    marks = ", ".join("?" * len(row))
    try:
        db.execute(
            f"INSERT INTO {shape.name} ({', '.join(row)}) VALUES ({marks})", list(row.values())
        )
    except (
        sqlite3.IntegrityError, sqlite3.InterfaceError, sqlite3.ProgrammingError, OverflowError
    ) as error:  # fmt: skip
        said = str(error).partition(" constraint failed: ")[2] or str(error)
        raise BadFile(said, where=f"{shape.name}, row {number}", wanted=_AS_WRITTEN) from error


class _Filling:
    """The rows of an archive's tables as a book holds them: bytes and samples in their columns."""

    def __init__(self, shelf: Shelf, db: sqlite3.Connection) -> None:
        self._shelf, self._db = shelf, db
        self._trace_files: dict[str, str] = {}
        self._open: tuple[str, dict[str, list[Any]]] = ("", {})

    def rows(self, shape: Shape) -> Iterator[dict[str, Any]]:
        """The rows of one table; traces come before their channels."""
        file = archive.records_file(shape.name, self._shelf.form)
        known = {*shape.names, "file", "column"}
        with self._shelf.open(file) as opened:
            for row in read_table(self._shelf.form, opened, file):
                if not row.keys() <= known:
                    strange = sorted(row.keys() - known)[0]
                    raise BadFile(f"no column {strange[:40]!r} is known", where=file,
                                  wanted=_AS_WRITTEN)  # fmt: skip
                found: dict[str, Any] = {name: row[name] for name in shape.names if name in row}
                try:
                    self._add_bytes(shape.name, row, found)
                except (KeyError, TypeError, ValueError, OverflowError) as error:
                    raise BadFile(f"a row is not as it was written ({str(error)[:40]})", where=file,
                                  wanted=_AS_WRITTEN) from error  # fmt: skip
                yield found

    def _add_bytes(self, table: str, row: Mapping[str, Any], found: dict[str, Any]) -> None:
        match table:
            case "sources":
                found |= self._source(found)
            case "traces":
                self._trace_files[str(found["pull_id"])] = str(row.get("file"))
            case "channels":
                found |= self._channel(found, str(row.get("column")))

    def _source(self, row: dict[str, Any]) -> dict[str, Any]:
        name = archive.source_file(str(row["sha256"]), str(row["name"]))
        content = self._shelf.content(name)
        if hashlib.sha256(content).hexdigest() != row["sha256"]:
            raise BadFile("its bytes do not have the hash that it is named after", where=name)
        return sources.columns_for(self._db, str(row["id"]), str(row["sha256"]), content)

    def _channel(self, row: dict[str, Any], column: str) -> dict[str, Any]:
        import numpy as np

        pull_id, file = str(row["pull_id"]), self._trace_files.get(str(row["pull_id"]), "")
        if self._open[0] != pull_id:
            self._open = (pull_id, self._samples(file))
        cells = self._open[1].get(column)
        if cells is None or len(cells) != row["samples"]:
            raise BadFile(f"there are not {row['samples']} samples of {column[:40]!r}", where=file,
                          wanted=_AS_WRITTEN)  # fmt: skip
        if not all(cell is None or isinstance(cell, (int, float)) for cell in cells):
            raise BadFile(f"{column[:40]!r} holds something that is no number", where=file,
                          wanted=_AS_WRITTEN)  # fmt: skip
        values = np.array([np.nan if cell is None else cell for cell in cells], dtype=np.float64)
        stored = codec.encode(str(row["name"]), values, int(row["decimals"]))
        return {
            "base": stored.base,
            "width": stored.width,
            "digits": stored.digits,
            "listed": stored.listed,
            "crc32": stored.crc32,
        }

    def _samples(self, file: str) -> dict[str, list[Any]]:
        columns: dict[str, list[Any]] = {}
        with self._shelf.open(file) as opened:
            for row in read_table(self._shelf.form, opened, file):
                for name, value in row.items():
                    columns.setdefault(name, []).append(value)
        return columns


def _check(book: Path, source: Path) -> None:
    """Everything that `verify` looks at but attached files, which come last."""
    with closing(connect(book)) as db, in_words(book):
        problems = [problem for check in CHECKS for problem in check(db)]
    if problems:
        raise BadFile(f"the archive is not whole: {problems[0]}", where=str(source),
                      wanted="the book it was made from, or another archive")  # fmt: skip


def _bring_attached(shelf: Shelf, book: Book, new: Path) -> None:
    with book.reading() as read:
        wanted = [one for one in attached.hashes(read) if one not in shelf.missing_attached()]
    for sha256 in wanted:
        with shelf.open(archive.attached_file(sha256)) as file:
            kept, _ = attached.keep_stream(new, file)
        if kept != sha256:
            raise BadFile("its bytes do not have the hash that it is named after", where=sha256)
