"""Faults tried on a book, and records lost.

Run with ``python -m tests.benchmarks.faults [--faults 2000] [--seed 1]``. Really kills
(SIGKILL in commits, in file intake, in migrations, drafts and merges), fills the disk
(RLIMIT_FSIZE), locks, tears the write-ahead log and flips bits. After each, every pull that was
ever acknowledged is compared value by value: set-up, typed text, stored number, trace, source
file; and `verify` computes figures and search texts anew. Bits are flipped in a copy: what counts
as lost there is a pull that changed while nothing said so.
"""

from __future__ import annotations

import argparse
import random
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.fault_cell import FaultCell
from tests.benchmarks.fault_kinds import FAULTS, begin, is_spent
from tests.benchmarks.figures import figure


@dataclass
class Tally:
    """What a run of faults came to."""

    tried: Counter[str] = field(default_factory=Counter)
    landed: dict[str, Counter[str]] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)
    compared: int = 0


def run(
    faults: int,
    seed: int,
    progress: Callable[[int], None] = lambda _: None,
    *,
    most_pulls: int = 60,
) -> Tally:
    """Try so many faults, of every kind by its weight; a new book after `most_pulls`."""
    rng = random.Random(seed)
    tally = Tally()
    weights = [weight for _, weight in FAULTS.values()]
    names = [*FAULTS, *rng.choices(list(FAULTS), weights, k=max(0, faults - len(FAULTS)))]
    with tempfile.TemporaryDirectory(prefix="faults-") as name:
        folder = Path(name)
        template = FaultCell.begin(folder / "template")
        cell = begin(folder, template, 0)
        for number, kind in enumerate(names[:faults], start=1):
            outcome = FAULTS[kind][0](cell, rng)
            tally.tried[kind] += 1
            tally.landed.setdefault(kind, Counter())[outcome.landed] += 1
            tally.compared += len(cell.acknowledged)
            tally.lost += [f"{kind}, {outcome.landed}: {said}" for said in outcome.lost]
            progress(number)
            if is_spent(cell, most_pulls) or outcome.lost:
                shutil.rmtree(cell.folder, ignore_errors=True)
                cell = begin(folder, template, number)
    return tally


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faults", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    started = time.perf_counter()

    def progress(number: int) -> None:
        if number % 100 == 0:
            print(f"  {number} faults, {time.perf_counter() - started:.0f} s", flush=True)

    tally = run(given.faults, given.seed, progress)
    for kind, count in tally.tried.items():
        landed = ", ".join(f"{where} {n}" for where, n in tally.landed[kind].most_common())
        print(f"{kind:24} {count:6}   {landed}")
    print(f"{'faults tried':24} {sum(tally.tried.values()):6}")
    print(f"{'pulls compared':24} {tally.compared:6}")
    figure(f"records lost by {sum(tally.tried.values())} faults", len(tally.lost), 0, "")
    for said in tally.lost[:40]:
        print(" ", said)


if __name__ == "__main__":
    main()
