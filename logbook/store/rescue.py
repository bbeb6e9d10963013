"""A new book out of what can still be read of a damaged one.

Every record that can be read and is sound goes over under its own id, with its part of the audit
trail. Where a record that others need is gone, a stand-in takes its place that says so, rather
than leaving readable pulls behind. What was lost is listed, and stands in the new book's trail.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from logbook.records.ids import new_id
from logbook.refusals import BookTrouble, Conflict
from logbook.store.book import Book, connect, utc_now
from logbook.store.migrations import MIGRATIONS
from logbook.store.salvage import Wreck, wreck_of
from logbook.store.salvor import Salvor
from logbook.store.trouble import in_words

# Audit lines of this type tell what a rescue could not bring along.
LOST = "rescue"


@dataclass(frozen=True, slots=True)
class Rescued:
    """What went over: how many of each noun, and a sentence for everything that did not, or not
    whole."""

    path: Path
    saved: Mapping[str, int]
    lost: tuple[str, ...]


def rescue(path: Path, new: Path, *, who: str, now: str | None = None) -> Rescued:
    """Copy everything that can be read of the damaged book at `path` into a new book at `new`.

    The damaged file is only read. Scores go over as they stood: whether they are true of what
    was saved is for the room that computes them. Raises `Conflict` where `new`
    exists, `BookTrouble` where nothing can be read, the book is a newer version's, or the new
    one cannot be written.
    """
    path, new = Path(path).expanduser(), Path(new).expanduser()
    if not path.is_file():
        raise BookTrouble("there is no book here", where=str(path), wanted="the damaged book")
    if new.exists():
        raise Conflict("a file of this name exists", where=str(new), wanted="another name")
    try:
        new.parent.mkdir(parents=True, exist_ok=True)
        folder = tempfile.TemporaryDirectory(prefix=".rescue-", dir=new.parent)
    except OSError as error:
        raise BookTrouble(
            f"the new book cannot be written ({error.strerror})",
            where=str(new.parent),
            wanted="a folder with room that you may write in",
        ) from error
    with folder as name:
        wreck = wreck_of(path, Path(name))
        try:
            _refuse_newer(path, wreck)
            with Book.open(Path(name) / "rescued.db") as book:
                done = _filled(book.path, wreck, f"Rescued from {path.name}", who, now or utc_now())
                book.copy_to(new)
        finally:
            wreck.close()
    return Rescued(new, dict(done.saved), tuple(done.lost))


def _refuse_newer(path: Path, wreck: Wreck) -> None:
    steps, _ = wreck.rows("migrations", "step")
    if len(steps) > len(MIGRATIONS):
        raise BookTrouble(
            "this book was written by a newer version of the logbook; it was left untouched",
            where=str(path),
            wanted="the newer version of this program",
        )


def _filled(path: Path, wreck: Wreck, what: str, who: str, now: str) -> Salvor:
    """Fill the new book at `path` in one transaction."""
    db = connect(path)
    try:
        with in_words(path):
            db.execute("BEGIN IMMEDIATE")
            db.execute("PRAGMA defer_foreign_keys = ON")
            done = Salvor(wreck, db)
            done.everything()
            _note(db, done.lost, what, who, now)
            db.execute("COMMIT")
            if done.outlined:
                db.execute("VACUUM")  # the room that their copies took meanwhile
    finally:
        db.close()
    return done


def _note(db: sqlite3.Connection, lost: list[str], what: str, who: str, now: str) -> None:
    change = new_id()
    db.execute(
        "INSERT INTO audit_changes (id, at, who, what, why) VALUES (?, ?, ?, ?, '')",
        (change, now, who, what),
    )
    db.executemany(
        "INSERT INTO audit_fields (change_id, record_type, record_id, field, new)"
        " VALUES (?, ?, ?, 'lost', ?)",
        [(change, LOST, change, sentence) for sentence in lost or ["nothing"]],
    )
