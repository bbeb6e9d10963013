"""How long a comparison takes to open in a book of 50,000 pulls.

Run with ``python -m tests.benchmarks.compare_speed [--pulls N] [--book FILE]``. A book as
`big_book` makes it is filled in a temporary folder, or kept as FILE and used again. Printed are
minima over several runs, by the processor and by the clock (which counts what others do on the
machine, too), beside what is aimed at.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.figures import figure

AIM_S = 0.100
RUNS = 15


def quickest(what: Callable[[], object]) -> tuple[float, float]:
    """The least time of several runs by the clock, and by the processor."""
    clock, processor = [], []
    for _ in range(RUNS):
        began, worked = time.perf_counter(), time.process_time()
        what()
        clock.append(time.perf_counter() - began)
        processor.append(time.process_time() - worked)
    return min(clock), min(processor)


def measure(book: Path) -> None:
    """Open comparisons of the first engine and print the figures."""
    from logbook.cases.builds import list_builds
    from logbook.cases.compare import compare
    from logbook.cases.desk import open_desk
    from logbook.cases.engines import list_engines
    from logbook.cases.side_by_side import compare_sides
    from logbook.cases.sides_curves import side_curves
    from logbook.cases.sides_offered import offered

    desk = open_desk(book, who="KL", units="us")
    try:
        pulls = sum(engine.pulls for engine in list_engines(desk))
        builds = [build.id for build in list_builds(desk, "F1-A")]
        # The last one may have begun only; the two before it are whole.
        before, after = builds[-3:-1] if len(builds) > 2 else builds[:2]
        view = compare_sides(desk, before, after)
        parts = sum(len(side.parts) for side in (view.left, view.right))
        sessions = [part.session_id for part in view.right.parts[:2]]
        print(
            f"{pulls:,} pulls in the book; the two builds have {view.left.pulls} and"
            f" {view.right.pulls} pulls of the set-up compared, in {parts} sessions"
        )
        for name, what in (
            ("two builds, evidence and rebuild", lambda: compare_sides(desk, before, after)),
            ("their mean curves, which follow", lambda: side_curves(desk, before, after)),
            ("two sessions", lambda: compare_sides(desk, *sessions)),
            ("two sister engines", lambda: compare_sides(desk, "F1-A", "F1-B")),
            ("two pulls of one session", lambda: compare(desk, "F1-A/last/1", "F1-A/last/7")),
            ("what can be compared", lambda: offered(desk, "F1-A")),
        ):
            clock, processor = quickest(what)
            print(f"  {name:34} by the processor {1e3 * processor:6.1f} ms")
            figure(f"compared: {name}", 1e3 * clock, 1e3 * AIM_S, "ms")
    finally:
        desk.close()


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--pulls", type=int, default=50_000, metavar="N")
    parser.add_argument("--book", type=Path, metavar="FILE")
    given = parser.parse_args()
    # Before numpy comes in, as the program does it: these matrices are too small to share.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from tests.benchmarks.big_book import fill

    with tempfile.TemporaryDirectory() as folder:
        book = given.book or Path(folder) / "big.db"
        if not book.exists():
            fill(book, given.pulls)
        measure(book)


if __name__ == "__main__":
    main()
