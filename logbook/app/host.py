"""What screens may ask of the app: its state, its workers, and the ways to other screens."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from textual.app import App

from logbook.app.messages import Got, Noticed

if TYPE_CHECKING:
    from concurrent.futures import Future

    from textual.screen import Screen

    from logbook.app.keymap import Keymap
    from logbook.app.work import Work
    from logbook.drafts import Drafts
    from logbook.store.glance import Glance

DemoMaker = Callable[[], Path]


class Watched(Protocol):
    """The folder that is looked into, and whether it is out of reach."""

    watched: Path | None
    away: bool


class Host(App[None]):
    """The app as its screens know it; it knows none of them. See `LogbookApp` for what it is."""

    work: Work
    glanced: Future[Glance | None] | None
    drafts: Drafts | None
    demo: DemoMaker | None
    now: Callable[[], datetime]
    tick: Callable[[], float]
    units: str
    zone: str
    landings: Watched
    wall: bool
    keymap: Keymap

    def show_session(self, session_id: str, pull_id: str | None = None) -> None:
        """The session, with this pull chosen."""
        raise NotImplementedError

    def show_opening(self, tag: str) -> None:
        """The form that opens a session of an engine; then the session itself."""
        raise NotImplementedError

    def show_sheet(self, tag: str) -> None:
        """The engine's sheet."""
        raise NotImplementedError

    def show_compare(self, left: str, right: str, standard: str | None = None) -> None:
        """Two pulls over each other; the left one is what the right one is measured from."""
        raise NotImplementedError

    def show_sides(self, left: str, right: str) -> None:
        """Builds, sessions or engines over each other, by anything that names them."""
        raise NotImplementedError

    def first_run(self) -> None:
        """An empty book: the demo, or the first engine."""
        raise NotImplementedError

    def enter_engine(self) -> None:
        """The form for an engine."""
        raise NotImplementedError

    def go_over(self, path: Path) -> None:
        """Work on another book from now on."""
        raise NotImplementedError

    def landed(self, sentence: str) -> None:
        """Something has landed: said wherever no session shows it by itself."""
        raise NotImplementedError

    def say(self, text: str, role: str = "strong") -> None:
        """A sentence on the notice line of the screen in front."""
        self.screen.post_message(Noticed(text, role))

    def keep_draft(self, asker: Screen[Any], key: str, typed: Mapping[str, str]) -> None:
        """Keep what is typed outside the book, in a thread; nothing typed forgets the draft."""
        drafts = self.drafts
        if drafts is None or not key:
            return
        job = (lambda: drafts.save(key, typed)) if typed else (lambda: drafts.clear(key))
        self.work.aside(asker, "keep", job, Got)
