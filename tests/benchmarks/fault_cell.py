"""A book that faults are tried on: what was acknowledged, and whether it is still all there."""

from __future__ import annotations

import json
import mmap
import os
import shutil
import signal
import sqlite3
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from logbook.cases import engines, pulls, safety, sessions
from logbook.cases.desk import Desk, stamp_of
from logbook.cases.entry import PullEntry
from logbook.records.pull import Pull
from logbook.store import book as book_room
from logbook.store.book import Book

IDLE, CHANGING, COMMITTING = 0, 1, 2
SAMPLES = 120
# Both by definition: 0.45359237 kg · 9.80665 m/s² · 0.3048 m, and 550 of it a second.
NM_PER_LB_FT = 0.45359237 * 9.80665 * 0.3048
KW_PER_HP = 0.55 * NM_PER_LB_FT


def clock() -> datetime:
    """The time in all these books: faults do not depend on it."""
    return datetime(2026, 3, 14, 15, 0, tzinfo=UTC)


def desk_at(path: Path, *, busy_seconds: float = 5.0) -> Desk:
    """The book at `path`, opened as the doors do."""
    opened = Book.open(path, create=False, now=lambda: stamp_of(clock()), busy_seconds=busy_seconds)
    return Desk(opened, "KL", clock)


def sweep(n: int) -> str:
    """The file of pull `n`: every value follows from its number."""
    rng = np.random.default_rng(n)
    torque = np.round(rng.normal(400, 5, SAMPLES), 2)
    lines = [f"{4000 + 25 * k},{value:.2f},{n % 90}" for k, value in enumerate(torque)]
    return "\n".join(["Engine speed [rpm],Torque [lb-ft],Coolant temperature [degF]", *lines, ""])


def write_sweep(folder: Path, n: int) -> None:
    """What the cell's data system leaves behind, unless it is there already and whole."""
    path, text = folder / f"run-{n}.csv", sweep(n)
    if not path.exists() or path.stat().st_size != len(text):
        path.write_text(text)


def log(desk: Desk, session_id: str, n: int, folder: Path, *, with_file: bool) -> str:
    """Log pull `n`; returns its id. All of it can be told from `n` alone."""
    fields = {"note": f"pull {n}", "oil": f"{150 + n % 100} F"}
    path = folder / f"run-{n}.csv"
    if with_file:
        write_sweep(folder, n)
    else:
        fields |= {"peak-torque": f"{300 + n % 100} lb-ft", "at": "4800",
                   "peak-power": f"{310 + n % 100} hp", "power-at": "6200"}  # fmt: skip
    entry = PullEntry(
        session_id=session_id,
        set_up={"timing": f"{20 + n % 15}"},
        fields=fields,
        trace=path if with_file else None,
        torque_state="observed",
        at=stamp_of(clock() + timedelta(minutes=n)),
    )
    return pulls.add_pull(desk, entry).pull_id


def whole(read: Any, pull: Pull, n: int, *, with_file: bool) -> bool:
    """Whether a pull holds, value by value, what `log` gave for the number `n`."""
    trace, timing = read.trace(pull.id), read.setup(pull.setup_id).timing_deg
    same = (
        pull.notes == f"pull {n}"
        and timing == 20 + n % 15
        and pull.typed["oil_c"] == f"{150 + n % 100} F"
        and _near(pull.oil_c, (150 + n % 100 - 32) / 1.8)
        and pull.at == stamp_of(clock() + timedelta(minutes=n))
    )
    if not with_file:
        return (
            same
            and trace is None
            and _near(pull.peak_torque_nm, (300 + n % 100) * NM_PER_LB_FT)
            and _near(pull.peak_power_kw, (310 + n % 100) * KW_PER_HP)
            and (pull.peak_torque_rpm, pull.peak_power_rpm) == (4800.0, 6200.0)
        )
    table = np.loadtxt(sweep(n).splitlines(), delimiter=",", skiprows=1)
    return (
        same
        and trace is not None
        and pull.source_id is not None
        and read.source(pull.source_id).content == sweep(n).encode()
        and (trace.first_sample, trace.last_sample) == (0, SAMPLES - 1)
        and len(trace.channels) == table.shape[1]
        and all(np.array_equal(c.values, table[:, k]) for k, c in enumerate(trace.channels))
    )


def _near(stored: float | None, wanted: float) -> bool:
    return stored is not None and abs(stored - wanted) <= 1e-9 * abs(wanted)


@dataclass
class FaultCell:
    """One book under faults. `acknowledged` is pull id → (number, whether from a file)."""

    folder: Path
    acknowledged: dict[str, tuple[int, bool]] = field(default_factory=dict)
    next: int = 0
    session_id: str = ""

    @property
    def path(self) -> Path:
        """The book."""
        return self.folder / "book.db"

    @classmethod
    def begin(cls, folder: Path) -> FaultCell:
        """A new book with an open session and two pulls."""
        folder.mkdir(parents=True)
        cell = cls(folder)
        Book.open(cell.path).close()
        desk = desk_at(cell.path)
        engines.add_cell(desk, "North", {"altitude": "1250 ft"})
        engines.add_engine(desk, "RB-2", {"cylinders": "8", "bore": "4.25 in"}, band="4500-6500")
        cell.session_id = sessions.open_session(desk, "RB-2", purpose="faults").id
        for with_file in (True, False):
            cell.acknowledge(*cell.log_here(desk, with_file=with_file))
        desk.close()
        return cell

    def copy(self, folder: Path) -> FaultCell:
        """The same book elsewhere, its write-ahead log included."""
        shutil.copytree(self.folder, folder)
        return FaultCell(folder, dict(self.acknowledged), self.next, self.session_id)

    def log_here(self, desk: Desk, *, with_file: bool) -> tuple[str, int, bool]:
        """Log the next pull; what `acknowledge` takes."""
        n, self.next = self.next, self.next + 1
        return log(desk, self.session_id, n, self.folder, with_file=with_file), n, with_file

    def acknowledge(self, pull_id: str, n: int, with_file: bool) -> None:
        """From now on this pull must be there, whatever happens."""
        self.acknowledged[pull_id] = (n, with_file)
        self.next = max(self.next, n + 1)

    def lost(self, *, unfinished: int = 1) -> list[str]:
        """Everything that is not as it must be; empty when nothing was lost.

        At most `unfinished` pulls may be there that nobody acknowledged, and then whole.
        """
        desk = desk_at(self.path)
        try:
            said = safety.verify(desk)
            with desk.book.reading() as read:
                found = {pull.id: pull for pull in read.where(Pull)}
                extra = found.keys() - self.acknowledged.keys()
                for pull_id in extra:
                    pull = found[pull_id]
                    self.acknowledge(
                        pull_id, int(pull.notes.removeprefix("pull ")), bool(pull.source_id)
                    )
                if len(extra) > unfinished:
                    said.append(f"{len(extra)} pulls that nobody acknowledged")
                for pull_id, (n, with_file) in self.acknowledged.items():
                    if pull_id not in found:
                        said.append(f"pull {n} is gone")
                    elif not whole(read, found[pull_id], n, with_file=with_file):
                        said.append(f"pull {n} is not as it was")
        finally:
            desk.close()
        return said


Act = Callable[[Callable[[object], None], mmap.mmap], None]


class Child:
    """Another process that acts on the book, says what is acknowledged, and can be killed.

    Forked, so that two thousand of them are affordable; `phase` tells where it is.
    """

    def __init__(self, act: Act) -> None:
        self.phase = mmap.mmap(-1, 1)
        self._pipe, writing = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self._pipe)
            code = 1
            try:
                _watch_transactions(self.phase)
                act(lambda said: _send(writing, said), self.phase)
                code = 0
            except Exception:
                traceback.print_exc()
            finally:
                os._exit(code)
        os.close(writing)
        self._rest = b""

    def first(self) -> Any:
        """Wait for the first thing it says; ``None`` where it ends without a word."""
        while b"\n" not in self._rest:
            more = os.read(self._pipe, 65536)
            if not more:
                return None
            self._rest += more
        return json.loads(self._rest.partition(b"\n")[0])

    def kill_when(self, phase: int | None, seconds: float, *, patience: float = 0.2) -> int:
        """SIGKILL `seconds` after it reached `phase` (at once where ``None``); the phase it
        was in. After `patience` it is killed wherever it is."""
        end = time.perf_counter() + patience
        while phase is not None and self.phase[0] != phase and time.perf_counter() < end:
            pass
        until = time.perf_counter() + seconds
        while time.perf_counter() < until:
            pass
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        self.pid = 0
        return self.phase[0]

    def said(self) -> list[Any]:
        """Everything it said until it ended; half a line counts for nothing."""
        while more := os.read(self._pipe, 65536):
            self._rest += more
        os.close(self._pipe)
        if self.pid:
            _, status = os.waitpid(self.pid, 0)
            if status:
                raise RuntimeError(f"the other process failed ({status})")
        lines = self._rest.split(b"\n")[:-1]
        return [json.loads(line) for line in lines]


def _send(pipe: int, said: object) -> None:
    os.write(pipe, json.dumps(said).encode() + b"\n")


def _watch_transactions(phase: mmap.mmap) -> None:
    """Let every connection of this process tell when it changes and when it commits."""
    plain = book_room.connect

    def connect(*given: Any, **more: Any) -> sqlite3.Connection:
        db = plain(*given, **more)

        def told(sql: str) -> None:
            if sql.startswith("BEGIN IMMEDIATE"):
                phase[0] = CHANGING
            elif sql.startswith("COMMIT"):
                phase[0] = COMMITTING

        db.set_trace_callback(told)
        return db

    book_room.connect = connect
