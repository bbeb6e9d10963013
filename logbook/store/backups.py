"""Automatic backups: dated copies in a folder beside the book, and which of them are kept.

A copy is made when a session closes, and before a migration, a merge or anything else that
changes much at once. The folder is named after the book (``shop.db`` → ``shop-backups``), each
copy after the book, the UTC time and the occasion. Only regular files of exactly such a name
are ever deleted: whatever a person puts there stays.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from logbook.refusals import Conflict
from logbook.store.copying import copy_book

CLOSED = "session-closed"
BACKUPS = "-backups"  # what the name of the folder ends with
BEFORE_MERGE = "before-merge"
_OCCASIONS = rf"{CLOSED}|{BEFORE_MERGE}|before-\d{{4}}-\d\d-\d\d-[a-z0-9-]+?"
# So many copies of one occasion within one second are no accident any more.
_MOST_IN_A_SECOND = 100


@dataclass(frozen=True, slots=True)
class KeptCopy:
    """One automatic backup. `taken_at` is UTC: ``20260314T183005``."""

    path: Path
    taken_at: str
    occasion: str


def folder_of(book: Path) -> Path:
    """The folder of a book's automatic backups; it need not exist yet."""
    return book.with_name(f"{book.stem}{BACKUPS}")


def compact(moment: str) -> str:
    """A stored UTC time as it stands in file names: ``20260314T183005``."""
    return moment.replace(":", "").replace("-", "")[:15]


def keep_copy(db: sqlite3.Connection, book: Path, occasion: str, now: str) -> Path:
    """Copy the open book `db` into its folder of backups; gives the copy's path.

    Raises `BookTrouble` when it cannot be written whole; nothing is left behind then.
    """
    name = f"{book.stem}-{compact(now)}-{occasion}"
    for turn in range(1, _MOST_IN_A_SECOND):
        again = f"-{turn}" if turn > 1 else ""
        target = folder_of(book) / f"{name}{again}{book.suffix}"
        if target.exists():
            continue
        try:
            copy_book(db, target)
        except Conflict:  # somebody else made this very name meanwhile
            continue
        return target
    raise Conflict("too many backups within one second", where=str(folder_of(book)))


def kept_copies(book: Path) -> list[KeptCopy]:
    """The automatic backups of this book, newest first."""
    shape = re.compile(
        rf"{re.escape(book.stem)}-(\d{{8}}T\d{{6}})-({_OCCASIONS})(-\d+)?{re.escape(book.suffix)}"
    )
    found = []
    folder = folder_of(book)
    for path in folder.iterdir() if folder.is_dir() else ():
        fits = shape.fullmatch(path.name)
        if fits and path.is_file() and not path.is_symlink():
            found.append((fits[1], int((fits[3] or "-1")[1:]), KeptCopy(path, fits[1], fits[2])))
    return [copy for *_, copy in sorted(found, key=lambda one: one[:2], reverse=True)]


def superfluous(copies: Iterable[KeptCopy], kept: int) -> list[KeptCopy]:
    """Those beyond the newest `kept`, but for the newest of every month. `copies` newest first."""
    months: set[str] = set()
    too_many = []
    for place, copy in enumerate(copies):
        month = copy.taken_at[:6]
        if place >= kept and month in months:
            too_many.append(copy)
        months.add(month)
    return too_many


def prune(book: Path, kept: int) -> list[Path]:
    """Delete the automatic backups that need not be kept; gives their paths.

    With `kept` 0 nothing is deleted. Raises ``OSError`` where one cannot be deleted.
    """
    gone = superfluous(kept_copies(book), kept) if kept > 0 else []
    for copy in gone:
        copy.path.unlink(missing_ok=True)
    return [copy.path for copy in gone]
