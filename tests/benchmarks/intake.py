"""What it costs to take files in, beside ``pandas.read_csv`` of the same files.

Run with ``python -m tests.benchmarks.intake [--files 1000] [--rows 200000]``. Three things are
timed, each in turns with ``read_csv`` so that both meet the same machine: one file of 300 × 12
into a stored pull, its source kept, waited for on the disk; many such files by back fill, with
the same rows put into the same tables by plain ``sqlite3``, no triggers and as many a commit,
apart; and a long log cut into its pulls, without the hash that keeps its source by. Printed are
the least of the turns by the clock on the wall, the figure least moved by whatever else the
machine does, and their median in time of the processor; then where a profile finds the time.
"""

from __future__ import annotations

import argparse
import cProfile
import hashlib
import os
import pstats
import sqlite3
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from tests.benchmarks.figures import figure
from tests.benchmarks.intake_files import evening_file, sweep_file

if TYPE_CHECKING:
    from logbook.cases.desk import Desk

AIM_ONE, AIM_MANY, AIM_LOG = 15.0, 6.0, 2.0
PULLS_IN_LOG = 12
PULLS_A_DAY = 20
_SHARES = 8


@dataclass
class Turns:
    """Seconds of each turn, by the clock on the wall and of the processor."""

    wall: list[float] = field(default_factory=list)
    processor: list[float] = field(default_factory=list)

    def take(self, what: Callable[[], object], parts: int = 1) -> None:
        """One turn, of which a part is wanted."""
        wall, processor = time.perf_counter(), time.process_time()
        what()
        self.wall.append((time.perf_counter() - wall) / parts)
        self.processor.append((time.process_time() - processor) / parts)

    @property
    def ms(self) -> tuple[float, float]:
        """The least on the wall and the usual one of the processor, ms."""
        return 1e3 * min(self.wall), 1e3 * median(self.processor)


def cell_at(folder: Path) -> Desk:
    """A book with one engine."""
    from logbook.cases import engines
    from logbook.cases.desk import open_desk

    clock = iter(datetime(2026, 3, 14, tzinfo=UTC) + timedelta(minutes=n) for n in range(10**7))
    desk = open_desk(folder / "book.db", who="KL", units="us", now=lambda: next(clock))
    engines.add_cell(desk, "North", {"altitude": "1250 ft"})
    engines.add_engine(desk, "RB-2", {"cylinders": "8"}, band="4500-6500")
    return desk


def files_in(folder: Path, count: int) -> list[Path]:
    """So many different files of one pull, those of a day twenty minutes apart."""
    paths = [folder / f"run-{number:05}.csv" for number in range(count)]
    for number, path in enumerate(paths):
        path.write_text(sweep_file(number))
        day, turn = divmod(number, PULLS_A_DAY)
        moment = datetime(2019, 3, 1, 15, tzinfo=UTC) + timedelta(days=day, minutes=20 * turn)
        os.utime(path, (moment.timestamp(),) * 2)
    return paths


def one_file(folder: Path, turns: int) -> tuple[Turns, Turns, dict[str, float]]:
    """A file into a stored pull, ``read_csv`` of it, and a profile."""
    import pandas as pd

    from logbook.cases import pulls, sessions
    from logbook.cases.entry import PullEntry

    desk = cell_at(folder)
    session = sessions.open_session(desk, "RB-2", purpose="speed", operator="KL")

    def add(path: Path) -> Callable[[], object]:
        entry = PullEntry(session_id=session.id, trace=path, torque_state="observed")
        return lambda: pulls.add_pull(desk, entry)

    paths = files_in(folder, 2 * turns)
    for path in paths[:5]:
        add(path)()
        pd.read_csv(path)
    ours, theirs = Turns(), Turns()
    for path in paths[5:turns]:
        ours.take(add(path))
        theirs.take(lambda path=path: pd.read_csv(path))
    shares = profiled(lambda: [add(path)() for path in paths[turns:]])
    desk.close()
    return ours, theirs, shares


def many_files(folder: Path, count: int) -> tuple[Turns, Turns, Turns, dict[str, float]]:
    """A file of a back fill, ``read_csv`` of it, the bare inserts, and a profile."""
    import pandas as pd

    from logbook.cases.backfill import PastFile
    from logbook.cases.past import BATCH, TAKEN, Terms, take_all

    desk = cell_at(folder)
    terms = Terms(engine_tag="RB-2", torque_state="observed")
    paths = files_in(folder, count + 4 * BATCH)
    outcomes = take_all(desk, [PastFile(path, terms) for path in paths])

    def batch() -> None:
        for outcome in islice(outcomes, BATCH):
            assert outcome.what == TAKEN, outcome.text

    batch()
    ours, theirs = Turns(), Turns()
    for start in range(BATCH, count, BATCH):
        ours.take(batch, BATCH)
        some = paths[start : start + BATCH]
        theirs.take(lambda some=some: [pd.read_csv(path) for path in some], BATCH)
    shares = profiled(lambda: [batch() for _ in range(4)])
    desk.close()
    return ours, theirs, bare_inserts(folder / "book.db", len(paths), BATCH), shares


def bare_inserts(book: Path, files: int, batch: int) -> Turns:
    """Put the book's rows into a book of the same tables and indexes, `batch` files a commit."""
    turns, commits = Turns(), files // batch
    with closing(sqlite3.connect(book)) as db:
        made = db.execute(
            "SELECT type, name, sql FROM sqlite_master WHERE type IN ('table', 'index')"
            " AND sql IS NOT NULL AND name NOT LIKE 'search_index%' AND name NOT LIKE 'sqlite_%'"
            " ORDER BY type DESC"
        ).fetchall()
        columns = {
            name: [row[1] for row in db.execute(f"PRAGMA table_xinfo({name})") if row[6] == 0]
            for kind, name, _ in made
            if kind == "table"
        }
        rows = {
            name: db.execute(f"SELECT {', '.join(names)} FROM {name}").fetchall()
            for name, names in columns.items()
        }
    with closing(sqlite3.connect(book.with_name("bare.db"), isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        for _, _, sql in made:
            db.execute(sql)

        def commit(number: int) -> None:
            db.execute("BEGIN IMMEDIATE")
            for name, every in rows.items():
                start, end = (len(every) * n // commits for n in (number, number + 1))
                names, marks = ", ".join(columns[name]), ", ".join("?" * len(columns[name]))
                db.executemany(f"INSERT INTO {name} ({names}) VALUES ({marks})", every[start:end])
            db.execute("COMMIT")

        for number in range(commits):
            turns.take(lambda number=number: commit(number), batch)
    return turns


@contextmanager
def one_core() -> Iterator[None]:
    """All that is done in here is done by one core."""
    import pandas as pd

    allowed = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(allowed)})
    try:
        with pd.option_context("mode.max_threads", 1):  # it counts the cores only once
            yield
    finally:
        os.sched_setaffinity(0, allowed)


def long_log(
    folder: Path, rows: int, turns: int
) -> tuple[tuple[Turns, Turns], tuple[Turns, Turns], Turns, dict[str, float]]:
    """A log cut into its pulls and ``read_csv`` of it: by one core, and by as many as each takes;
    its hash, and a profile. A file of 5 MB and more pandas reads on several cores, too."""
    import pandas as pd

    from logbook.intake import parts, read_file

    path = folder / "evening.csv"
    path.write_text(evening_file(rows, PULLS_IN_LOG))

    def cut() -> None:
        file = read_file(path)
        assert len(file.parts) == PULLS_IN_LOG, file.parts
        for number in range(1, PULLS_IN_LOG + 1):
            parts.take_part(file, number)

    content = path.read_bytes()
    cut()
    pd.read_csv(path)
    alone, free, hashed = (Turns(), Turns()), (Turns(), Turns()), Turns()
    for _ in range(turns):
        with one_core():
            alone[0].take(cut)
            alone[1].take(lambda: pd.read_csv(path))
        free[0].take(cut)
        free[1].take(lambda: pd.read_csv(path))
        hashed.take(lambda: hashlib.sha256(content).hexdigest())
    return alone, free, hashed, profiled(cut)


def profiled(what: Callable[[], object]) -> dict[str, float]:
    """Where the time goes, in shares of the whole: by file of the program, or by library."""
    profile = cProfile.Profile()
    profile.runcall(what)
    spent: Counter[str] = Counter()
    for (file, _, name), (_, _, own, _, _) in pstats.Stats(profile).stats.items():  # type: ignore[attr-defined]
        spent[_part_of(file, name)] += own
    whole = sum(spent.values())
    return {part: own / whole for part, own in spent.most_common(_SHARES)}


def _part_of(file: str, name: str) -> str:
    if "/logbook/" in file:
        return "logbook/" + file.rsplit("/logbook/", 1)[1]
    for library in ("pandas", "numpy"):
        if f"/{library}/" in file or library in name:
            return library
    if file != "~":
        return Path(file).name
    return name.strip("<>").replace("built-in method ", "").replace(" objects", "")


def say(
    title: str, ours: Turns, theirs: Turns, aim: float, apart: tuple[str, Turns] | None = None
) -> None:
    """The ratio by both clocks; what is asked for `apart` is taken off first."""
    print(f"\n{title} (aim {aim:g} × read_csv{f' and {apart[0]}' if apart else ''})")
    clocks = ("wall, least", "processor, median")
    off = apart[1].ms if apart else (0.0, 0.0)
    for clock, mine, other, less in zip(clocks, ours.ms, theirs.ms, off, strict=True):
        said = f", {apart[0]} {less:.2f} ms" if apart else ""
        print(f"  {clock:18} {mine:8.2f} ms, read_csv {other:.2f} ms{said}")
        figure(f"{title}, {clock.split(',')[0]}", (mine - less) / other, aim)


def say_shares(shares: dict[str, float]) -> None:
    """Where a profile finds the time."""
    print("  spent on: " + ", ".join(f"{part} {share:.0%}" for part, share in shares.items()))


def main() -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description="What it costs to take files in.")
    parser.add_argument("--files", type=int, default=1000)
    parser.add_argument("--rows", type=int, default=200_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="intake-") as name:
        folders = [Path(name) / part for part in ("one", "many", "log")]
        for folder in folders:
            folder.mkdir()
        ours, theirs, shares = one_file(folders[0], 105)
        say("300 × 12 into a stored pull, source kept, fsync", ours, theirs, AIM_ONE)
        say_shares(shares)
        ours, theirs, bare, shares = many_files(folders[1], given.files)
        title = f"{given.files} such files by back fill, a file"
        say(title, ours, theirs, AIM_MANY, ("bare inserts", bare))
        say_shares(shares)
        alone, free, hashed, shares = long_log(folders[2], given.rows, 15)
        title = f"{given.rows} × 12 cut into {PULLS_IN_LOG} pulls"
        say(f"{title}, one core each", *alone, AIM_LOG, ("its hash", hashed))
        say(title, *free, AIM_LOG, ("its hash", hashed))
        say_shares(shares)


if __name__ == "__main__":
    main()
