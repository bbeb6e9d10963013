"""How long the report of a session of 40 pulls takes, as a person waits for it.

Run with ``python -m tests.benchmarks.reports [--pulls N]``. A book with one session is made in a
temporary folder: sweeps of 301 samples, ten set-ups in turn. Then `logbook report` is started as
a program of its own, so that loading Python and the libraries counts. Beside it a run that only
starts the program, and the first page on a machine, when matplotlib lists its fonts. Printed are
the least of several runs, what the processor was busy for in it (a machine that does something
else too takes longer), and what is aimed at.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.benchmarks.figures import figure
from tests.benchmarks.judgement_speed import sweep

AIM_S = 3.0
RUNS = 5


def fill(book: Path, count: int) -> None:
    """A session of `count` sweeps with timing and fuel changed in turn."""
    import numpy as np

    from logbook.cases import engines, pulls, sessions
    from logbook.cases.desk import open_desk
    from logbook.cases.entry import PullEntry

    clock = iter(datetime(2026, 3, 14, tzinfo=UTC) + timedelta(minutes=n) for n in range(10**6))
    desk = open_desk(book, who="KL", units="us", now=lambda: next(clock))
    engines.add_cell(desk, "North", {"altitude": "1250 ft"})
    engines.add_engine(desk, "RB-2", {"cylinders": "8", "bore": "4.25 in", "stroke": "3.75 in",
                                      "limit-timing": "45"}, band="4500-6500")  # fmt: skip
    session = sessions.open_session(desk, "RB-2", purpose="speed", operator="KL")
    rng = np.random.default_rng(1)
    air = {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"}
    for number in range(count):
        degrees = 28.0 + (number // 4) % 5
        path = book.with_name(f"run-{number:03}.csv")
        path.write_text(sweep(rng, degrees))
        pulls.add_pull(
            desk,
            PullEntry(
                session_id=session.id,
                trace=path,
                set_up={
                    "timing": f"{degrees:g}",
                    "fuel": "Tango" if number < count / 2 else "Mike",
                },
                fields=air if number % 8 == 0 else {},
                torque_state="observed",
            ),
        )
    desk.close()


def seconds(*arguments: str, runs: int = RUNS, **variables: str) -> tuple[float, float]:
    """The program from its start to its end: (seconds waited, seconds computed), the least."""
    took = []
    for _ in range(runs):
        before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        subprocess.run([sys.executable, "-m", "logbook", *arguments], check=True,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                       env={**os.environ, **variables})  # fmt: skip
        waited, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
        busy = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
        took.append((waited, busy))
    return min(took)


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description="How long a report takes.")
    parser.add_argument("--pulls", type=int, default=40, metavar="N")
    count = max(parser.parse_args().pulls, 4)
    with tempfile.TemporaryDirectory() as folder:
        book, page = Path(folder) / "book.db", Path(folder) / "page.html"
        fill(book, count)
        one = ("--db", str(book), "report", "RB-2/last", "--replace", "-o")
        first = seconds(*one, str(page), runs=1, MPLCONFIGDIR=str(Path(folder) / "fonts"))
        started = seconds("--version")
        html = seconds(*one, str(page))
        words = seconds(*one, str(page.with_suffix(".md")))
        size = page.stat().st_size
    print(f"Report of a session of {count} pulls, each run a program of its own:")
    for name, (waited, busy) in (
        ("starting the program alone", started),
        ("the first page on a machine", first),
        ("a page", html),
        ("Markdown", words),
    ):
        print(f"  {name:30} {waited:6.2f} s waited, {busy:5.2f} s computing")
    print(f"  a page is {size / 1e6:.2f} MB")
    figure(f"report of {count} pulls, the program's whole run", html[0], AIM_S, "s")


if __name__ == "__main__":
    main()
