"""The open book: one writer, a reader in every thread, one transaction per change."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from logbook import underway
from logbook.refusals import BookTrouble
from logbook.store.backups import keep_copy
from logbook.store.change import Change
from logbook.store.copying import copy_book
from logbook.store.migrations import migrate, pending
from logbook.store.reader import Reader
from logbook.store.trouble import check_place, in_words, opening

# How long a writer waits for another program's transaction before it says so.
BUSY_SECONDS = 5.0
OLDEST_SQLITE = (3, 38, 0)


def utc_now() -> str:
    """Now, UTC, ISO 8601 with ``Z``, to the millisecond."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Book:
    """One logbook file. Open it with `Book.open`; it may be used from any thread.

    Writing goes through `changing`, one change at a time; reading through `reading`, in as
    many threads as wanted, each with its own connection and never blocked by the writer.
    """

    def __init__(
        self, path: Path, writer: sqlite3.Connection, now: Callable[[], str], busy_seconds: float
    ) -> None:
        self.path = path
        self.now = now
        self._writer = writer
        self._writing = threading.RLock()
        self._busy_seconds = busy_seconds
        self._local = threading.local()
        self._readers: list[tuple[threading.Thread, sqlite3.Connection]] = []
        self._interrupted: set[threading.Thread] = set()
        self._closed = False
        self._identity = _identity(path)

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        create: bool = True,
        now: Callable[[], str] = utc_now,
        busy_seconds: float = BUSY_SECONDS,
    ) -> Book:
        """Open the book at `path`, making or migrating it where needed.

        `now` tells the time of a change. Raises `BookTrouble` in a sentence when the place or
        the file cannot be used; a newer or foreign file is left untouched.
        """
        path = Path(path).expanduser()
        if sqlite3.sqlite_version_info < OLDEST_SQLITE:
            raise BookTrouble(
                f"SQLite {sqlite3.sqlite_version} is too old",
                wanted="a Python with SQLite 3.38 or newer",
            )
        check_place(path, create=create)
        with opening(path):
            writer = connect(path, busy_seconds)
            try:
                if pending(writer, path):
                    _keep_wal(writer)
                    migrate(
                        writer,
                        path,
                        lambda step: keep_copy(writer, path, f"before-{step.name}", now()),
                    )
                _keep_wal(writer)
            except BaseException:
                writer.close()
                raise
        return cls(path, writer, now, busy_seconds)

    def close(self) -> None:
        """Close all connections; the write-ahead log is folded into the file."""
        with self._writing:
            if self._closed:
                return
            self._closed = True
            for _, reader in self._readers:
                reader.close()
            self._readers.clear()
            try:
                # Keeps the query planner's figures fresh; limited, so that closing is quick.
                self._writer.execute("PRAGMA busy_timeout = 0")
                self._writer.execute("PRAGMA analysis_limit = 400")
                self._writer.execute("PRAGMA optimize")
            except sqlite3.OperationalError:
                # Another program writes, or the disk is full: everything entered is committed
                # already, and the figures can wait for the next time.
                pass
            finally:
                self._writer.close()

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """A reader whose answers all belong to one moment of the book.

        Nested in the same thread it is the same reader, and so the same moment. Inside a change
        it does not see what that change has written: ask the change itself, it reads too.
        """
        current: Reader | None = getattr(self._local, "reader", None)
        if current is not None:
            yield current
            return
        with in_words(self.path):
            self._forget_interrupted()
            db = self._reader()
            db.execute("BEGIN")
            self._local.reader = Reader(db)
            try:
                yield self._local.reader
            finally:
                self._local.reader = None
                if db.in_transaction:
                    db.execute("ROLLBACK")

    @contextmanager
    def changing(self, *, who: str, what: str = "", why: str = "") -> Iterator[Change]:
        """One change: everything done to it is written together at the end, or nothing is.

        Waits for other writers, then for another program at most the busy time. Any exception
        rolls everything back.
        """
        with self._writing, in_words(self.path):
            self._check_still_there()
            if self._writer.in_transaction:
                raise RuntimeError("a change is already under way in this thread")
            self._writer.execute("BEGIN IMMEDIATE")
            try:
                change = Change(self._writer, at=self.now(), who=who, what=what, why=why)
                yield change
                change.finish()
                underway.seal()
                self._writer.execute("COMMIT")
            except BaseException:
                # A full disk may already have rolled it back.
                if self._writer.in_transaction:
                    self._writer.execute("ROLLBACK")
                raise

    def interrupt(self, thread: threading.Thread) -> None:
        """Stop what `thread` is reading; its query ends with `Interrupted`."""
        self._interrupted.add(thread)
        for owner, reader in list(self._readers):
            if owner is thread:
                reader.interrupt()

    def data_version(self) -> int:
        """A number that differs once another connection or program has written to the book."""
        with in_words(self.path):
            return int(self._reader().execute("PRAGMA data_version").fetchone()[0])

    def copy_to(self, target: Path) -> None:
        """Copy the book, as it is now, to the new file `target`; see `copy_book`."""
        copy = connect(self.path, self._busy_seconds)
        try:
            copy_book(copy, target)
        finally:
            copy.close()

    def keep_copy(self, occasion: str) -> Path:
        """An automatic backup of the book as it is now; see `backups.keep_copy`."""
        copy = connect(self.path, self._busy_seconds)
        try:
            return keep_copy(copy, self.path, occasion, self.now())
        finally:
            copy.close()

    def _check_still_there(self) -> None:
        # What is written to a file that was deleted or replaced is gone with it.
        if self._closed:
            raise BookTrouble("the book is closed", where=str(self.path))
        if _identity(self.path) != self._identity:
            raise BookTrouble(
                "the book's file was moved, deleted or replaced while it was open",
                where=str(self.path),
                wanted="put it back, or open the book anew",
            )

    def _reader(self) -> sqlite3.Connection:
        db: sqlite3.Connection | None = getattr(self._local, "db", None)
        if db is not None and not self._closed:
            return db
        if self._closed:
            raise BookTrouble("the book is closed", where=str(self.path))
        db = connect(self.path, self._busy_seconds)
        db.execute("PRAGMA query_only = ON")
        self._local.db = db
        self._forget_ended_threads()
        self._readers.append((threading.current_thread(), db))
        return db

    def _forget_interrupted(self) -> None:
        """Rows of an interrupted query that something still holds, a traceback say, would have
        SQLite interrupt whatever is read next: read on with another connection."""
        thread = threading.current_thread()
        if thread in self._interrupted:
            self._interrupted.discard(thread)
            for pair in [pair for pair in self._readers if pair[0] is thread]:
                self._readers.remove(pair)
                pair[1].close()
            self._local.db = None

    def _forget_ended_threads(self) -> None:
        ended = [(thread, db) for thread, db in self._readers if not thread.is_alive()]
        for pair in ended:
            self._readers.remove(pair)
            pair[1].close()


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def connect(path: Path, busy_seconds: float = BUSY_SECONDS) -> sqlite3.Connection:
    """A connection to the book as all of this room use it."""
    # Transactions are begun and ended by hand (isolation_level None), and a connection may be
    # closed by another thread than the one that used it.
    db = sqlite3.connect(path, timeout=busy_seconds, isolation_level=None, check_same_thread=False)
    try:
        with opening(path):
            db.execute("PRAGMA foreign_keys = ON")
            db.execute("PRAGMA synchronous = FULL")
            db.execute("PRAGMA cache_size = -6000")
    except BaseException:
        db.close()
        raise
    return db


def _keep_wal(db: sqlite3.Connection) -> None:
    """Write-ahead log: readers do not wait for the writer. Kept in the file once set."""
    if db.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        db.execute("PRAGMA journal_mode = WAL")
