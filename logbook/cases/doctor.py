"""What can be told about a book and its place without changing anything."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from logbook.cases.desk import spoken
from logbook.records.times import moment_of
from logbook.refusals import Refusal
from logbook.store.backups import kept_copies
from logbook.store.health import Health, health

FINE, LOOK, WRONG = "fine", "look", "wrong"
LEAST_FREE = 500_000_000  # bytes: a year of a busy shop
CLOCK_SLACK = timedelta(minutes=2)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at: how it is (``"fine"``, ``"look"``, ``"wrong"``), and what
    to do where it is not fine."""

    what: str
    how: str
    told: str
    advice: str = ""


def examine(book: Path, drafts: Path, now: datetime) -> list[Finding]:
    """The book, its disk, its backups, the clock, and what was typed and not saved. The book is
    only read: `verify` looks deeper."""
    if not book.expanduser().exists():
        return [Finding("Book", LOOK, f"there is none yet at {book}", "logbook makes it"),
                *_typed(drafts)]  # fmt: skip
    try:
        found = health(book)
    except Refusal as refusal:
        return [Finding("Book", WRONG, refusal.sentence, "logbook verify says what can be saved"),
                *_disk(book), *_backups(book, None, now), *_typed(drafts)]  # fmt: skip
    return [*_book(book, found), *_disk(book), *_backups(book, found, now),
            *_clock(found, now), *_typed(drafts)]  # fmt: skip


def _book(book: Path, found: Health) -> Iterator[Finding]:
    size = (found.bytes + found.log_bytes) / 1e6
    told = f"{book}: {found.engines} engines, {found.pulls} pulls, {size:.1f} MB"
    if found.damage:
        advice = "logbook verify says what can be saved"
        yield Finding("Book", WRONG, f"{told}; damaged: {found.damage[0]}", advice)
    else:
        yield Finding("Book", FINE, told)
    if found.steps:
        yield Finding("Version", LOOK, f"an older shape, {len(found.steps)} behind this version",
                      "opening it makes them, after a backup")  # fmt: skip
    if found.waiting:
        files = "1 file waits" if found.waiting == 1 else f"{found.waiting} files wait"
        yield Finding("Landed files", LOOK, f"{files} to be logged", "Enter on the session")


def _disk(book: Path) -> Iterator[Finding]:
    free = shutil.disk_usage(book.expanduser().absolute().parent).free
    told = f"{free / 1e9:.1f} GB free beside the book"
    if free < LEAST_FREE:
        yield Finding("Disk", LOOK, told, "make room: backups need as much as the book")
    else:
        yield Finding("Disk", FINE, told)


def _backups(book: Path, found: Health | None, now: datetime) -> Iterator[Finding]:
    copies = kept_copies(book.expanduser())
    if not copies:
        empty = found is not None and found.pulls == 0
        yield Finding("Backups", FINE if empty else LOOK, "no automatic backup yet",
                      "" if empty else "close a session, or logbook backup FILE")  # fmt: skip
        return
    newest = datetime.strptime(f"{copies[0].taken_at}+0000", "%Y%m%dT%H%M%S%z")
    age = spoken((now - newest).total_seconds() / 60)
    yield Finding("Backups", FINE, f"{len(copies)} beside the book, the newest {age} old",
                  "keep another on another disk")  # fmt: skip


def _clock(found: Health, now: datetime) -> Iterator[Finding]:
    told = f"{now:%Y-%m-%d %H:%M} UTC"
    if found.last_entry_at and moment_of(found.last_entry_at) > now + CLOCK_SLACK:
        yield Finding("Clock", WRONG, f"{told}, but the last entry is of {found.last_entry_at}",
                      "set this machine's clock")  # fmt: skip
    else:
        yield Finding("Clock", FINE, told)


def _typed(drafts: Path) -> Iterator[Finding]:
    kept = len(list(drafts.glob("*.json"))) if drafts.is_dir() else 0
    if kept:
        forms = "1 form was" if kept == 1 else f"{kept} forms were"
        yield Finding("Typed, not saved", LOOK, f"{forms} left unsaved", "their forms offer it")
