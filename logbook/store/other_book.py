"""Looking into another book without touching it."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from logbook.refusals import BookTrouble, Conflict
from logbook.store.checks import ENTERED
from logbook.store.copying import copy_book
from logbook.store.migrations import migrate, pending
from logbook.store.reader import Reader
from logbook.store.trouble import check_header, damaged, in_words, opening


@contextmanager
def looked_into(path: Path, *, beside: Path) -> Iterator[Reader]:
    """One moment of the whole book at `path`, for a merge into the book `beside`.

    The file is opened read only. An older book is brought to this version in a copy that is
    deleted afterwards. Raises `Conflict` for the book itself, `BookTrouble` for a file that is
    missing, no logbook, newer or damaged.
    """
    path = path.expanduser()
    check_is_another(path, beside)
    db = read_only(path)
    try:
        with opening(path):
            steps = pending(db, path)
            _check_not_empty(db, path)
            db.execute("BEGIN")
            _check_whole(db, path)
        if not steps:
            yield Reader(db)
            return
        with tempfile.TemporaryDirectory(prefix=".merge-", dir=beside.parent) as folder:
            copy = Path(folder) / "copy.db"
            copy_book(db, copy)
            with in_words(path):
                newer = sqlite3.connect(copy, isolation_level=None)
                try:
                    migrate(newer, copy)
                    yield Reader(newer)
                finally:
                    newer.close()
    finally:
        db.close()


def check_is_another(path: Path, book: Path) -> None:
    """Refuse a path that is no file, or that is the book itself under whatever name."""
    if path.is_dir():
        raise BookTrouble("this is a folder", where=str(path), wanted="the other book's file")
    if not path.exists():
        raise BookTrouble("there is no book here", where=str(path), wanted="an existing book")
    if os.path.samefile(path, book):
        raise Conflict(
            "this is the very book that would take it in", where=str(path), wanted="another book"
        )


def read_only(path: Path) -> sqlite3.Connection:
    """A connection that cannot write, to a book that other programs may have open."""
    check_header(path)
    log = path.with_name(path.name + "-wal")
    # Without anything in the log nobody is writing, and nothing need be made beside the file:
    # it may lie on a stick that is read-only.
    calm = not (log.exists() and log.stat().st_size)
    uri = path.resolve().as_uri() + ("?mode=ro&immutable=1" if calm else "?mode=ro")
    with opening(path):
        db = sqlite3.connect(uri, uri=True, isolation_level=None)
        try:
            db.execute("PRAGMA query_only = ON")
            # Whoever made this file: nothing in its schema may do more than hold data.
            db.execute("PRAGMA trusted_schema = OFF")
            db.execute("PRAGMA schema_version").fetchone()
        except BaseException:
            db.close()
            raise
    return db


def _check_not_empty(db: sqlite3.Connection, path: Path) -> None:
    if db.execute("PRAGMA user_version").fetchone()[0] == 0:
        raise BookTrouble("this file is empty", where=str(path), wanted="an existing book")


def _check_whole(db: sqlite3.Connection, path: Path) -> None:
    for check in ENTERED:
        problem = next(iter(check(db)), None)
        if problem is not None:
            raise damaged(path, problem)
