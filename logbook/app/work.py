"""The only place of the app where threads are used.

One writer thread owns every change of the book; two reader threads have connections of their
own. Jobs are functions of the desk. A job touches no widget: its result is posted as a message
with the ticket of the request. A newer request on the same lane takes an older one that has
not begun out of the queue, stops one that has at its next step (`logbook.underway`) and in its
query, and makes its answer stale. A person stops what takes long in the same way (`stop`).
"""

from __future__ import annotations

import itertools
import threading
import time
import traceback
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar
from weakref import WeakKeyDictionary

from logbook.app.messages import Answer, BookChanged, Faulted, Refused, Ticket
from logbook.refusals import CalledOff, Refusal
from logbook.underway import Course, Stopped, within

if TYPE_CHECKING:
    from textual.message_pump import MessagePump

    from logbook.cases.desk import Desk

R = TypeVar("R")
Job = Callable[["Desk"], R]
Make = Callable[[Ticket, R], Answer]

READING, WRITING, OPENING = "reading the book", "writing to the book", "opening the book"
SLOW_S = 0.5  # what takes longer is shown to be under way


@dataclass(eq=False, repr=False)
class Request:
    """A request that has not been answered yet. `reads`: it is dropped when it is superseded."""

    ticket: Ticket
    to: MessagePump
    course: Course
    reads: bool = False
    future: Future[None] | None = None
    thread: threading.Thread | None = None  # while it works


class Work:
    """Runs jobs on the book away from the screen.

    Parameters
    ----------
    opener : opens the desk; called once, in the writer thread, when it is first needed.
    """

    def __init__(self, opener: Callable[[], Desk]) -> None:
        self._opener = opener
        self._writer = ThreadPoolExecutor(1, thread_name_prefix="book-writer")
        self._readers = ThreadPoolExecutor(2, thread_name_prefix="book-reader")
        self._aside = ThreadPoolExecutor(1, thread_name_prefix="drafts")
        self._watcher = ThreadPoolExecutor(1, thread_name_prefix="folder-watch")
        self._listener = ThreadPoolExecutor(1, thread_name_prefix="air")
        self._numbers = itertools.count(1)
        # Number of the newest request by lane; a day has thousands of askers, few at a time.
        self._latest: WeakKeyDictionary[MessagePump, dict[str, int]] = WeakKeyDictionary()
        self._open: dict[Ticket, Request] = {}
        self._working = threading.Lock()  # no thread is interrupted in somebody else's work
        self._opened: Future[Desk] | None = None

    @property
    def busy(self) -> bool:
        """Whether an answer is still to come; one that has been posted is no longer."""
        return bool(self._open)

    def begin(self) -> Future[Desk]:
        """Open the book, if nobody has needed it yet."""
        if self._opened is None:
            self._opened = self._writer.submit(self._opener)
        return self._opened

    def use(self, opener: Callable[[], Desk]) -> None:
        """Go over to another book; requests that are still open are answered stale."""
        before = self._opened
        self._latest.clear()
        self._opened = self._writer.submit(_swap, before, opener)

    # -- requests ----------------------------------------------------------------------------

    def read(
        self, to: MessagePump, lane: str, job: Job[R], make: Make[R], doing: str = READING
    ) -> None:
        """Run a job that only reads; `make` turns ticket and result into the message for `to`.
        `doing` says what it does, should it take long."""
        for earlier in self._of(to):
            if earlier.reads and earlier.ticket.lane == lane:
                self._end(earlier)
        course = Course(doing)
        desk = self._desk_for(course)
        request = self._request(to, lane, course, reads=True)
        self._submit(self._readers, request, lambda: job(desk()), make)

    def write(
        self,
        to: MessagePump,
        lane: str,
        job: Job[R],
        make: Make[R],
        doing: str = WRITING,
        *,
        free: bool = True,
    ) -> None:
        """Run a job that changes the book. It is never dropped; the app hears `BookChanged`.
        Where it is `free` a person may stop it, as long as nothing is final."""
        course = Course(doing, free=free)
        desk = self._desk_for(course)

        def writing() -> R:
            result = job(desk())
            to.app.post_message(BookChanged())
            return result

        self._submit(self._writer, self._request(to, lane, course), writing, make)

    def aside(
        self, to: MessagePump, lane: str, job: Callable[[], R], make: Make[R], doing: str = ""
    ) -> None:
        """Run a job that does not need the book, such as keeping a draft; in order."""
        self._submit(self._aside, self._request(to, lane, Course(doing)), job, make)

    def watch(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> None:
        """Run a job that looks into a folder, where a slow network holds up nothing else."""
        course = Course("", free=False)
        desk = self._desk_for(course)
        request = self._request(to, lane, course)
        self._submit(self._watcher, request, lambda: job(desk()), make)

    def instrument(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> None:
        """Run a job that listens to an instrument, which may be slow to answer."""
        course = Course("", free=False)
        desk = self._desk_for(course)
        request = Request(self._ticket(to, lane), to, course)
        self._listener.submit(self._run, request, lambda: job(desk()), make)

    def is_stale(self, asker: MessagePump, answer: Answer) -> bool:
        """Whether the one who asked has made a newer request on the answer's lane since."""
        lane, number = answer.ticket
        return self._latest.get(asker, {}).get(lane) != number

    # -- what takes long ---------------------------------------------------------------------

    def slow(self, *askers: MessagePump) -> list[Course]:
        """What these wait for longer than `SLOW_S`, the oldest first."""
        before = time.monotonic() - SLOW_S
        courses = (request.course for request in self._of(*askers))
        return [course for course in courses if course.doing and course.began < before]

    def stop(self, courses: Iterable[Course]) -> bool:
        """Stop these, as a person wishes; whoever asked hears of it as of a refusal. Gives whether
        all could be stopped: what is final already goes on."""
        wanted, all_stopped = set(courses), True
        for request in list(self._open.values()):
            if request.course in wanted:
                if self._end(request):
                    request.to.post_message(Refused(request.ticket, _stopped(request)))
                else:
                    all_stopped = False
        return all_stopped

    def leave(self, asker: MessagePump) -> None:
        """Nobody waits for what this one wanted to read."""
        for request in self._of(asker):
            if request.reads:
                self._end(request)

    def close(self) -> None:
        """Finish what is being written, drop what is only being read, close the book."""
        for request in list(self._open.values()):
            if request.reads:
                self._end(request)
        self._readers.shutdown(wait=True, cancel_futures=True)
        self._aside.shutdown(wait=True)
        self._watcher.shutdown(wait=True, cancel_futures=True)
        self._listener.shutdown(wait=True, cancel_futures=True)
        self._writer.submit(_close, self._opened).result()
        self._writer.shutdown(wait=True)

    # -- inside ------------------------------------------------------------------------------

    def _desk_for(self, course: Course) -> Callable[[], Desk]:
        """Gives the desk in the thread that works. As long as it is not open that is what is
        done, and it is done for all who ask: nobody stops it."""
        opened, doing, free = self.begin(), course.doing, course.free
        if doing and not opened.done():
            course.doing, course.free = OPENING, False

        def desk() -> Desk:
            found = opened.result()
            course.doing, course.free = doing, free
            return found

        return desk

    def _of(self, *askers: MessagePump) -> list[Request]:
        return [one for one in list(self._open.values()) if one.to in askers]

    def _ticket(self, to: MessagePump, lane: str) -> Ticket:
        ticket = Ticket(lane, next(self._numbers))
        self._latest.setdefault(to, {})[lane] = ticket.number
        return ticket

    def _request(
        self, to: MessagePump, lane: str, course: Course, *, reads: bool = False
    ) -> Request:
        request = Request(self._ticket(to, lane), to, course, reads)
        self._open[request.ticket] = request
        return request

    def _submit(
        self, threads: ThreadPoolExecutor, request: Request, job: Callable[[], R], make: Make[R]
    ) -> None:
        request.future = threads.submit(self._run, request, job, make)

    def _end(self, request: Request) -> bool:
        """Stop a request, begun or not; gives whether that was still possible."""
        if not request.course.stop():
            return False
        if request.future is not None and request.future.cancel():
            self._open.pop(request.ticket, None)
            return True
        with self._working:
            opened = self._opened
            if request.thread and opened and opened.done() and opened.exception() is None:
                opened.result().book.interrupt(request.thread)
        return True

    def _run(self, request: Request, job: Callable[[], R], make: Make[R]) -> None:
        try:
            answer = self._answer(request, job, make)
            if answer is not None and not request.course.stopped:
                request.to.post_message(answer)
        finally:
            self._open.pop(request.ticket, None)

    def _answer(self, request: Request, job: Callable[[], R], make: Make[R]) -> Answer | None:
        ticket = request.ticket
        try:
            return make(ticket, self._worked(request, job))
        except Stopped:
            return None  # whoever stopped it has said so, or asks for something newer
        except Refusal as refusal:
            return Refused(ticket, refusal)
        except Exception as error:
            said = f"{type(error).__name__}: {error}"
            request.to.app.post_message(Faulted(said, traceback.format_exc()))
            # Whoever asked hears of it as of any refusal: nobody waits for what will not come.
            return Refused(ticket, Refusal(f"a fault of the logbook ({said})"))

    def _worked(self, request: Request, job: Callable[[], R]) -> R:
        with within(request.course):
            request.course.check()
            with self._working:
                request.thread = threading.current_thread()
            try:
                return job()
            finally:
                with self._working:
                    request.thread = None


def _stopped(request: Request) -> Refusal:
    nothing = "" if request.reads else ". Nothing of it was written"
    return CalledOff(f"Stopped {request.course.doing}{nothing}")


def _swap(before: Future[Desk] | None, opener: Callable[[], Desk]) -> Desk:
    desk = opener()
    _close(before)
    return desk


def _close(desk: Future[Desk] | None) -> None:
    if desk is not None and desk.exception() is None:
        desk.result().close()
