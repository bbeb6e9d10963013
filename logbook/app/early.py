"""What happens before there is an app: a glance into the book while Textual loads, and no garbage
looked for meanwhile."""

from __future__ import annotations

import gc
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

R = TypeVar("R")


def begin_early(job: Callable[[], R]) -> Future[R]:
    """Run `job` in a thread of its own, which ends with it."""
    thread = ThreadPoolExecutor(1, thread_name_prefix="first-look")
    running = thread.submit(job)
    thread.shutdown(wait=False)
    return running


def put_off_collecting() -> None:
    """Look for no garbage while the program loads: there is hardly any, and looking through what
    has been loaded takes a sixteenth of the time to the first screen."""
    gc.disable()


def collect_again() -> None:
    """The first screen is there: look for garbage again, and not in what was loaded for it."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()
