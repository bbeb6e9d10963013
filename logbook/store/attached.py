"""Attached files: kept by their SHA-256 in a folder beside the book.

The folder is named after the book (``shop.db`` → ``shop-files``), each file after its hash, two
digits a folder: a name that somebody typed or a camera made is never a path. Files are never
deleted, and only a damaged one is written over: automatic backups share the folder with the
book they stand beside.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import IO

from logbook import underway
from logbook.refusals import BadFile, BookTrouble, Conflict
from logbook.store.backups import BACKUPS
from logbook.store.reader import Reader

_CHUNK = 1 << 20


def folder_of(book: Path) -> Path:
    """The folder of a book's attached files; it need not exist yet.

    An automatic backup, in the folder of backups beside its book, has the book's own.
    """
    of, mark, _ = book.parent.name.rpartition(BACKUPS)
    if mark and book.parent.name.endswith(BACKUPS) and book.stem.startswith(f"{of}-"):
        return book.parent.with_name(f"{of}-files")
    return book.with_name(f"{book.stem}-files")


def place_of(book: Path, sha256: str) -> Path:
    """Where the file of this hash is kept."""
    return folder_of(book) / sha256[:2] / sha256


def keep(book: Path, file: Path) -> tuple[str, int]:
    """Copy `file` into the book's folder; gives its SHA-256 and size in bytes.

    Raises `BadFile` where it cannot be read or is no file, `BookTrouble` where the copy cannot
    be written.
    """
    try:
        if not file.is_file():
            raise BadFile("there is no such file", where=str(file), wanted="an existing file")
        with file.open("rb") as source:
            return keep_stream(book, source)
    except OSError as error:
        if error.filename is not None and str(error.filename) == str(file):
            raise BadFile(
                f"it cannot be read ({error.strerror})", where=str(file), wanted="a readable file"
            ) from error
        raise BookTrouble(
            f"the attached file cannot be written ({error.strerror})",
            where=str(folder_of(book)),
            wanted="a folder with room that you may write in",
        ) from error


def keep_stream(book: Path, source: IO[bytes]) -> tuple[str, int]:
    """Copy what can be read of `source` into the book's folder; gives its SHA-256 and size."""
    folder = folder_of(book)
    folder.mkdir(parents=True, exist_ok=True)
    unfinished = folder / f".{os.getpid()}.unfinished"
    digest, size = hashlib.sha256(), 0
    try:
        with unfinished.open("wb") as copy:
            while part := source.read(_CHUNK):
                underway.step()
                digest.update(part)
                size += len(part)
                copy.write(part)
            copy.flush()
            os.fsync(copy.fileno())
        target = place_of(book, digest.hexdigest())
        if not target.exists() or hash_of(target) != digest.hexdigest():
            target.parent.mkdir(exist_ok=True)
            unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)
    return digest.hexdigest(), size


def missing_from(book: Path, hashes: Iterable[str]) -> list[str]:
    """Those of the hashes whose file does not stand in the book's folder."""
    return [one for one in dict.fromkeys(hashes) if not place_of(book, one).is_file()]


def bring(source: Path, target: Path, hashes: Iterable[str]) -> list[str]:
    """Copy the files of these hashes from one book's folder to another's.

    Gives the hashes that could not be brought: not there, or damaged. Those that are there
    already are left alone. Raises `BookTrouble` where a copy cannot be written.
    """
    lost = []
    for one in missing_from(target, hashes):
        try:
            sound = hash_of(place_of(source, one)) == one
        except OSError:
            sound = False
        if sound:
            keep(target, place_of(source, one))
        else:
            lost.append(one)
    return lost


def hash_of(file: Path) -> str:
    """The SHA-256 of a file's bytes. Raises ``OSError``."""
    digest = hashlib.sha256()
    with file.open("rb") as source:
        while part := source.read(_CHUNK):
            digest.update(part)
    return digest.hexdigest()


def save_as(book: Path, sha256: str, target: Path) -> None:
    """Write the kept file out as `target`, which must not exist. Raises `Conflict`, `BadFile`
    for a file that is gone or damaged, `BookTrouble` where it cannot be written."""
    kept = place_of(book, sha256)
    try:
        content = kept.read_bytes()
    except OSError as error:
        raise BadFile(
            f"the attached file is not there ({error.strerror})",
            where=str(kept),
            wanted="the file, from a backup of the folder",
        ) from error
    if hashlib.sha256(content).hexdigest() != sha256:
        raise BadFile(
            "the attached file is damaged", where=str(kept), wanted="the file, from a backup"
        )
    try:
        with target.open("xb") as file:
            file.write(content)
    except FileExistsError:
        raise Conflict(
            "a file of this name exists", where=str(target), wanted="another name"
        ) from None
    except OSError as error:
        raise BookTrouble(
            f"it cannot be written ({error.strerror})", where=str(target), wanted="another folder"
        ) from error


def hashes(read: Reader) -> list[str]:
    """The hash of every attached file that the book speaks of, taken back or not."""
    return [str(row[0]) for row in read.rows("SELECT DISTINCT sha256 FROM attachments")]


def check(db: sqlite3.Connection, book: Path) -> Iterator[str]:
    """A sentence for every attached file that is not there, or not as it was attached."""
    rows = db.execute("SELECT DISTINCT name, sha256 FROM attachments ORDER BY id")
    for name, sha256 in rows:
        file = place_of(book, str(sha256))
        try:
            found = hash_of(file)
        except OSError as error:
            yield f"attached file {name}: it is not there ({error.strerror}): {file}"
            continue
        if found != sha256:
            yield f"attached file {name}: its bytes do not have the hash they were kept with"
