"""Long work while it is under way: how far it has come, and whether it is still wanted.

Whoever starts work that may take long makes a `Course` and runs it `within`. The work itself says
where it is by `each`, `step` and `say`, in whatever room it stands: without a course (the command
line, a notebook) these do nothing. Where somebody has stopped it they raise `Stopped`, which no
``except Exception`` holds up, so that open changes are rolled back and half-written files removed.
`seal` is called right before something becomes final; from then on it cannot be stopped.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

T = TypeVar("T")


class Stopped(BaseException):
    """The work is not wanted any more. Nothing of it was made final."""


class Course:
    """The course of one piece of work. Used by the thread that works and by the one that looks on.

    `doing` says what is done (“reading run_0412.csv”), or nothing where nobody waits for it;
    `done` of `total` steps are behind it, `total` 0 where they cannot be counted. `began` is on
    the clock of `time.monotonic`, seconds. `free`: a person may stop it.
    """

    def __init__(self, doing: str, *, free: bool = True) -> None:
        self.doing = doing
        self.free = free
        self.done = self.total = 0
        self.began = time.monotonic()
        self._lock = threading.Lock()
        self._stopped = self._sealed = False
        self._provisional = False

    @property
    def stopped(self) -> bool:
        """Whether it was stopped."""
        return self._stopped

    @property
    def sealed(self) -> bool:
        """Whether something has become final, so that it cannot be stopped any more."""
        return self._sealed

    def stop(self) -> bool:
        """Stop it at its next step; gives whether that was still possible."""
        with self._lock:
            self._stopped = self._stopped or not self._sealed
            return self._stopped

    def check(self) -> None:
        """Raises `Stopped` where it was stopped."""
        if self._stopped:
            raise Stopped

    def seal(self) -> None:
        """What comes now is final. Raises `Stopped` where it was stopped before."""
        with self._lock:
            self.check()
            self._sealed = not self._provisional

    def say(self, doing: str) -> None:
        """What is done from now on; a step of provisional work is no work of its own."""
        if not self._provisional:
            self.doing = doing

    @contextmanager
    def provisional(self) -> Iterator[None]:
        """Inside, nothing is final whatever is sealed."""
        before, self._provisional = self._provisional, True
        try:
            yield
        finally:
            self._provisional = before


_COURSE: ContextVar[Course | None] = ContextVar("course", default=None)


@contextmanager
def within(course: Course) -> Iterator[None]:
    """Everything done inside, in this thread, belongs to the course."""
    token = _COURSE.set(course)
    try:
        yield
    finally:
        _COURSE.reset(token)


def step() -> None:
    """A good place to stop. Raises `Stopped` where the work is not wanted any more."""
    course = _COURSE.get()
    if course is not None:
        course.check()


def wanted() -> Callable[[], bool]:
    """For another thread that this work waits for: tells whether it is still wanted."""
    course = _COURSE.get()
    return lambda: course is None or not course.stopped


def say(doing: str) -> None:
    """What is done from now on: “reading run_0412.csv”."""
    course = _COURSE.get()
    if course is not None:
        course.check()
        course.say(doing)


def seal() -> None:
    """Right before something becomes final. Raises `Stopped` where the work was stopped before."""
    course = _COURSE.get()
    if course is not None:
        course.seal()


@contextmanager
def provisional() -> Iterator[None]:
    """What is written inside goes into a file of its own that nobody has seen yet."""
    course = _COURSE.get()
    if course is None:
        yield
    else:
        with course.provisional():
            yield


def each(items: Iterable[T], total: int = 0) -> Iterator[T]:
    """`items`, with a place to stop before each; counted where `total` says how many they are.

    Only the outermost count is told: of steps within steps, the larger ones.
    """
    course = _COURSE.get()
    if course is None:
        yield from items
        return
    counts = total > 0 and not course.total
    if counts:
        course.done, course.total = 0, total
    try:
        for item in items:
            course.check()
            yield item
            if counts:
                course.done += 1
    finally:
        if counts:
            course.done = course.total = 0
