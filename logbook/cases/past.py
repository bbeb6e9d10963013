"""Pulls of the past: taken in by the hundred, a day of an engine as one session.

Each file or row is taken whole or refused with a reason, and the rest goes on. What was taken
before is recognized, so that a back fill that was stopped is simply begun again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Protocol

from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of
from logbook.cases.labels import house_zone, session_label
from logbook.cases.sessions import last_session, opened
from logbook.records.cell import Cell
from logbook.records.session import CLOSED, Session
from logbook.records.times import day_in
from logbook.refusals import BookTrouble, Refusal
from logbook.store.change import Change
from logbook.store.reader import Reader

TAKEN, BEFORE, REFUSED = "taken", "taken before", "refused"
PURPOSE = "Back fill"
BATCH = 25  # so many a commit: a stop loses little, and the disk is not waited for each time


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a file or row: `what` is `TAKEN`, `BEFORE` or `REFUSED`.

    `pulls` names the pulls it became (or was), `text` says what was read in it, or why not.
    """

    name: str
    what: str
    text: str
    pulls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Terms:
    """What holds for everything that is taken: of the sessions opened, and of each pull.

    The last three are what was found once and need not be asked again: the session of an engine
    and day, the label of a session, and what is known of a kind of file by its signature.
    """

    engine_tag: str | None = None
    band: str | None = None
    standard: str | None = None
    set_up: Mapping[str, str | None] = field(default_factory=dict)
    torque_state: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    days: dict[tuple[str, str], str] = field(default_factory=dict, compare=False)
    labels: dict[str, str] = field(default_factory=dict, compare=False)
    kinds: dict[str, Mapping[str, str]] = field(default_factory=dict, compare=False)

    def label(self, read: Reader, session: Session, number: int) -> str:
        """What people call the pull of that number in a session."""
        if session.id not in self.labels:
            self.labels[session.id] = session_label(read, session)
        return f"{self.labels[session.id]}/{number}"


class Item(Protocol):
    """A file or row: how people find it again, and how it is taken within a change."""

    @property
    def name(self) -> str:
        """The file's name, or the row's line."""

    def read(self, desk: Desk) -> Ready:
        """Read and check it before the book is held; raises a `Refusal`."""


class Ready(Protocol):
    """A file or row that was read."""

    def __call__(self, change: Change, desk: Desk) -> Outcome:
        """Take it within a change; raises a `Refusal`."""


class _NotMeant(Exception):  # noqa: N818 — the end of a dry run is no fault
    """Takes everything back that a dry run has written."""


def take_all(desk: Desk, items: Iterable[Item], *, dry_run: bool = False) -> Iterator[Outcome]:
    """Take the items in, some at a time in one commit; yields what became of each.

    A dry run does all of it, too, and takes it back. Raises `BookTrouble` where the book itself
    cannot take anything.
    """
    left = iter(items)
    while batch := list(islice(left, None if dry_run else BATCH)):
        ready = [(item.name, _read(desk, item)) for item in batch]
        found: list[Outcome] = []
        try:
            with desk.book.changing(who=desk.who, what="Back fill") as change:
                for name, one in ready:
                    found.append(_take(change, desk, name, one))
                count = sum(len(one.pulls) for one in found if one.what == TAKEN)
                change.what = f"{count} {'pull' if count == 1 else 'pulls'} of the past logged"
                if dry_run:
                    raise _NotMeant
        except _NotMeant:
            pass  # as announced: nothing was meant to stay
        yield from found


def _read(desk: Desk, item: Item) -> Ready | Outcome:
    try:
        return item.read(desk)
    except BookTrouble:
        raise
    except Refusal as refusal:
        return Outcome(item.name, REFUSED, refusal.sentence)


def _take(change: Change, desk: Desk, name: str, ready: Ready | Outcome) -> Outcome:
    if isinstance(ready, Outcome):
        return ready
    try:
        with change.attempt():
            return ready(change, desk)
    except BookTrouble:
        raise
    except Refusal as refusal:
        return Outcome(name, REFUSED, refusal.sentence)


def zone_of(read: Reader, tag: str) -> str:
    """The time zone that the past of an engine is told in: its last cell's, else the first's."""
    return _zone(read, engine_of(read, tag).id)


def _zone(read: Reader, engine_id: str) -> str:
    last = last_session(read, engine_id)
    return read.get(Cell, last.cell_id).time_zone if last else house_zone(read)


def session_of_day(change: Change, desk: Desk, tag: str, at: str, terms: Terms) -> Session:
    """The back fill's session of that engine on the day of `at`, opened and closed at need.

    Sessions that were logged as they happened are left as they are.
    """
    engine = engine_of(change, tag)
    zone = _zone(change, engine.id)

    def day_of(stamp: str) -> str:
        return day_in(stamp, zone)

    def known(session_id: str | None) -> Session | None:
        return change.find_one(Session, id=session_id) if session_id else None

    key = (engine.id, day_of(at))
    session = known(terms.days.get(key))
    if session is None:
        for one in change.where(Session, engine_id=engine.id, purpose=PURPOSE):
            terms.days[engine.id, day_of(one.opened_at)] = one.id
        session = known(terms.days.get(key))
    if session is not None:
        latest, earliest = max(at, session.closed_at or at), min(at, session.opened_at)
        change.update(Session, session.id, closed_at=latest, opened_at=earliest)
        return change.get(Session, session.id)
    session = opened(
        change,
        desk,
        tag,
        standard=terms.standard,
        band=terms.band,
        at=at,
        given={"purpose": PURPOSE, "status": CLOSED, "closed_at": at},
    )
    terms.days[key] = session.id
    return session
