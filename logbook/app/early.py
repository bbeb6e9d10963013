"""The one job that begins before there is an app: a glance into the book while Textual loads."""

from __future__ import annotations

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
