"""The app: the book it works on, its keys, and what reaches it from elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.events import Event, Key, Paste

from logbook.app import theme
from logbook.app.air_feed import KEEP, LISTEN, AirKeeper
from logbook.app.early import collect_again
from logbook.app.host import DemoMaker
from logbook.app.in_order import InOrder, Passed
from logbook.app.keymap import Keymap
from logbook.app.keys import shared_bindings
from logbook.app.landings import LOOK, TAKE, Landings
from logbook.app.messages import (
    AirTold,
    BookChanged,
    Faulted,
    FolderLooked,
    Got,
    LandingsTaken,
    Refused,
    UnitsChanged,
)
from logbook.app.screens.base import AGE_EVERY_S, BookScreen, told_in
from logbook.app.screens.engines import EnginesScreen
from logbook.app.ways import Ways
from logbook.app.widgets.progress import LOOK_ON_EVERY_S, Progress
from logbook.app.work import Work

if TYPE_CHECKING:
    from concurrent.futures import Future

    from textual.command import Provider
    from textual.screen import Screen

    from logbook.cases.air_source import AirFeed
    from logbook.cases.desk import Desk
    from logbook.drafts import Drafts
    from logbook.store.glance import Glance

FAULT = "This is a fault of the logbook"
STOP_KEY = "escape"
LOADED_S = 1.0  # by then the first screen has been painted


def _commands() -> type[Provider]:
    from logbook.app.palette import LogbookCommands

    return LogbookCommands


class LogbookApp(Ways):
    """The terminal app on one book.

    Parameters
    ----------
    opener : opens the desk, run once in the writer thread.
    glanced : the first list, read early without opening the book, so that it is painted sooner.
    drafts : keeps what is typed and not yet saved; ``None`` keeps nothing.
    demo : builds the demo logbook (in a worker) and returns its path; ``None`` offers no demo.
    open_at : opens the desk on another path, for going over to the demo.
    now, tick : the time of day (aware, UTC) and a clock in seconds that only runs forward.
    watch_every : seconds between looks into the watched folder; 0 looks never.
    watch_folder : the folder to watch whatever was chosen in the app.
    air : opens the instrument that tells the air, in the thread that listens to it.
    wall : only the answer of the session under way, as large as it fits; nothing is changed.
    keys : a person's own keys by the id of the action; `colors` the theme to begin with.
    cautions : sentences to be seen once, such as about the config file.
    log : takes the details of an unexpected error, and says where they are kept.
    """

    TITLE = "Logbook"
    BINDINGS = shared_bindings()
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {_commands}
    ENABLE_COMMAND_PALETTE = True

    landings: Landings

    def __init__(
        self,
        opener: Callable[[], Desk],
        *,
        glanced: Future[Glance | None] | None = None,
        drafts: Drafts | None = None,
        demo: DemoMaker | None = None,
        open_at: Callable[[Path], Desk] | None = None,
        now: Callable[[], datetime] | None = None,
        tick: Callable[[], float] = monotonic,
        watch_every: float = 0.0,
        watch_folder: Path | None = None,
        air: Callable[[], AirFeed] | None = None,
        wall: bool = False,
        keys: Mapping[str, str] | None = None,
        colors: str = theme.TERMINAL,
        cautions: tuple[str, ...] = (),
        log: Callable[[str], str] | None = None,
    ) -> None:
        # Textual settles how NO_COLOR is honored while it is made: as for the terminal's colors.
        super().__init__(ansi_color=True)
        self.set_reactive(LogbookApp.ansi_color, None)
        self.work = Work(opener)
        self.glanced = glanced
        self.drafts = drafts
        self.demo = demo
        self.open_at = open_at
        self.now = now or (lambda: datetime.now(UTC))
        self.tick = tick
        self.units = "us"
        self.zone = "UTC"
        self.landings = Landings(self, watch_folder, watch_every)
        self.air = AirKeeper(self, air)
        self.wall = wall
        self.keymap = Keymap(keys)
        self.set_keymap(self.keymap.bindings)
        self._in_order = InOrder(self, super().on_event)
        self._seen_busy = False
        self._cautions = (*cautions, *self.keymap.cautions, *theme.install(self, colors))
        self._keep = log

    def get_default_screen(self) -> Screen[None]:
        """Engines are the first screen, except on the wall."""
        if self.wall:
            from logbook.app.screens.large import LargeScreen

            return LargeScreen()
        return EnginesScreen()

    def on_mount(self) -> None:
        """What must be seen once."""
        if self._cautions:
            self.say(" ".join(self._cautions), "caution")
        self.set_timer(LOADED_S, collect_again)
        self.set_interval(LOOK_ON_EVERY_S, self._look_on)
        self.set_interval(AGE_EVERY_S, self._age)
        self.landings.begin()
        self.air.begin()

    def on_unmount(self) -> None:
        """Finish writing before the process ends."""
        self.work.close()
        self.air.close()

    # -- the book, colors, units ---------------------------------------------------------------

    def go_over(self, path: Path) -> None:
        """Work on another book from now on."""
        open_at = self.open_at
        if open_at is not None:
            self.work.use(lambda: open_at(path))
            self.drafts = self.drafts.of(path) if self.drafts else None
            self.post_message(BookChanged())

    def action_next_theme(self) -> None:
        """Go over to the next colors."""
        names = [one.name for one in theme.THEMES]
        self.theme = (
            names[(names.index(self.theme) + 1) % len(names)]
            if (self.theme in names)
            else theme.TERMINAL
        )
        self.say(f"Colors: {self.theme}.")

    def action_jump(self) -> None:
        """A letter beside everything that can be chosen on the screen in front."""
        if isinstance(self.screen, BookScreen):
            self.screen.jump()

    def action_next_units(self) -> None:
        """US units or metric ones, for what is shown and for bare numbers that are typed."""
        self.work.read(self, "units", _other_units, UnitsChanged)

    def on_units_changed(self, message: UnitsChanged) -> None:
        """Every screen that is open shows its figures anew."""
        self.units = message.units
        for screen in self.screen_stack:
            screen.post_message(BookChanged())
        self.say(f"Units: {message.units}. What is stored stays as it was typed.")

    # -- what takes long ---------------------------------------------------------------------

    def _look_on(self) -> None:
        if not (self.work.busy or self._seen_busy):
            return
        self._seen_busy = self.work.busy  # once more afterwards: what was shown goes
        for screen in self.screen_stack:  # one that is behind another may still be seen
            for row in screen.query(Progress):
                row.put(self.work.slow(screen, self) if screen.is_current else ())

    def _age(self) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, BookScreen):
                screen.aged()

    def _stops(self) -> bool:
        """Stop what is shown to be under way; gives whether anything shown still was."""
        shown = {course for row in self.screen.query(Progress) for course in row.courses}
        waited = [one for one in self.work.slow(self.screen, self) if one.free and one in shown]
        if not waited:
            return False
        if not self.work.stop(waited):
            self.say("It is being written already and cannot be stopped.", "caution")
        self._look_on()
        return True

    # -- the watched folder ------------------------------------------------------------------

    def on_folder_looked(self, message: FolderLooked) -> None:
        """A look into it."""
        self.landings.looked(message)

    def on_landings_taken(self, message: LandingsTaken) -> None:
        """What had landed is in the book."""
        self.landings.taken(message)

    # -- keys --------------------------------------------------------------------------------

    async def on_event(self, event: Event) -> None:
        """Every key comes in here, in the order it was pressed."""
        if not isinstance(event, Key | Paste):
            await super().on_event(event)
        elif event.is_forwarded:
            await super().on_event(event)
            await self._in_order.passed()
        elif not (isinstance(event, Key) and event.key == STOP_KEY and self._stops()):
            await self._in_order.take(event)

    async def on_passed(self, message: Passed) -> None:
        """A key has been worked off."""
        await self._in_order.passed(message.number)

    def on_air_told(self, message: AirTold) -> None:
        """The air's instrument has told something, or nothing new."""
        self.air.told(message)

    def landed(self, sentence: str) -> None:
        """Something has landed: said wherever no session shows it by itself."""
        if not getattr(self.screen, "shows_landings", False):
            self.say(f"{sentence} Enter on its engine's session logs it.")

    # -- undo, for every screen --------------------------------------------------------------

    def action_undo(self) -> None:
        """Take back the last entry."""
        self.work.write(self, "undo", partial(_undo, self.units), Got)

    def action_redo(self) -> None:
        """Put back what was just taken back."""
        self.work.write(self, "undo", partial(_redo, self.units), Got)

    def on_got(self, message: Got) -> None:
        """Undone, in a sentence."""
        self.say(str(message.result))

    def on_refused(self, message: Refused) -> None:
        """It could not be undone, in a sentence; or a folder could not be watched."""
        if message.ticket.lane in {LOOK, TAKE}:
            self.landings.refused(message.refusal)
            return
        if message.ticket.lane in {LISTEN, KEEP}:
            self.air.refused(message)
            return
        self.say(message.refusal.sentence, told_in(message.refusal))

    def on_book_changed(self, message: BookChanged) -> None:
        """Every screen that is open reads the book again."""
        for screen in self.screen_stack:
            screen.post_message(BookChanged())

    def on_faulted(self, message: Faulted) -> None:
        """A fault of the logbook itself: said, kept, and the app goes on. One that comes again
        while the first is still being read is kept, not said again."""
        from logbook.app.screens.confirm import ConfirmScreen

        kept = self._keep(message.details) if self._keep else ""
        if getattr(self.screen, "title_words", "") == FAULT:
            return
        self.push_screen(
            ConfirmScreen(
                FAULT,
                f"{message.sentence}\n\nWhat was typed is kept. {kept}".rstrip(),
                yes="go on",
            )
        )


def _other_units(desk: Desk) -> str:
    desk.units = "metric" if desk.units == "us" else "us"
    return desk.units


def _undo(units: str, desk: Desk) -> str:
    from logbook.cases.change import undo_last
    from logbook.reports.rejudged_words import sentences

    undone = undo_last(desk)
    said = f"{undone.sentence.rstrip('.')}. U puts it back."
    return f"{said} {sentences(undone.rejudged, units)}".rstrip()


def _redo(units: str, desk: Desk) -> str:
    from logbook.cases.change import redo_last
    from logbook.reports.rejudged_words import sentences

    redone = redo_last(desk)
    return f"{redone.sentence.rstrip('.')}. {sentences(redone.rejudged, units)}".rstrip()
