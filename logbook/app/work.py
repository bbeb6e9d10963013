"""The only place of the app where threads are used.

One writer thread owns every change of the book; two reader threads have connections of their
own. Jobs are functions of the desk. A job touches no widget: its result is posted as a message
with the ticket of the request. A newer request on the same lane takes an older one that has
not begun out of the queue, and makes the answer of one that has begun stale.
"""

from __future__ import annotations

import itertools
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


class Work:
    """Runs jobs on the book away from the screen.

    Parameters
    ----------
    opener : opens the desk; called once, in the writer thread, as soon as this is made.
    """

    def __init__(self, opener: Callable[[], Desk]) -> None:
        self._writer = ThreadPoolExecutor(1, thread_name_prefix="book-writer")
        self._readers = ThreadPoolExecutor(2, thread_name_prefix="book-reader")
        self._aside = ThreadPoolExecutor(1, thread_name_prefix="drafts")
        self._numbers = itertools.count(1)
        self._latest: dict[tuple[int, str], int] = {}
        self._waiting: dict[tuple[int, str], Future[None]] = {}
        self._desk: Future[Desk] = self._writer.submit(opener)

    def use(self, opener: Callable[[], Desk]) -> None:
        """Go over to another book; requests that are still open are answered stale."""
        before, self._latest = self._desk, {}
        self._desk = self._writer.submit(_swap, before, opener)

    def read(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> Ticket:
        """Run a job that only reads; `make` turns ticket and result into the message for `to`."""
        ticket = self._ticket(to, lane)
        key = (ticket.owner, lane)
        if (earlier := self._waiting.get(key)) is not None:
            earlier.cancel()
        self._waiting[key] = self._readers.submit(self._run, to, ticket, job, make, self._desk)
        return ticket

    def write(self, to: MessagePump, lane: str, job: Job[R], make: Make[R]) -> Ticket:
        """Run a job that changes the book. It is never dropped; the app hears `BookChanged`."""
        ticket = self._ticket(to, lane)
        self._writer.submit(self._run, to, ticket, job, make, self._desk, changed=True)
        return ticket

    def aside(self, to: MessagePump, lane: str, job: Callable[[], R], make: Make[R]) -> Ticket:
        """Run a job that does not need the book, such as keeping a draft; in order."""
        ticket = self._ticket(to, lane)
        self._aside.submit(self._run_aside, to, ticket, job, make)
        return ticket

    def is_stale(self, answer: Answer) -> bool:
        """Whether a newer request on the answer's lane has been made since."""
        ticket = answer.ticket
        return self._latest.get((ticket.owner, ticket.lane)) != ticket.number

    def close(self) -> None:
        """Finish what is being written, drop what is only being read, close the book."""
        self._readers.shutdown(wait=True, cancel_futures=True)
        self._aside.shutdown(wait=True)
        self._writer.submit(_close, self._desk).result()
        self._writer.shutdown(wait=True)

    def _ticket(self, to: MessagePump, lane: str) -> Ticket:
        ticket = Ticket(id(to), lane, next(self._numbers))
        self._latest[(ticket.owner, lane)] = ticket.number
        return ticket

    def _run(
        self,
        to: MessagePump,
        ticket: Ticket,
        job: Job[R],
        make: Make[R],
        desk: Future[Desk],
        *,
        changed: bool = False,
    ) -> None:
        def done() -> R:
            result = job(desk.result())
            if changed:
                to.app.post_message(BookChanged())
            return result

        self._run_aside(to, ticket, done, make)

    def _run_aside(
        self, to: MessagePump, ticket: Ticket, job: Callable[[], R], make: Make[R]
    ) -> None:
        try:
            to.post_message(make(ticket, job()))
        except Refusal as refusal:
            to.post_message(Refused(ticket, refusal))
        except Exception as error:
            to.app.post_message(Faulted(f"{type(error).__name__}: {error}", traceback.format_exc()))


def _swap(before: Future[Desk], opener: Callable[[], Desk]) -> Desk:
    desk = opener()
    _close(before)
    return desk


def _close(desk: Future[Desk]) -> None:
    if desk.exception() is None:
        desk.result().close()
