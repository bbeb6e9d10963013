"""Two programs log into one book while a third searches it.

Run with ``python -m tests.benchmarks.two_programs [--pulls 500]``. Each writer logs so many
pulls through the use-cases, half of them from files, as fast as it can; the third asks the search
box all the while. Printed are the pulls that are there afterwards, compared value by value, the
errors that a user would have seen, and how long the slowest search and the slowest pull took.
"""

from __future__ import annotations

import argparse
import mmap
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from logbook.cases import finding
from logbook.refusals import Refusal
from tests.benchmarks.fault_cell import Child, FaultCell, desk_at, log
from tests.benchmarks.figures import figure

QUERIES = ("pull", "timing:>25", "engine:RB-2 pull", "oil:>160F", '"pull 1"', "power:>100hp")


@dataclass(frozen=True)
class Result:
    """What came of it; seconds."""

    pulls: int
    searches: int
    errors: tuple[str, ...]
    lost: tuple[str, ...]
    slowest_pull: float
    slowest_search: float


def writer(cell: FaultCell, first: int, many: int) -> Child:
    """A program that logs `many` pulls."""

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        desk = desk_at(cell.path, busy_seconds=30.0)
        for n in range(first, first + many):
            started = time.perf_counter()
            with_file = n % 2 == 0
            try:
                pull_id = log(desk, cell.session_id, n, cell.folder, with_file=with_file)
                say([time.perf_counter() - started, [pull_id, n, with_file]])
            except Refusal as refused:
                say(refused.sentence)
        desk.close()

    return Child(act)


def searcher(cell: FaultCell) -> Child:
    """A program that searches until it is told to stop by `phase`."""

    def act(say: Callable[[object], None], phase: mmap.mmap) -> None:
        desk = desk_at(cell.path)
        found, turn = 0, 0
        while phase[0] != STOP:
            started = time.perf_counter()
            try:
                hits = finding.find(desk, QUERIES[turn % len(QUERIES)])
                if turn % len(QUERIES) == 0:
                    if len(hits) < min(found, 200):
                        say("a pull that was found once is not found any more")
                    found = len(hits)
                say([time.perf_counter() - started, None])
            except Refusal as refused:
                say(refused.sentence)
            turn += 1
        desk.close()

    return Child(act)


STOP = 255


def run(many: int) -> Result:
    """Two writers of `many` pulls each, and the searcher."""
    with tempfile.TemporaryDirectory(prefix="two-programs-") as name:
        cell = FaultCell.begin(Path(name) / "cell")
        third = searcher(cell)
        third.first()
        writers = [writer(cell, 10_000 * k, many) for k in (1, 2)]
        logged = [child.said() for child in writers]
        third.phase[0] = STOP
        searched = third.said()
        errors = [said for told in (*logged, searched) for said in told if isinstance(said, str)]
        pulls = [said for told in logged for said in told if not isinstance(said, str)]
        searches = [said[0] for said in searched if not isinstance(said, str)]
        for _, acknowledged in pulls:
            cell.acknowledge(*acknowledged)
        return Result(
            len(pulls), len(searches), tuple(errors), tuple(cell.lost(unfinished=0)),
            max(said[0] for said in pulls), max(searches),
        )  # fmt: skip


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pulls", type=int, default=500)
    result = run(parser.parse_args().pulls)
    print(f"pulls logged       {result.pulls}")
    print(f"searches           {result.searches}")
    figure(f"errors of two programs logging {result.pulls} pulls", len(result.errors), 0, "")
    figure("records lost by them", len(result.lost), 0, "")
    print(f"slowest pull       {result.slowest_pull:.2f} s")
    print(f"slowest search     {result.slowest_search:.2f} s")
    for said in (*result.errors[:10], *result.lost[:10]):
        print(" ", said)


if __name__ == "__main__":
    main()
