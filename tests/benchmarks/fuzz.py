"""Broken and hostile inputs at the doors: files, sheets of old pulls, the search box.

Run with ``python -m tests.benchmarks.fuzz [N] [--seed S] [--keep FOLDER]``. Each input is taken
or refused in a sentence; anything else is a traceback. A file goes the whole way, into a stored
pull of a real book: after a refusal every table must be as it was, and what was taken must be
there with its source and every value. At the end the whole book is verified. Printed are counts,
and the most time and memory that one input took; the inputs that failed are put into FOLDER.
"""

from __future__ import annotations

import argparse
import os
import random
import sqlite3
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from logbook.cases import engines, finding, pulls, safety
from logbook.cases.desk import Desk, open_desk
from logbook.cases.entry import PullEntry
from logbook.cases.files import chosen_part, trace_file
from logbook.cases.past import TAKEN, Terms, take_all
from logbook.cases.past_sheet import rows_of
from logbook.refusals import Refusal
from tests.benchmarks import mutations
from tests.benchmarks.figures import figure

# How often each kind is tried, of all.
SHARES = {"table": 0.45, "MDF": 0.12, "Parquet": 0.08, "sheet": 0.10, "query": 0.25}
NAMES = {"table": "run.csv", "MDF": "run.mf4", "Parquet": "run.parquet", "sheet": "old.csv"}
MOST_S = 20.0  # what reading a binary file may take, and some more for a busy machine
MOST_BYTES = 512 * 1024 * 1024
PULLS_A_SESSION = 40


@dataclass
class Tally:
    """What came of it. `failed` are sentences; seconds and bytes are the most of one input."""

    tried: Counter[str] = field(default_factory=Counter)
    taken: Counter[str] = field(default_factory=Counter)
    tracebacks: list[str] = field(default_factory=list)
    partial: list[str] = field(default_factory=list)
    beyond: list[str] = field(default_factory=list)
    seconds: dict[str, float] = field(default_factory=dict)
    memory: dict[str, int] = field(default_factory=dict)
    reader: int = 0  # the most bytes of the process that reads binary files, its libraries too

    @property
    def failed(self) -> list[str]:
        """Everything that must not be."""
        return [*self.tracebacks, *self.partial, *self.beyond]


class Door:
    """A book that inputs are tried on."""

    def __init__(self, folder: Path, tally: Tally) -> None:
        clock = (datetime(2026, 3, 14, tzinfo=UTC) + timedelta(minutes=n) for n in range(10**7))
        self.desk: Desk = open_desk(folder / "book.db", who="KL", units="us", now=clock.__next__)
        engines.add_cell(self.desk, "North", {"altitude": "1250 ft"})
        engines.add_engine(self.desk, "RB-2", {"cylinders": "8"}, band="4500-6500")
        self.folder, self.tally = folder, tally
        self.watch = sqlite3.connect(f"file:{folder / 'book.db'}?mode=ro", uri=True)
        names = self.watch.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            " AND name NOT LIKE 'search_index%'"
        ).fetchall()
        self._count = "SELECT " + ", ".join(f"(SELECT count(*) FROM {name})" for (name,) in names)

    def counts(self) -> tuple[int, ...]:
        """The number of rows in every table."""
        return tuple(self.watch.execute(self._count).fetchone())

    def file(self, kind: str, content: bytes) -> None:
        """A trace file into a pull."""
        path = self.folder / NAMES[kind]
        path.write_bytes(content)
        number = sum(self.tally.taken.values())
        before = self.counts()
        try:
            logged = pulls.add_pull(
                self.desk,
                PullEntry(
                    engine_tag="RB-2",
                    new_session=number % PULLS_A_SESSION == 0,
                    trace=path,
                    torque_state="observed",
                ),
            )
        except Refusal as refusal:
            self.refused(refusal, before)
            return
        self.tally.taken[kind] += 1
        with self.desk.book.reading() as read:
            stored = read.traces([logged.pull_id])[logged.pull_id]
            pull = pulls.pull_of(read, logged.pull_id)
            source = read.source(pull.source_id or "")
        given = chosen_part(trace_file(self.desk, path), None, None).trace
        if source.content != content:
            self.tally.partial.append("the kept source is not the file")
        for mine, theirs in zip(given.channels, stored.channels, strict=True):
            if not np.array_equal(mine.values, theirs.values, equal_nan=True):
                self.tally.partial.append(f"channel {theirs.name!r} is not what was read")

    def sheet(self, kind: str, content: bytes) -> None:
        """A sheet of old pulls, dry and then really."""
        path = self.folder / NAMES[kind]
        path.write_bytes(content)
        before = self.counts()
        try:
            items = rows_of(path, Terms(engine_tag="RB-2", torque_state="observed"))
        except Refusal as refusal:
            self.refused(refusal, before)
            return
        list(take_all(self.desk, items[:40], dry_run=True))
        if self.counts() != before:
            self.tally.partial.append("a dry run has left something behind")
        outcomes = list(take_all(self.desk, items[:40]))
        if all(outcome.what != TAKEN for outcome in outcomes) and self.counts() != before:
            self.tally.partial.append("rows that were refused have left something behind")
        self.tally.taken[kind] += any(outcome.what == TAKEN for outcome in outcomes)

    def query(self, text: str) -> None:
        """A search."""
        try:
            hits = finding.find(self.desk, text)
            assert finding.count(self.desk, text) >= len(hits)
        except Refusal as refusal:
            self.refused(refusal, None)
        else:
            self.tally.taken["query"] += 1

    def refused(self, refusal: Refusal, before: tuple[int, ...] | None) -> None:
        """A refusal is a short sentence, of a file a printable one, and leaves nothing behind."""
        if len(refusal.sentence) > 2000 or not (before is None or refusal.sentence.isprintable()):
            self.tally.partial.append(f"no sentence to be shown: {refusal.sentence!r}"[:300])
        if before is not None and self.counts() != before:
            self.tally.partial.append(f"left something behind: {refusal.sentence}"[:300])


def run(
    count: int, seed: int, keep: Path | None = None, say: Callable[[int], object] = lambda _: None
) -> Tally:
    """Try so many inputs."""
    tally = Tally()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name, warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)  # nobody wants to see those, either
        door = Door(Path(name), tally)
        for number in range(count):
            chance = random.Random(f"{seed} {number}")
            (kind,) = chance.choices(list(SHARES), list(SHARES.values()))
            given = mutations.query(chance) if kind == "query" else mutations.mutated(chance, kind)
            failed = len(tally.failed)
            _try(door, tally, kind, given)
            if len(tally.failed) > failed and keep is not None:
                keep.mkdir(parents=True, exist_ok=True)
                content = given.encode("utf-8", "replace") if isinstance(given, str) else given
                (keep / f"{seed}-{number}-{NAMES.get(kind, 'query.txt')}").write_bytes(content)
            say(number)
        tally.partial += safety.verify(door.desk)
        door.watch.close()
        door.desk.close()
    return tally


def _try(door: Door, tally: Tally, kind: str, given: bytes | str) -> None:
    tally.tried[kind] += 1
    held = _start_of_peak()
    started = time.perf_counter()
    try:
        if isinstance(given, str):
            door.query(given)
        elif kind == "sheet":
            door.sheet(kind, given)
        else:
            door.file(kind, given)
    except Exception:
        tally.tracebacks.append(f"{kind}: {traceback.format_exc()}")
    took, most = time.perf_counter() - started, _peak() - held
    tally.seconds[kind] = max(tally.seconds.get(kind, 0.0), took)
    tally.memory[kind] = max(tally.memory.get(kind, 0), most)
    tally.reader = max(tally.reader, _of_readers())
    if took > MOST_S or most > MOST_BYTES:
        tally.beyond.append(f"{kind}: {took:.1f} s, {most / 2**20:.0f} MB")


def _start_of_peak() -> int:
    """Bytes held now; the peak is counted from here on, where the system has a way."""
    try:
        Path("/proc/self/clear_refs").write_text("5")
    except OSError:
        return 0
    return _status("VmRSS")


def _peak() -> int:
    return _status("VmHWM")


def _status(what: str, process: str = "self") -> int:
    try:
        lines = Path(f"/proc/{process}/status").read_text().splitlines()
    except OSError:
        return 0
    return next((1024 * int(line.split()[1]) for line in lines if line.startswith(what)), 0)


def _of_readers() -> int:
    try:
        children = Path(f"/proc/self/task/{os.getpid()}/children").read_text().split()
    except OSError:
        return 0
    return max((_status("VmHWM", child) for child in children), default=0)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=20_000, metavar="N")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    given = parser.parse_args()
    started = time.perf_counter()

    def say(number: int) -> None:
        if number % 1000 == 999:
            print(f"{number + 1} tried, {time.perf_counter() - started:.0f} s", flush=True)

    tally = run(given.count, given.seed, given.keep, say)
    print(f"\n{'':10} {'tried':>7} {'taken':>7} {'most s':>8} {'most MB':>8}")
    for kind in SHARES:
        most = tally.memory.get(kind, 0) / 2**20
        print(
            f"{kind:10} {tally.tried[kind]:7} {tally.taken[kind]:7}"
            f" {tally.seconds.get(kind, 0.0):8.2f} {most:8.1f}"
        )
    print(f"the process that reads binary files: {tally.reader / 2**20:.0f} MB at most, in all")
    inputs = sum(tally.tried.values())
    for what, failed in (
        ("tracebacks", tally.tracebacks),
        ("partial writes", tally.partial),
        ("beyond their bounds of time and memory", tally.beyond),
    ):
        figure(f"{what} of {inputs} hostile inputs", len(failed), 0, "")
    for sentence in tally.failed[:20]:
        print(sentence)
    raise SystemExit(1 if tally.failed else 0)


if __name__ == "__main__":
    main()
