"""Watched folders: a file that has landed waits until somebody accepts it as a pull.

`FolderWatch.look` reads the folder and writes nothing; `take_in` writes what it found. What waits
is kept in the book byte for byte, so a file that is overwritten or deleted before it was
accepted is not lost, and no restart takes one twice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from logbook import underway
from logbook.cases.desk import Desk
from logbook.cases.kinds import column_maps
from logbook.cases.labels import label_of
from logbook.cases.samples import free_parts
from logbook.plain import plain
from logbook.records.ids import new_id
from logbook.records.landing import IGNORED, REFUSED, TAKEN, WAITING, Landing
from logbook.records.trace import Source
from logbook.refusals import BadFile
from logbook.store import landings

if TYPE_CHECKING:
    from logbook.intake.landing import Settled, Settling, Stamp
    from logbook.store.change import Change

RENAMED, LOCKED, UNREACHABLE, REACHABLE = "renamed", "locked", "unreachable", "reachable again"
BEFORE_S = 24 * 3600.0  # files older than this when a folder is first watched stay what they are
MOST_A_LOOK = 20  # so that many files at once do not keep the first one waiting
_LOCKED_LOOKS = 10
_GROWN = "it was written on after it had landed"


@dataclass(frozen=True, slots=True)
class LandingEvent:
    """Something that happened in a watched folder: `what` is a landing's state, or one of
    `RENAMED`, `LOCKED`, `UNREACHABLE` and `REACHABLE`. `foreign`: a file nobody expects to be
    taken, by its name no table."""

    what: str
    name: str
    text: str
    landing: Landing | None = None
    foreign: bool = False


@dataclass(frozen=True, slots=True)
class Looked:
    """What one look found: files that have settled, all that lie there, and other events.

    `first`: the folder was never watched before; `old` are then the files that were there long
    before and have not landed."""

    folder: str
    first: bool = False
    old: tuple[Settled, ...] = ()
    settled: tuple[Settled, ...] = ()
    there: frozenset[str] = frozenset()
    events: tuple[LandingEvent, ...] = ()

    @property
    def anything(self) -> bool:
        """Whether there is anything to take in or to say."""
        return self.first or bool(self.settled or self.events)


class FolderWatch:
    """Looks into one folder again and again; called by one thread at a time.

    Parameters
    ----------
    folder : made absolute; it may come and go, as folders on a network do.
    quiet : seconds for which a file must have stood still.
    patient : wait for a folder that is not there yet, instead of refusing it.
    tick : a clock in seconds that only runs forward.

    `reachable` says whether the folder was there at the last look.
    """

    def __init__(
        self,
        folder: Path,
        *,
        quiet: float | None = None,
        patient: bool = False,
        tick: Callable[[], float] = monotonic,
    ) -> None:
        self.folder = folder.expanduser().absolute()
        self._quiet = quiet
        self._patient = patient
        self._tick = tick
        self._settling: Settling | None = None
        self.reachable = True
        self._locked: dict[str, int] = {}

    @property
    def pending(self) -> int:
        """How many files lie there that have not settled yet, an empty or locked one too."""
        return 0 if self._settling is None else self._settling.pending

    def look(self, desk: Desk) -> Looked:
        """Look once. Raises `BadFile` where the folder was never there, unless patient."""
        from logbook.intake import landing as intake

        name = str(self.folder)
        try:
            listing = intake.list_files(self.folder)
        except BadFile as refusal:
            if self._settling is None and not self._patient:
                raise
            lost = self.reachable
            self.reachable = False
            event = LandingEvent(UNREACHABLE, name, f"{refusal.sentence} Looking on.")
            return Looked(name, events=(event,) if lost else ())
        events = []
        if not self.reachable:
            self.reachable = True
            events.append(LandingEvent(REACHABLE, name, "The folder is there again."))
        first = False
        old: tuple[Settled, ...] = ()
        if self._settling is None:
            self._settling, first, old = self._begin(desk, listing)
        found = []
        for file in self._settling.look(listing, self._tick())[:MOST_A_LOOK]:
            settled = self._read(desk, file, listing[file], events)
            if settled is not None:
                self._settling.keep(file, listing[file])
                found.append(settled)
        return Looked(name, first, old, tuple(found), frozenset(listing), tuple(events))

    def _begin(
        self, desk: Desk, listing: Mapping[str, Stamp]
    ) -> tuple[Settling, bool, tuple[Settled, ...]]:
        """What the book knows of this folder; when it is new, what is too old to have landed."""
        from logbook.intake.landing import QUIET_S, Settled, Settling, Stamp

        with desk.book.reading() as read:
            began = landings.began_at(read, str(self.folder))
            known = {
                name: Stamp(one.size, one.modified_ns)
                for name, one in landings.newest_by_name(read, str(self.folder)).items()
            }
        old: tuple[Settled, ...] = ()
        if began is None:
            border = (desk.now().timestamp() - BEFORE_S) * 1e9
            old = tuple(
                Settled(name, stamp, refusal="it was there before the folder was watched")
                for name, stamp in listing.items()
                if stamp.modified_ns < border
            )
            known.update((file.name, file.stamp) for file in old)
        settling = Settling(known, quiet=QUIET_S if self._quiet is None else self._quiet)
        return settling, began is None, old

    def _read(
        self, desk: Desk, name: str, stamp: Stamp, events: list[LandingEvent]
    ) -> Settled | None:
        from logbook.intake.landing import read_settled

        underway.say(f"reading {name}")
        try:
            settled = read_settled(self.folder, name, stamp, column_maps(desk))
        except OSError as trouble:
            self._locked[name] = self._locked.get(name, 0) + 1
            if self._locked[name] == _LOCKED_LOOKS:
                events.append(
                    LandingEvent(
                        LOCKED,
                        name,
                        f"{plain(name)} cannot be read yet ({trouble.strerror}): another program"
                        " may be holding it. Trying on.",
                    )
                )
            return None
        self._locked.pop(name, None)
        if settled is None:
            assert self._settling is not None
            self._settling.again(name)
        return settled


def take_in(desk: Desk, looked: Looked) -> tuple[LandingEvent, ...]:
    """Keep what a look found, in one change; gives everything there is to say."""
    events = list(looked.events)
    with desk.book.changing(who=desk.who, what="Files landed") as change:
        landings.begin(change, looked.folder, desk.timestamp())
        for settled in looked.old:
            _put(change, desk, looked.folder, settled, IGNORED, settled.refusal)
        if looked.old:
            events.append(_old_event(looked))
        for settled in underway.each(looked.settled, len(looked.settled)):
            underway.say(f"taking in {settled.name}")
            event = _take(change, desk, looked, settled)
            if event is not None:
                events.append(event)
    return tuple(events)


def _take(change: Change, desk: Desk, looked: Looked, settled: Settled) -> LandingEvent | None:
    """Keep one file; ``None`` where there is nothing new about it."""
    known = landings.of_content(change, settled.sha256) if settled.sha256 else []
    here = [one for one in known if one.folder == looked.folder]
    same = next((one for one in here if one.name == settled.name), None)
    gone = next((one for one in here if one.name not in looked.there), None)
    if same is not None or gone is not None:
        before = same or gone
        assert before is not None
        landings.moved(change, before.id, name=settled.name, size=settled.stamp.size,
                       modified_ns=settled.stamp.modified_ns)  # fmt: skip
        if same is not None:
            return None
        text = f"{plain(before.name)} is now called {plain(settled.name)}."
        return LandingEvent(RENAMED, settled.name, text, before)
    state, reason = _judged(change, settled, known)
    if state == WAITING:
        reason = _set_growing_aside(change, looked.folder, settled) or reason
        change.put_source(_source_of(settled, desk.timestamp()))
    new = _put(change, desk, looked.folder, settled, state, reason)
    return LandingEvent(state, settled.name, _sentence(new), new, settled.foreign)


def _put(
    change: Change, desk: Desk, folder: str, settled: Settled, state: str, reason: str
) -> Landing:
    new = Landing(
        id=new_id(),
        folder=folder,
        name=settled.name,
        size=settled.stamp.size,
        modified_ns=settled.stamp.modified_ns,
        sha256=settled.sha256,
        seen_at=desk.timestamp(),
        state=state,
        reason=reason,
        parts=len(settled.file.parts) if settled.file else 1,
    )
    landings.put(change, new)
    return new


def _old_event(looked: Looked) -> LandingEvent:
    count = len(looked.old)
    were = "1 file older than a day was" if count == 1 else f"{count} files older than a day were"
    text = f"{were} there before the folder was watched: left alone."
    return LandingEvent(IGNORED, looked.folder, text, foreign=True)


def _judged(change: Change, settled: Settled, known: list[Landing]) -> tuple[str, str]:
    """State and reason of a file whose bytes did not land here before."""
    if settled.file is None and settled.unsettled is None:
        return IGNORED if settled.foreign else REFUSED, settled.refusal
    pull = change.pull_of_source(settled.sha256)
    if pull is not None and settled.file is not None and not free_parts(change, settled.file):
        return IGNORED, f"it is already pull {label_of(change, pull)}"
    twin = next((one for one in known if one.state in (WAITING, TAKEN)), None)
    if twin is not None:
        return IGNORED, f"it is the same file as {twin.name}"
    return WAITING, settled.refusal


def _set_growing_aside(change: Change, folder: str, settled: Settled) -> str:
    """An earlier landing of a file that was only half written gives way to the whole one."""
    content = settled.file.content if settled.file else settled.content
    earlier = landings.newest_by_name(change, folder).get(settled.name)
    if earlier is None or not earlier.sha256 or earlier.size >= settled.stamp.size:
        return ""
    source = change.source_of_content(earlier.sha256)
    if source is None or not content.startswith(source.content):
        return ""
    if landings.set_aside(change, earlier.id, _GROWN):
        return ""
    return _GROWN if earlier.state == TAKEN else ""


def _source_of(settled: Settled, at: str) -> Source:
    """A file that waits, as the book keeps it."""
    file, asked = settled.file, settled.unsettled
    if file is not None:
        return Source(new_id(), file.sha256, file.name, at, file.content, file.signature)
    assert asked is not None
    name = plain(settled.name)[:200]
    return Source(new_id(), settled.sha256, name, at, settled.content, asked.signature)


def _sentence(one: Landing) -> str:
    name = plain(one.name)
    if one.state == WAITING:
        pulls = f", {one.parts} pulls in it" if one.parts > 1 else ""
        caution = f" Caution: {one.reason}." if one.reason else ""
        return f"{name} has landed and waits{pulls}.{caution}"
    if one.state == REFUSED:
        return f"{name} is not taken. {plain(one.reason)}"
    return f"{name} is left alone: {plain(one.reason)}."


def waiting(desk: Desk) -> list[Landing]:
    """What waits to become a pull, the earliest first."""
    with desk.book.reading() as read:
        return landings.waiting(read)


def set_aside(desk: Desk, landing_id: str) -> None:
    """A landing is not wanted: it waits no longer. Its bytes stay in the book."""
    with desk.book.changing(who=desk.who, what="Landing set aside") as change:
        landings.set_aside(change, landing_id, f"set aside by {desk.who}")


def app_folder(desk: Desk) -> Path | None:
    """The folder that the app watches, as chosen in it."""
    with desk.book.reading() as read:
        chosen = landings.app_folder(read)
    return None if chosen is None else Path(chosen)


def choose_app_folder(desk: Desk, folder: Path | None) -> None:
    """The app watches this folder from now on, or none.

    Raises `BadFile` where it cannot be read. What lies there and is younger than a day lands.
    """
    chosen = None
    if folder is not None:
        watch = FolderWatch(folder)
        chosen = str(watch.folder)
        take_in(desk, watch.look(desk))
    with desk.book.changing(who=desk.who, what="Folder chosen") as change:
        landings.choose_app_folder(change, chosen)
