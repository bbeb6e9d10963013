"""Reading whatever can still be read of a damaged book.

The file and its write-ahead log are copied first; the original is never opened for writing. A
table is read from its front until a damaged page stops it, then from its back, then row by row
for every key that an index, the audit trail or another table still names.
"""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from logbook.refusals import BookTrouble
from logbook.store.migrations import ENGINE_FILE_STEP, MIGRATIONS, migrate

Row = dict[str, Any]

# The tables that anything is saved of.
_FIRST = (
    "cells", "engines", "builds", "fuels", "sessions", "setups", "setup_levels", "airs", "sources",
    "source_kinds", "pulls", "traces", "channels", "audit_changes", "audit_fields",
)  # fmt: skip
# Those that an older book does not have.
_LATER = ("build_items", "inspections", "clearances", "calibrations", "due_marks", "attachments")
NEEDED = (*_FIRST, *_LATER)
_HEADER = 100
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


class Wreck:
    """A copy of a damaged book, open for reading. Use `wreck_of` to make one.

    `guessed`: where its tables begin was taken from a new book, which is certain of the first
    tables only: those of later steps begin elsewhere in a book that has grown by steps.
    """

    def __init__(self, db: sqlite3.Connection, *, guessed: bool = False) -> None:
        self._db = db
        self._guessed = guessed
        db.text_factory = lambda raw: raw.decode("utf-8", "replace")
        # Definitions that are damaged are passed over instead of barring everything.
        db.execute("PRAGMA writable_schema = ON")
        db.execute("PRAGMA query_only = ON")
        self._columns: dict[str, tuple[str, ...]] = {}

    def close(self) -> None:
        """Let go of the copy."""
        self._db.close()

    def is_logbook(self, shape: Mapping[str, tuple[str, ...]]) -> bool:
        """Whether all tables are as they should be, and one of two holds what it should.

        A table of an older book lacks the columns that steps have added at its end since; any
        other name of a column is a damaged one.
        """
        steps = {row[0] for row in self.peek("SELECT name FROM migrations")}
        for table, columns in shape.items():
            found = self.columns(table)
            older = table in _LATER and ENGINE_FILE_STEP not in steps
            if found != columns[: len(found)] or not (found or older):
                return False
        if steps & {step.name for step in MIGRATIONS}:
            return True
        return any(_UUID.fullmatch(str(row[0])) for row in self.peek("SELECT id FROM pulls"))

    def columns(self, table: str) -> tuple[str, ...]:
        """The columns that the table has; none where even its definition is gone."""
        if table not in self._columns:
            try:
                found = tuple(row[1] for row in self._db.execute(f"PRAGMA table_info({table})"))
            except sqlite3.DatabaseError:
                found = ()
            self._columns[table] = found
        return self._columns[table]

    def rows(
        self, table: str, key: str, also: Iterable[Any] = ()
    ) -> tuple[dict[Any, Row], set[Any]]:
        """(key → row of everything that can be read, keys known to be there that cannot be read).

        `key` is the primary key or ``rowid``; `also` are keys that other tables name.
        """
        columns = self.columns(table)
        if not columns:
            return {}, set(also)
        select = f"SELECT {key}, {', '.join(columns)} FROM {table}"
        found: dict[Any, Row] = {}
        for order in ("", f" ORDER BY {key} DESC"):
            for values in self._until_damage(select + order):
                if values is None or (order and values[0] in found):
                    break
                found[values[0]] = dict(zip(columns, values[1:], strict=True))
            else:
                if not order:
                    return found, set(also) - found.keys()
        known = {*also, *self._keys_in_indexes(table, key)}
        for one in known - found.keys():
            for values in self._until_damage(f"{select} WHERE {key} = ?", (one,)):
                if values is not None:
                    found[one] = dict(zip(columns, values[1:], strict=True))
        return found, known - found.keys()

    def is_certain(self, table: str) -> bool:
        """Whether what is read as this table surely is it."""
        return not (self._guessed and table in _LATER)

    def peek(self, sql: str) -> list[tuple[Any, ...]]:
        """The rows of a query up to a damaged page."""
        return [row for row in self._until_damage(sql) if row is not None]

    def levels(self, setup_ids: Iterable[str]) -> dict[str, list[Row]]:
        """Set-up → its levels in order, as far as they can be read."""
        columns = self.columns("setup_levels")
        found: dict[str, list[Row]] = {one: [] for one in setup_ids}
        if not columns:
            return found
        select = f"SELECT {', '.join(columns)} FROM setup_levels WHERE setup_id = ?"
        for setup_id, rows in found.items():
            for values in self._until_damage(select, (setup_id,)):
                if values is not None:
                    rows.append(dict(zip(columns, values, strict=True)))
            rows.sort(key=lambda row: (int(row["position"]), str(row["factor_key"])))
        return found

    def _until_damage(self, sql: str, parameters: tuple[Any, ...] = ()) -> Iterator[Any]:
        """The rows up to a damaged page; then ``None``, and nothing more."""
        try:
            yield from self._db.execute(sql, parameters)
        except sqlite3.DatabaseError:
            yield None

    def _keys_in_indexes(self, table: str, key: str) -> set[Any]:
        keys: set[Any] = set()
        for values in self._until_damage(
            "SELECT name FROM sqlite_schema WHERE type = 'index' AND tbl_name = ?", (table,)
        ):
            if values is None:
                break
            quoted = '"' + values[0].replace('"', '""') + '"'
            for direction in ("", " DESC"):
                # Ordered by the index's own first column it is walked, not the table.
                first = self._first_column(quoted)
                order = f" ORDER BY {first}{direction}" if first else ""
                sql = f"SELECT {key} FROM {table} INDEXED BY {quoted}{order}"
                keys.update(row[0] for row in self._until_damage(sql) if row is not None)
        return keys

    def _first_column(self, index: str) -> str | None:
        for values in self._until_damage(f"PRAGMA index_info({index})"):
            return None if values is None else values[2]
        return None


def wreck_of(path: Path, folder: Path) -> Wreck:
    """Copy the damaged book at `path` into `folder` and open the copy.

    Where the list of tables cannot be read, first the file's header, then the list itself is
    replaced by that of a new book, whose tables begin on the same pages. Raises `BookTrouble`
    where neither helps.
    """
    shape = _shape()
    for turn, mend in enumerate((_as_it_is, _fresh_header, _fresh_contents)):
        copy = folder / f"wreck-{turn}.db"
        _copy_of(path, copy)
        db: sqlite3.Connection | None = None
        try:
            mend(copy, folder)
            db = sqlite3.connect(copy, isolation_level=None)
            wreck = Wreck(db, guessed=mend is _fresh_contents)
            if wreck.is_logbook(shape):
                return wreck
        except sqlite3.DatabaseError:
            pass  # the next attempt, or the sentence below
        if db is not None:
            db.close()
        copy.unlink()
    raise BookTrouble(
        "nothing can be read of this file: it has no logbook's table of contents",
        where=str(path),
        wanted="the latest backup",
    )


def _copy_of(path: Path, copy: Path) -> None:
    try:
        shutil.copyfile(path, copy)
        log = path.with_name(path.name + "-wal")
        if log.exists():
            shutil.copyfile(log, copy.with_name(copy.name + "-wal"))
    except OSError as error:
        raise BookTrouble(
            f"the damaged book cannot be copied ({error.strerror})",
            where=str(path),
            wanted="a readable file, and room for a copy of it beside the new book",
        ) from error


def _as_it_is(copy: Path, folder: Path) -> None:
    """The first attempt changes nothing."""


def _fresh_header(copy: Path, folder: Path) -> None:
    """Put the header of a new book of this size before the damaged one's pages."""
    content = bytearray(copy.read_bytes())
    header = bytearray(_new_book(folder).read_bytes()[:_HEADER])
    size = int.from_bytes(header[16:18], "big")
    header[28:32] = (len(content) // size).to_bytes(4, "big")
    header[32:40] = bytes(8)  # the list of free pages is not needed to read
    content[:_HEADER] = header
    copy.write_bytes(content)


def _fresh_contents(copy: Path, folder: Path) -> None:
    """Give the damaged one's pages a list of tables as a new book has it.

    A book's tables are made in one order on an empty file, so they begin on the same pages in
    every book whose tables were not rebuilt since.
    """
    new = sqlite3.connect(_new_book(folder))
    listed = new.execute(
        "SELECT type, name, tbl_name, rootpage, sql FROM sqlite_schema WHERE rootpage > 0"
        " AND name NOT LIKE 'search_index%'"
    ).fetchall()
    new.close()
    empty = folder / "empty.db"
    db = sqlite3.connect(empty, isolation_level=None)
    db.execute("VACUUM")
    size = int(db.execute("PRAGMA page_size").fetchone()[0])
    db.close()
    content = bytearray(copy.read_bytes())
    content[:size] = empty.read_bytes()[:size]
    content[28:32] = (len(content) // size).to_bytes(4, "big")
    copy.write_bytes(content)
    db = sqlite3.connect(copy, isolation_level=None)
    try:
        db.execute("PRAGMA writable_schema = ON")
        db.executemany("INSERT INTO sqlite_schema VALUES (?, ?, ?, ?, ?)", listed)
    finally:
        db.close()


def _shape() -> dict[str, tuple[str, ...]]:
    """Table → columns of everything that is saved, as a new book has them."""
    db = sqlite3.connect(":memory:", isolation_level=None)
    try:
        migrate(db, Path(":memory:"))
        return {
            table: tuple(row[1] for row in db.execute(f"PRAGMA table_info({table})"))
            for table in NEEDED
        }
    finally:
        db.close()


def _new_book(folder: Path) -> Path:
    path = folder / "new.db"
    if not path.exists():
        db = sqlite3.connect(path, isolation_level=None)
        migrate(db, path)
        db.close()
    return path
