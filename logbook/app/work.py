"""The only place of the app where threads are used.

One writer thread owns every change of the book; two reader threads have connections of their
own. Jobs are functions of the desk. A job touches no widget: its result is posted as a message
with the ticket of the request. A newer request on the same lane takes an older one that has
not begun out of the queue, interrupts the query of one that has, and makes its answer stale.
"""

from __future__ import annotations

import itertools
import threading
import traceback
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, TypeVar

from logbook.app.messages import Answer, BookChanged, Faulted, Refused, Ticket
from logbook.refusals import Refusal

if TYPE_CHECKING:
    from textual.message_pump import MessagePump

    from logbook.cases.desk import Desk

R = TypeVar("R")
Job = Callable[["Desk"], R]
Make = Callable[[Ticket, R], Answer]
Lane = tuple[int, str]


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
        self._latest: dict[Lane, int] = {}
        self._waiting: dict[Lane, Future[None]] = {}
        self._reading: dict[Lane, threading.Thread] = {}
        self._unanswered: set[Future[None]] = set()
        self._opened: Future[Desk] | None = None

    @property
    def busy(self) -> bool:
        """Whether an answer is still to come; one that has been posted is no longer."""
        return bool(self._unanswered)

    def begin(self) -> Future[Desk]:
        """Open the book, if nobody has needed it yet."""
        if self._opened is None:
            self._opened = self._writer.submit(self._opener)
        return self._opened

    def use(self, opener: Callable[[], Desk]) -> None:
        """Go over to another book; requests that are still open are answered stale."""
        before, self._latest = self._opened, {}
        self._opened = self._writer.submit(_swap, before, opener)

    def read(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> None:
        """Run a job that only reads; `make` turns ticket and result into the message for `to`."""
        ticket, desk = self._ticket(to, lane), self.begin()
        key = (ticket.owner, lane)
        self._supersede(key)

        def reading() -> R:
            book = desk.result()
            self._reading[key] = threading.current_thread()
            try:
                return job(book)
            finally:
                self._reading.pop(key, None)

        self._waiting[key] = self._submit(self._readers, to, ticket, reading, make)

    def write(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> None:
        """Run a job that changes the book. It is never dropped; the app hears `BookChanged`."""
        ticket, desk = self._ticket(to, lane), self.begin()

        def writing() -> R:
            result = job(desk.result())
            to.app.post_message(BookChanged())
            return result

        self._submit(self._writer, to, ticket, writing, make)

    def aside(self, to: MessagePump, lane: str, job: Callable[[], R], make: Make[R]) -> None:
        """Run a job that does not need the book, such as keeping a draft; in order."""
        self._submit(self._aside, to, self._ticket(to, lane), job, make)

    def watch(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> None:
        """Run a job that looks into a folder, where a slow network holds up nothing else."""
        ticket, desk = self._ticket(to, lane), self.begin()
        self._submit(self._watcher, to, ticket, lambda: job(desk.result()), make)

    def instrument(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> None:
        """Run a job that listens to an instrument, which may be slow to answer."""
        ticket, desk = self._ticket(to, lane), self.begin()
        self._listener.submit(self._run, to, ticket, lambda: job(desk.result()), make)

    def is_stale(self, answer: Answer) -> bool:
        """Whether a newer request on the answer's lane has been made since."""
        ticket = answer.ticket
        return self._latest.get((ticket.owner, ticket.lane)) != ticket.number

    def close(self) -> None:
        """Finish what is being written, drop what is only being read, close the book."""
        self._readers.shutdown(wait=True, cancel_futures=True)
        self._aside.shutdown(wait=True)
        self._watcher.shutdown(wait=True, cancel_futures=True)
        self._listener.shutdown(wait=True, cancel_futures=True)
        self._writer.submit(_close, self._opened).result()
        self._writer.shutdown(wait=True)

    def _ticket(self, to: MessagePump, lane: str) -> Ticket:
        ticket = Ticket(id(to), lane, next(self._numbers))
        self._latest[(ticket.owner, lane)] = ticket.number
        return ticket

    def _submit(
        self,
        thread: ThreadPoolExecutor,
        to: MessagePump,
        ticket: Ticket,
        job: Callable[[], R],
        make: Make[R],
    ) -> Future[None]:
        answer = thread.submit(self._run, to, ticket, job, make)
        self._unanswered.add(answer)
        answer.add_done_callback(self._unanswered.discard)
        return answer

    def _supersede(self, key: Lane) -> None:
        earlier, thread = self._waiting.get(key), self._reading.get(key)
        if earlier is None or earlier.done() or earlier.cancel():
            return
        if thread is not None and self._opened is not None and self._opened.done():
            self._opened.result().book.interrupt(thread)

    def _run(self, to: MessagePump, ticket: Ticket, job: Callable[[], R], make: Make[R]) -> None:
        try:
            to.post_message(make(ticket, job()))
        except Refusal as refusal:
            to.post_message(Refused(ticket, refusal))
        except Exception as error:
            said = f"{type(error).__name__}: {error}"
            # Whoever asked hears of it as of any refusal: nobody waits for what will not come.
            to.post_message(Refused(ticket, Refusal(f"a fault of the logbook ({said})")))
            to.app.post_message(Faulted(said, traceback.format_exc()))


def _swap(before: Future[Desk] | None, opener: Callable[[], Desk]) -> Desk:
    desk = opener()
    _close(before)
    return desk


def _close(desk: Future[Desk] | None) -> None:
    if desk is not None and desk.exception() is None:
        desk.result().close()
