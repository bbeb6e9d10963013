"""The faults: each is tried on a book, and says what happened and what was lost."""

from __future__ import annotations

import mmap
import os
import random
import resource
import shutil
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from logbook.cases import merge, safety, sessions
from logbook.drafts import Drafts
from logbook.records.pull import Pull
from logbook.refusals import BookTrouble, Refusal
from logbook.store import migrations
from logbook.store.book import Book
from logbook.store.rescue import rescue
from tests.benchmarks.fault_cell import (
    CHANGING,
    COMMITTING,
    IDLE,
    Child,
    FaultCell,
    desk_at,
    log,
    whole,
    write_sweep,
)

PAGE = 4096
REBUILD = """
CREATE TABLE tools (id TEXT NOT NULL PRIMARY KEY, name TEXT NOT NULL) STRICT;
CREATE TABLE totals_again AS SELECT * FROM session_totals;
DROP TABLE session_totals;
CREATE TABLE session_totals (
  session_id TEXT NOT NULL PRIMARY KEY REFERENCES sessions(id),
  pulls INTEGER NOT NULL, scored INTEGER NOT NULL, best_power_kw REAL,
  best_is_band INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;
INSERT INTO session_totals SELECT * FROM totals_again;
DROP TABLE totals_again;
"""
STEP = migrations.Migration("2030-01-01-a-step-under-fault", "for this run", REBUILD)


@dataclass
class Outcome:
    """One fault. `landed` is where it hit (``"in commit"``), `lost` what must not be."""

    landed: str
    lost: list[str] = field(default_factory=list)


Fault = Callable[[FaultCell, random.Random], Outcome]
_PHASES = {IDLE: "between", CHANGING: "in change", COMMITTING: "in commit"}


def _logging(cell: FaultCell, *, with_file: bool, most: int = 50) -> Child:
    """Another process that logs one pull after the other."""

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        desk = desk_at(cell.path)
        for n in range(cell.next, cell.next + most):
            pull_id = log(desk, cell.session_id, n, cell.folder, with_file=with_file)
            phase[0] = IDLE
            say([pull_id, n, with_file])

    return Child(act)


def _killed_logging(cell: FaultCell, rng: random.Random, *, with_file: bool) -> Outcome:
    child = _logging(cell, with_file=with_file)
    child.first()
    target = rng.choice((COMMITTING, COMMITTING, CHANGING, None))
    landed = child.kill_when(target, rng.random() ** 2 * 0.004)
    for said in child.said():
        cell.acknowledge(*said)
    return Outcome(_PHASES[landed], cell.lost())


def kill_in_commit(cell: FaultCell, rng: random.Random) -> Outcome:
    """SIGKILL while typed pulls are being committed."""
    return _killed_logging(cell, rng, with_file=False)


def kill_in_intake(cell: FaultCell, rng: random.Random) -> Outcome:
    """SIGKILL while files are being taken in."""
    return _killed_logging(cell, rng, with_file=True)


def kill_in_migration(cell: FaultCell, rng: random.Random) -> Outcome:
    """SIGKILL while the book is brought to a newer shape; both shapes must open after it."""

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        say("begun")
        Book.open(cell.path, create=False).close()

    known = migrations.MIGRATIONS
    migrations.MIGRATIONS = (*known, STEP)
    try:
        child = Child(act)
        child.first()
        landed = child.kill_when(rng.choice((COMMITTING, CHANGING)), rng.random() ** 2 * 0.006)
        child.said()
        with closing(sqlite3.connect(cell.path)) as db:
            made = db.execute("PRAGMA user_version").fetchone()[0] == len(migrations.MIGRATIONS)
        lost = [] if made else _as_before(cell, known)
        lost += cell.lost(unfinished=0)
    finally:
        migrations.MIGRATIONS = known
    # The book is of a newer shape now: the next fault gets one of this shape.
    shutil.rmtree(cell.folder)
    return Outcome(_PHASES[landed], lost)


def _as_before(cell: FaultCell, known: tuple[migrations.Migration, ...]) -> list[str]:
    """A step that was not finished left nothing: the older program still opens the book."""
    newer = migrations.MIGRATIONS
    migrations.MIGRATIONS = known
    try:
        return cell.lost(unfinished=0)
    finally:
        migrations.MIGRATIONS = newer


def kill_in_draft(cell: FaultCell, rng: random.Random) -> Outcome:
    """SIGKILL while a form is being kept: the draft is the old one or the new one."""
    folder = cell.folder / "drafts"

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        drafts = Drafts(folder)
        for n in range(200):
            phase[0] = COMMITTING
            drafts.save("pull form", {"note": f"typed {n}", "long": "x" * rng.randrange(20_000)})
            phase[0] = IDLE
            say(n)

    child = Child(act)
    child.first()
    landed = child.kill_when(COMMITTING, rng.random() * 0.002)
    last = max([int(said) for said in child.said()], default=-1)
    try:
        kept = Drafts(folder).load("pull form") or {}
    except Refusal as refused:
        return Outcome("in draft", [refused.sentence])
    found = int(kept.get("note", "typed -1").removeprefix("typed "))
    lost = [] if last <= found <= last + 1 else [f"draft {last} was kept, {found} is there"]
    return Outcome("in draft" if landed == COMMITTING else "between", lost)


def kill_in_merge(cell: FaultCell, rng: random.Random) -> Outcome:
    """SIGKILL while another cell's book is taken in: all of it is there, or none."""
    other = cell.copy(cell.folder.with_name(cell.folder.name + "-other"))
    desk = desk_at(other.path)
    for _ in range(3):
        other.acknowledge(*other.log_here(desk, with_file=True))
    desk.close()

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        desk = desk_at(cell.path)
        say("begun")
        merge.merge(desk, other.path)
        say("merged")

    child = Child(act)
    child.first()
    landed = child.kill_when(rng.choice((COMMITTING, CHANGING)), rng.random() ** 2 * 0.01)
    merged = "merged" in child.said()
    with closing(sqlite3.connect(cell.path)) as db:
        there = {row[0] for row in db.execute("SELECT id FROM pulls")}
    new = other.acknowledged.keys() - cell.acknowledged.keys()
    lost = []
    if merged and not new <= there:
        lost.append("a merge that was said to be done is not there")
    if new & there and not new <= there:
        lost.append("half a merge is there")
    lost += cell.lost(unfinished=len(new))
    shutil.rmtree(other.folder)
    return Outcome(_PHASES[landed], lost)


def full_disk(cell: FaultCell, rng: random.Random) -> Outcome:
    """No room from some byte on: said in a sentence, and there is room again later."""

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        desk = desk_at(cell.path)
        _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        for n in range(cell.next, cell.next + 62):
            write_sweep(cell.folder, n)  # the disk is full for the book, not for the data system
        room = max(file.stat().st_size for file in cell.folder.glob("book.db-wal"))
        resource.setrlimit(resource.RLIMIT_FSIZE, (room + rng.randrange(150_000), hard))
        n = cell.next
        try:
            for n in range(cell.next, cell.next + 60):
                say([log(desk, cell.session_id, n, cell.folder, with_file=True), n, True])
        except BookTrouble as refused:
            say(refused.sentence)
        resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
        say([log(desk, cell.session_id, n + 1, cell.folder, with_file=True), n + 1, True])
        closed = sessions.close_session(desk, cell.session_id)
        sessions.reopen_session(desk, cell.session_id)
        say(closed.session.status)
        desk.close()

    told = Child(act).said()
    for said in told:
        if isinstance(said, list):
            cell.acknowledge(*said)
    said_so = any(isinstance(said, str) and "full" in said for said in told)
    return Outcome("refused" if said_so else "had room", cell.lost(unfinished=0))


def locked(cell: FaultCell, rng: random.Random) -> Outcome:
    """Another program keeps the book: said in a sentence, and it goes on afterwards."""
    desk = desk_at(cell.path, busy_seconds=0.02)
    lost = []
    with closing(sqlite3.connect(cell.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        if rng.random() < 0.5:
            other.execute("UPDATE pulls SET notes = 'by another program'")
        try:
            cell.log_here(desk, with_file=rng.random() < 0.5)
            lost.append("a locked book took a pull")
        except BookTrouble as refused:
            if "locked" not in refused.sentence:
                lost.append(refused.sentence)
        other.execute("ROLLBACK")
    cell.acknowledge(*cell.log_here(desk, with_file=False))
    desk.close()
    return Outcome("refused", lost + cell.lost(unfinished=0))


def torn_log(cell: FaultCell, rng: random.Random) -> Outcome:
    """The power goes while a transaction is on its way to the disk: its tail is missing, or
    holds whatever the disk held before."""
    torn = cell.copy(cell.folder.with_name(cell.folder.name + "-torn"))
    desk = desk_at(torn.path)
    log_file = torn.path.with_name("book.db-wal")
    for _ in range(rng.randrange(1, 4)):
        torn.acknowledge(*torn.log_here(desk, with_file=rng.random() < 0.5))
    safe = log_file.stat().st_size
    torn.log_here(desk, with_file=True)  # on its way: nobody has been told of it
    cut = FaultCell(
        cell.folder.with_name(cell.folder.name + "-cut"),
        torn.acknowledged, torn.next, torn.session_id,
    )  # fmt: skip
    shutil.copytree(torn.folder, cut.folder)
    desk.close()
    content = bytearray(cut.path.with_name("book.db-wal").read_bytes())
    at = rng.randrange(safe, len(content) + 1)
    if rng.random() < 0.5:
        del content[at:]
    else:
        content[at:] = rng.randbytes(len(content) - at)
    cut.path.with_name("book.db-wal").write_bytes(content)
    lost = cut.lost()
    shutil.rmtree(torn.folder)
    shutil.rmtree(cut.folder)
    return Outcome("in commit", lost)


def flipped(cell: FaultCell, rng: random.Random) -> Outcome:
    """Some bits of a copy turn over: found by opening or `verify`, or no pull has changed; and
    what a rescue brings out is as it was, what it does not is named."""
    spoiled = cell.copy(cell.folder.with_name(cell.folder.name + "-flipped"))
    content = bytearray(spoiled.path.read_bytes())
    for _ in range(rng.choice((1, 1, 2, 8))):
        place = rng.randrange(len(content))
        content[place] ^= 1 << rng.randrange(8)
    spoiled.path.write_bytes(content)
    noticed = False
    lost: list[str] = []
    try:
        desk = desk_at(spoiled.path, busy_seconds=0.1)
        try:
            noticed = bool(safety.verify(desk))
            if not noticed:
                lost = _changed(desk.book, spoiled)
        finally:
            desk.close()
    except Refusal:
        noticed = True
    if noticed:
        spoiled.path.write_bytes(content)
        lost += _rescued(spoiled)
    shutil.rmtree(spoiled.folder)
    return Outcome("found" if noticed else "harmless", lost)


def _changed(book: Book, cell: FaultCell, named: str = "") -> list[str]:
    """The acknowledged pulls that are not as they were, but for those that `named` names."""
    said = []
    with book.reading() as read:
        found = {pull.id: pull for pull in read.where(Pull, with_withdrawn=True)}
        for pull_id, (n, with_file) in cell.acknowledged.items():
            pull = found.get(pull_id)
            if pull_id in named or (pull is not None and pull.setup_id in named):
                continue
            if pull is None or not _reads_whole(read, pull, n, with_file):
                said.append(f"pull {n} changed and nothing said so")
    return said


def _reads_whole(read: Any, pull: Pull, n: int, with_file: bool) -> bool:
    try:
        return whole(read, pull, n, with_file=with_file)
    except (Refusal, ValueError, KeyError, TypeError):
        return False  # what is damaged need not even be readable as a pull


def _rescued(cell: FaultCell) -> list[str]:
    new = cell.folder / "rescued.db"
    try:
        rescued = rescue(cell.path, new, who="KL")
    except BookTrouble as refused:
        return [] if "nothing can be read" in refused.sentence else [refused.sentence]
    with Book.open(new, create=False) as book:
        # What verify finds by comparing figures or typed text, a rescue cannot see.
        desk = desk_at(new)
        named = "\n".join((*rescued.lost, *safety.verify(desk)))
        desk.close()
        return _changed(book, cell, named)


FAULTS: Mapping[str, tuple[Fault, int]] = {
    "SIGKILL, typed pulls": (kill_in_commit, 30),
    "SIGKILL, files": (kill_in_intake, 20),
    "SIGKILL, migration": (kill_in_migration, 8),
    "SIGKILL, draft": (kill_in_draft, 10),
    "SIGKILL, merge": (kill_in_merge, 6),
    "full disk": (full_disk, 8),
    "locked": (locked, 4),
    "torn log": (torn_log, 6),
    "flipped bits": (flipped, 8),
}


def is_spent(cell: FaultCell, most_pulls: int) -> bool:
    """Whether the next fault needs a new book: this one is gone, or has grown long to check."""
    return not cell.path.exists() or len(cell.acknowledged) > most_pulls


def begin(folder: Path, template: FaultCell, number: int) -> FaultCell:
    """A book for the next faults."""
    return template.copy(folder / f"cell-{number}-{os.getpid()}")
