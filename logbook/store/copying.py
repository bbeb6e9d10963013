"""Copies of a book, made while it is in use: whole, checked, on the disk, then named."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

from logbook.refusals import BookTrouble, Conflict
from logbook.store.trouble import Damaged


def copy_book(db: sqlite3.Connection, target: Path) -> None:
    """Copy the open database `db` to `target`, which appears only when it is whole.

    The copy is made page by page under a temporary name, its integrity is checked, it is
    written through to the disk and then given its name. Raises `Conflict` when `target`
    exists, `BookTrouble` when it cannot be written or the copy is not whole.
    """
    unfinished = target.with_name(f".{target.name}.{os.getpid()}.unfinished")
    try:
        if target.exists():
            raise Conflict("a file of this name exists", where=str(target), wanted="another name")
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            _copy(db, unfinished)
            _to_disk(unfinished)
            _name(unfinished, target)
            _to_disk(target.parent)
        finally:
            unfinished.unlink(missing_ok=True)
    except (OSError, sqlite3.Error) as error:
        said = error.strerror if isinstance(error, OSError) else str(error)
        raise BookTrouble(
            f"the copy cannot be written ({said})",
            where=str(target),
            wanted="a folder with room that you may write in",
        ) from error


def _copy(db: sqlite3.Connection, target: Path) -> None:
    target.unlink(missing_ok=True)
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        db.backup(copy)
        # One plain file: a copy carries no write-ahead log beside it.
        copy.execute("PRAGMA journal_mode = DELETE")
        said = [str(row[0]) for row in copy.execute("PRAGMA integrity_check(1)")]
    finally:
        copy.close()
    if said != ["ok"]:
        raise Damaged(
            f"the copy is not whole ({said[0]})",
            where=str(target),
            wanted="run `logbook verify` on the book",
        )


def _name(unfinished: Path, target: Path) -> None:
    # A link, unlike a rename, fails when somebody made `target` in the meantime.
    try:
        os.link(unfinished, target)
    except FileExistsError:
        raise Conflict(
            "a file of this name exists", where=str(target), wanted="another name"
        ) from None
    except OSError:
        # Some file systems (FAT on a USB stick) have no links.
        unfinished.rename(target)


def _to_disk(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
