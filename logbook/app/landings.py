"""The watched folder inside the app: looked at in turns, on a thread of its own.

What has landed is written down by the writer; the Session screens then read what waits from the
book, where a watching `logbook watch` puts it too.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logbook.app.messages import BookChanged, FolderLooked, LandingsTaken

if TYPE_CHECKING:
    from logbook.app.host import Host
    from logbook.cases.desk import Desk
    from logbook.cases.landing import FolderWatch, LandingEvent, Looked
    from logbook.refusals import Refusal

LOOK_EVERY_S = 0.3
LOOK, TAKE = "folder look", "folder take"


class Landings:
    """Looks into the folder that `folder` names, else into the one chosen in the app.

    `watched` is the folder being looked at, `away` whether it is out of reach, for the screens
    to show.
    """

    def __init__(self, app: Host, folder: Path | None, every: float) -> None:
        self._app = app
        self._given = folder
        self._every = every
        self._busy = False
        self._said = ""
        self._desk: Desk | None = None
        self._version = -1
        self._watch: FolderWatch | None = None
        self._asked: tuple[str, ...] = ()
        self._waiting: tuple[str, ...] = ()
        self.watched: Path | None = None
        self.away = False

    def begin(self) -> None:
        """Look in turns from now on; never, where `every` is 0."""
        if self._every:
            self._app.set_interval(self._every, self._look)

    def _look(self) -> None:
        if not self._busy:  # a slow network folder is not asked again before it has answered
            self._busy = True
            self._app.work.watch(self._app, LOOK, self._job, lambda t, got: FolderLooked(t, *got))

    def _job(self, desk: Desk) -> tuple[Looked | None, tuple[str, ...]]:
        """In the watching thread: look into the folder, and ask the book what waits."""
        from logbook.cases.landing import FolderWatch, app_folder, waiting

        version = desk.book.data_version()
        if desk is not self._desk or version != self._version:
            self._asked = tuple(one.id for one in waiting(desk))
            folder = self._given or app_folder(desk)
            if folder is None:
                self._watch = None
            elif desk is not self._desk or self._watch is None or self._watch.folder != folder:
                self._watch = FolderWatch(folder, patient=True)
            self._desk, self._version = desk, version
        looked = self._watch.look(desk) if self._watch is not None else None
        return looked, self._asked

    def looked(self, message: FolderLooked) -> None:
        """Take in what the look found; tell the screens where other files wait now."""
        before = (self._waiting, self.watched, self.away)
        self._waiting = message.waiting
        self.watched = self._watch.folder if self._watch is not None else None
        self.away = self._watch is not None and not self._watch.reachable
        if before != (self._waiting, self.watched, self.away):
            self._app.post_message(BookChanged())
        looked = message.looked
        if looked is None or not looked.anything:
            self._busy = False
            return

        def take(desk: Desk) -> tuple[LandingEvent, ...]:
            from logbook.cases.landing import take_in

            return take_in(desk, looked)

        self._app.work.write(self._app, TAKE, take, LandingsTaken, free=False)

    def taken(self, message: LandingsTaken) -> None:
        """Say what somebody should know; what waits shows on its session."""
        self._busy = False
        self._said = ""
        for event in message.events:
            if event.what == "waiting":
                self._app.landed(event.text)
            elif not event.foreign:
                quiet = event.what in {"renamed", "ignored", "reachable again"}
                self._app.say(event.text, "quiet" if quiet else "caution")

    def refused(self, refusal: Refusal) -> None:
        """The book did not take it: begin anew from what the book knows, and say so once."""
        self._busy, self._desk = False, None
        if refusal.sentence != self._said:
            self._said = refusal.sentence
            self._app.say(refusal.sentence, "error")
