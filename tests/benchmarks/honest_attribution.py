"""How often the interval of a rebuild's own worth holds the truth, when more was changed with it.

Run with ``python -m tests.benchmarks.honest_attribution [--histories N]``. Every line is a shop
(`family_of_known_truth`) whose history is drawn anew N times; ± is the Monte-Carlo error. The
assumptions are 1 % from day to day (until the cell has four degrees of freedom of its own) and
0.4 % between engines.
"""

from __future__ import annotations

import argparse
import itertools
import os
from dataclasses import replace

import numpy as np

from tests.benchmarks.family_of_known_truth import REBUILD, Shop, told

SEED = 20261114


def coverage(shop: Shop, histories: int) -> tuple[float, float, float]:
    """Percent of histories whose interval holds the truth, its Monte-Carlo error, and the mean
    width of the interval in percent of power."""
    rng = np.random.default_rng(SEED)
    held, widths = 0, 0.0
    for _ in range(histories):
        low, high = told(shop, rng).rest.interval_log
        held += low <= REBUILD <= high
        widths += high - low
    share = held / histories
    # Half a history keeps the error of 0 or 100 % from looking like certainty.
    error = np.sqrt(max(share * (1.0 - share), 0.5 / histories) / histories)
    return 100.0 * share, 100.0 * float(error), widths / histories


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--histories", type=int, default=1000, metavar="N")
    histories = parser.parse_args().histories
    # Before numpy's first product: these matrices are too small to share between cores.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    print("evidence               days  engines  pairs     holds   width, %")
    alone = Shop(own_fuel=False)
    shops = {
        "own fuel, 1 sister": Shop(),
        "own days, 1 sister": replace(alone, own_days=True),
        "1 sister": alone,
        "1 sister in 3 builds": replace(alone, builds=3),
        "3 sisters": replace(alone, sisters=3),
    }
    for kind, shop in shops.items():
        for days, engines, pairs in itertools.product((0.3, 0.5, 1.0), (0.0, 0.4, 0.8), (0, 4)):
            told_of = replace(shop, days=days, engines=engines, pairs=pairs)
            share, error, width = coverage(told_of, histories)
            print(
                f"{kind:22} {days:4.1f} {engines:8.1f} {pairs:6d}  {share:5.1f} ±{error:.1f}"
                f" {width:10.1f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
