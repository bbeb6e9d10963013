"""Work on large arrays, on the cores that there are: numpy and pandas let go of the interpreter."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Result = TypeVar("Result")

_MOST = 4  # more would wait for one another


def cores() -> int:
    """How many cores are worth using, of those that this program may use."""
    here = len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1
    return min(here, _MOST)


def on_cores(work: Callable[..., Result], *parts: Iterable[object]) -> list[Result]:
    """What the work makes of each part, in their order, side by side.

    Raises what the first of them raised, after all have ended.
    """
    with ThreadPoolExecutor(cores()) as threads:
        return list(threads.map(work, *parts))
