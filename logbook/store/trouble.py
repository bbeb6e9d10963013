"""From what SQLite and the file system say to sentences that say what to do."""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from logbook.plain import capital
from logbook.refusals import BadInput, BookTrouble, Conflict, Refusal

# File systems that are reached over a network: SQLite's write-ahead log does not work there.
_NETWORK = frozenset(
    {
        "9p", "afs", "afpfs", "ceph", "cifs", "coda", "davfs", "fuse.davfs", "fuse.glusterfs",
        "fuse.rclone", "fuse.s3fs", "fuse.sshfs", "gfs2", "glusterfs", "lustre", "ncpfs", "nfs",
        "nfs4", "ocfs2", "smb3", "smbfs",
    }
)  # fmt: skip

_HEADER = b"SQLite format 3\x00"


class Interrupted(BookTrouble):
    """A query was interrupted because a newer one superseded it."""


class Damaged(BookTrouble):
    """The book's file is not whole; perhaps much of it can still be saved."""


def told(error: sqlite3.Error, path: Path) -> Refusal:
    """The refusal that says in words what `error` on the book at `path` means."""
    name = str(getattr(error, "sqlite_errorname", "") or "")
    text = str(error)
    where = str(path)
    if name.startswith("SQLITE_CONSTRAINT"):
        return _constraint(name, text)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return BookTrouble(
            "the book is locked: another program is writing to it",
            where=where,
            wanted="finish or close the other program, then do this again",
        )
    if name.startswith("SQLITE_READONLY"):
        return read_only(path)
    if name == "SQLITE_FULL":
        return BookTrouble(
            "the disk is full; the last entry was not written, everything before it is kept",
            where=where,
            wanted="room on the disk, then do this again",
        )
    if name.startswith("SQLITE_IOERR"):
        return BookTrouble(
            "the disk did not take or give the data (full, over quota or failing); the last entry"
            " was not written",
            where=where,
            wanted="room on a sound disk; copy the book there if this one fails again",
        )
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")) or "decode" in text:
        return damaged(path, text)
    if name.startswith("SQLITE_CANTOPEN"):
        return BookTrouble(
            "the book cannot be opened", where=where, wanted="a file in a folder you may write in"
        )
    if name == "SQLITE_INTERRUPT":
        return Interrupted("the query was stopped", where=where)
    if name == "SQLITE_TOOBIG":
        return BadInput("the entry is larger than the book can hold", wanted="a smaller file")
    return BookTrouble(
        f"the book answered: {text}", where=where, wanted="run `logbook verify` and keep a backup"
    )


def _constraint(name: str, text: str) -> Refusal:
    said = text.partition(" constraint failed: ")[2] or text
    if name == "SQLITE_CONSTRAINT_CHECK":
        return BadInput(capital(said))
    if name == "SQLITE_CONSTRAINT_FOREIGNKEY":
        return Conflict(
            "it refers to a record that this book does not hold", wanted="a record of this book"
        )
    if name in ("SQLITE_CONSTRAINT_UNIQUE", "SQLITE_CONSTRAINT_PRIMARYKEY"):
        if said == "engines.tag":
            return Conflict("an engine with this tag exists", where="Tag", wanted="another tag")
        if said == "pulls.session_id, pulls.number":
            return Conflict("the session already has a pull of this number", where="Pull")
        return Conflict(f"the book already holds such a record ({said})")
    if name == "SQLITE_CONSTRAINT_TRIGGER":
        return Conflict(said)
    return BadInput(f"the book does not take this: {said}")


def read_only(path: Path) -> BookTrouble:
    """The book, or the folder it stands in, may not be written to."""
    return BookTrouble(
        "the book or its folder is read-only",
        where=str(path),
        wanted="the right to write to the file and its folder, or a copy of the book elsewhere",
    )


def damaged(path: Path, detail: str) -> Damaged:
    """The file is not whole, or not a database."""
    return Damaged(
        f"the book is damaged ({detail})",
        where=str(path),
        wanted="keep this file as it is, and go on with the latest backup; `logbook rescue` saves"
        " what can still be read of it",
    )


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Turn any SQLite error inside into the refusal that says it in words."""
    try:
        yield
    except sqlite3.Error as error:
        raise told(error, path) from error


@contextmanager
def opening(path: Path) -> Iterator[None]:
    """As `in_words`, where SQLite reads a file for the first time.

    About a damaged file it may speak in bytes that are no text, which Python raises as
    `UnicodeDecodeError`.
    """
    try:
        with in_words(path):
            yield
    except UnicodeDecodeError as error:
        raise damaged(path, "its table of contents is not text") from error


def check_place(path: Path, *, create: bool) -> None:
    """Refuse a place where a book cannot live; make the missing folders of a new one.

    Raises `BookTrouble` for a folder, a file that is not a database, a read-only file or
    folder, a network file system, and for a missing book unless `create`.
    """
    if path.is_dir():
        raise BookTrouble(
            "this is a folder", where=str(path), wanted="the name of a file, such as shop.db"
        )
    if not path.exists():
        if not create:
            raise BookTrouble("there is no book here", where=str(path), wanted="an existing book")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise BookTrouble(
                f"the folder cannot be made ({error.strerror})",
                where=str(path.parent),
                wanted="a folder you may write in",
            ) from error
    kind = file_system(path.parent)
    if kind in _NETWORK:
        raise BookTrouble(
            f"this folder is on a network file system ({kind}), where a book can be damaged",
            where=str(path),
            wanted="a folder on this machine's own disk: one book per machine",
        )
    check_header(path)
    for place in (path, path.parent):
        if place.exists() and not os.access(place, os.W_OK, effective_ids=_EFFECTIVE):
            raise read_only(path)


_EFFECTIVE = os.access in os.supports_effective_ids


def check_header(path: Path) -> None:
    """Refuse a file that does not begin as an SQLite database does; an empty one may be new."""
    if not path.exists():
        return
    try:
        with path.open("rb") as file:
            head = file.read(len(_HEADER))
    except OSError as error:
        raise BookTrouble(
            f"the book cannot be read ({error.strerror})",
            where=str(path),
            wanted="the right to read and write it",
        ) from error
    if head and head != _HEADER:
        raise BookTrouble(
            "this file is not a logbook", where=str(path), wanted="a book made by this program"
        )


def file_system(folder: Path, mounts: Path = Path("/proc/mounts")) -> str | None:
    """The type of the file system that holds `folder`; ``None`` where the system does not say.

    Only Linux lists its mounts in a file; elsewhere nothing is known and nothing is refused.
    """
    if not sys.platform.startswith("linux") or not mounts.exists():
        return None
    wanted = str(folder.resolve())
    best, kind = "", None
    for line in mounts.read_text(encoding="utf-8", errors="replace").splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        point = parts[1].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\")
        inside = wanted == point or wanted.startswith(point.rstrip("/") + "/")
        if inside and len(point) >= len(best):
            best, kind = point, parts[2]
    return kind
