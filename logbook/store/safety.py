"""Backups, and the check that a book is whole."""

from __future__ import annotations

import sqlite3
from functools import partial
from pathlib import Path

from logbook.store import attached
from logbook.store.backups import compact
from logbook.store.book import Book, connect
from logbook.store.checks import CHECKS, Check, word_index
from logbook.store.trouble import damaged, in_words, told


def backup(book: Book, path: Path) -> Path:
    """A whole, checked copy of the book at `path`, made while it is in use; gives its path.

    The attached files are copied into a folder beside it. In a folder the copy is named after
    the book and the time. An existing file is never overwritten (`Conflict`); what cannot be
    written is said in a `BookTrouble`.
    """
    path = Path(path).expanduser()
    if path.is_dir():
        path = path / f"{book.path.stem}-{compact(book.now())}{book.path.suffix}"
    book.copy_to(path)
    with book.reading() as read:
        attached.bring(book.path, path, attached.hashes(read))
    return path


def verify(book: Book) -> list[str]:
    """Everything that is wrong with the book, in sentences; empty when it is whole.

    Checked are the file's pages, the references between records, triggers and views, the search
    index against the records' text, the totals of the lists, every set-up's fingerprint, every
    source file and attached file against its hash and every trace. Whether stored scores are
    true is for the room that computes them. Raises `BookTrouble` when another program keeps
    the book locked.
    """
    problems: list[str] = []
    checks: tuple[Check, ...] = (*CHECKS, partial(attached.check, book=book.path))
    db = connect(book.path)
    try:
        try:
            with in_words(book.path):
                problems += word_index(db)
        except UnicodeDecodeError as error:
            # SQLite may quote what it could not read, in bytes that are no text.
            problems.append(damaged(book.path, str(error)).sentence)
        with in_words(book.path):
            db.execute("BEGIN")
        for check in checks:
            try:
                problems += check(db)
            except sqlite3.DatabaseError as error:
                # A damaged page; the other checks may still reach what they look at.
                problems.append(told(error, book.path).sentence)
            except (ValueError, TypeError) as error:
                # Text that is no text any more, or nothing where something must be.
                problems.append(damaged(book.path, str(error)).sentence)
    finally:
        db.close()
    return problems
