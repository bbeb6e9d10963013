"""How honest the judgement is, against a simulated cell whose truth is known.

Run with ``python -m tests.benchmarks.honesty [--size N]``; seeded, so that two runs of one size
print the same. N is the number of simulated sessions behind each line of the verdict table
(2000 by default); the history table learns from N/10 histories, the bands table uses N/4, the
timing tables N/80 and N/10. Behind every figure stands its Monte-Carlo standard error.
"""

from __future__ import annotations

import argparse
import os
import time


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="How honest the judgement is.")
    parser.add_argument("--size", type=int, default=2000, metavar="N", help="sessions a line")
    size = max(parser.parse_args().size, 40)
    # Before numpy comes in: matrices of a session are too small to share among cores.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from tests.benchmarks.honest_tables import (
        print_bands,
        print_best,
        print_history,
        print_outside,
        print_timing,
        print_verdicts,
    )

    started = time.perf_counter()
    print_verdicts(size)
    print_outside(size)
    print_history(max(size // 10, 10))
    print_bands(max(size // 4, 20))
    print_timing(max(size // 80, 5))
    print_best(max(size // 10, 20))
    print(f"\n{size} sessions a line, {time.perf_counter() - started:.0f} s.")


if __name__ == "__main__":
    main()
