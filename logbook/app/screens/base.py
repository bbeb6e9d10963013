"""What every screen shares: asking the workers, the notice line, the key row."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual._styles_cache import StylesCache
from textual.app import ComposeResult
from textual.screen import Screen

from logbook.app.keys import Key
from logbook.app.messages import Answer, BookChanged, Got, Noticed, Refused, Ticket
from logbook.app.widgets.ink import CUT, fit_line, wrap
from logbook.app.widgets.keyrow import KeyRow
from logbook.app.widgets.lines import Text
from logbook.app.widgets.progress import Progress
from logbook.app.widgets.rows import Column, Rows
from logbook.app.work import READING, WRITING
from logbook.plain import plain
from logbook.refusals import CalledOff

if TYPE_CHECKING:
    from logbook.app.host import Host
    from logbook.app.screens.jump import Target
    from logbook.cases.desk import Desk
    from logbook.refusals import Refusal

R = TypeVar("R")
T = TypeVar("T")
NOTICE_ROWS = 6
READING_S = 1 / 15  # seconds a letter: about 180 words a minute (common practice, no source)


def told_in(refusal: Refusal) -> str:
    """The role of a refusal's sentence: what somebody stopped is no error."""
    return "caution" if isinstance(refusal, CalledOff) else "error"


AGE_EVERY_S = 20.0


class BookScreen(Screen[T]):
    """A screen on the book. `place` names its keys in `keys.places`.

    Textual calls the ``on_…`` handlers of every class of a screen, base classes too; what
    subclasses are to replace therefore has a name of its own: `mounted`, `got`, `refused`.

    Subclasses compose their own part in `content`, read the book in `reload`, and answer
    `key_words` with ``None`` for a key that does nothing just now.
    """

    AUTO_FOCUS: ClassVar[str | None] = "Rows"
    place: ClassVar[str]

    DEFAULT_CSS = """
    BookScreen { layout: vertical; }
    #head { height: auto; padding: 0 1; }
    #notice { height: auto; padding: 0 1; }
    """

    in_front = False
    _read_by = 0.0

    @property
    def book(self) -> Host:
        """The app, as itself."""
        return cast("Host", self.app)

    def compose(self) -> ComposeResult:
        """The screen's own part, then the notice line and the key row."""
        yield from self.content()
        yield Progress()
        yield Text(id="notice")
        yield KeyRow()

    def content(self) -> ComposeResult:
        """The screen's own widgets."""
        raise NotImplementedError

    def reload(self) -> None:
        """Read the book again."""

    def on_mount(self) -> None:
        """There: see `mounted`."""
        self.mounted()

    def mounted(self) -> None:
        """Show the keys and read the book."""
        self.refresh_keys()
        self.reload()

    def on_screen_resume(self) -> None:
        """In front, or back there: the keys may differ."""
        self.refresh_keys()
        self.call_next(self._come)  # after Textual has given the focus

    def _come(self) -> None:
        self.in_front = True

    def aged(self) -> None:
        """`AGE_EVERY_S` have passed: show how old things are now.

        A screen that waits so long by a timer of its own is held until then, even when it has
        long been left: of a timer that is stopped the event loop keeps what it was set in.
        """

    def on_book_changed(self, message: BookChanged) -> None:
        """Somebody wrote, or the units are others: read again."""
        if columns := self.columns():
            self.query_one(Rows).head(columns)
        self.reload()

    def columns(self) -> Sequence[Column]:
        """The columns of the screen's list, where it has one whose heads carry units."""
        return ()

    # -- asking the workers ------------------------------------------------------------------

    def ask(
        self,
        lane: str,
        job: Callable[[Desk], R],
        make: Callable[[Ticket, R], Answer],
        doing: str = READING,
    ) -> None:
        """Run a reading job; its answer comes as a message. `doing`, such as “reading
        run_0412.csv”, is shown where it takes long."""
        self.book.work.read(self, lane, job, make, doing)

    def change(
        self,
        lane: str,
        job: Callable[[Desk], R],
        make: Callable[[Ticket, R], Answer],
        doing: str = WRITING,
    ) -> None:
        """Run a writing job; its answer comes as a message."""
        self.book.work.write(self, lane, job, make, doing)

    def stale(self, answer: Answer) -> bool:
        """Whether a newer request has been made since."""
        return self.book.work.is_stale(self, answer)

    def on_got(self, message: Got) -> None:
        """An answer that is still wanted: see `got`."""
        if not self.stale(message):
            self.got(message.ticket.lane, message.result)

    def got(self, lane: str, result: object) -> None:
        """The result of a request on `lane`."""

    def on_refused(self, message: Refused) -> None:
        """A refusal that is still wanted: see `refused`."""
        if not self.stale(message):
            self.refused(message.ticket.lane, message.refusal)

    def refused(self, lane: str, refusal: Refusal) -> None:
        """Say why the request on `lane` was refused."""
        self.notice(refusal.sentence, told_in(refusal))

    def on_unmount(self) -> None:
        """Left: nobody waits any more for what it wanted to read, and what was drawn is let go.
        Textual remembers two colors a widget, and with them everything that the last thousand
        widgets drew: 40 MB after going to and fro for two minutes."""
        self.book.work.leave(self)
        StylesCache.get_inner_outer.cache_clear()

    @property
    def ready(self) -> bool:
        """Whether what keys are meant for is there; until then they wait (`InOrder`)."""
        return self.in_front

    # -- words and keys ----------------------------------------------------------------------

    def notice(self, text: str, role: str = "strong") -> None:
        """Show a sentence above the key row, in as many rows as it needs and there are. It stays
        until there is another one; an empty one takes it away, what was done (not an error of what
        is being typed) only once there was time to read it."""
        now = self.book.tick()
        if not text and now < self._read_by:
            return
        self._read_by = now + len(text) * READING_S if role == "strong" else now
        width = max(20, self.size.width - 2)
        lines = wrap(text, width, role) if text else []
        if len(lines) > NOTICE_ROWS:
            last = fit_line((*lines[NOTICE_ROWS - 1], (f" {CUT}", role)), width)
            lines = [*lines[: NOTICE_ROWS - 1], last]
        self.query_one("#notice", Text).put(*lines)

    def on_noticed(self, message: Noticed) -> None:
        """A sentence from elsewhere."""
        self.notice(message.text, message.role)

    def key_words(self, key: Key) -> str | None:
        """The words of a key just now, or ``None`` where it does nothing."""
        return key.words

    def keys_now(self) -> list[tuple[Key, str]]:
        """The keys that work now, with their words."""
        pairs = ((key, self.key_words(key)) for key in self.book.keymap.of(self.place))
        return [(key, words) for key, words in pairs if words is not None]

    def refresh_keys(self) -> None:
        """Draw the key row anew."""
        self.query_one(KeyRow).put([pair for pair in self.keys_now() if pair[0].row])

    def targets(self) -> list[Target]:
        """What a jump can go to: the fields of a form, the rows of a list that are seen."""
        from logbook.app.screens.jump import Target
        from logbook.app.widgets.field import Entry

        found = []
        for entry in self.query(Entry):
            place = self.find_widget(entry).visible_region
            if entry.display and place.height:
                found.append(Target(place.x, place.y, partial(self.set_focus, entry.target)))
        for rows in self.query(Rows):
            found.extend(Target(x, y, partial(rows.action_to, at)) for at, x, y in rows.seen())
        return found

    def jump(self) -> None:
        """A letter beside everything that can be chosen."""
        from logbook.app.screens.jump import JumpScreen

        if targets := self.targets():
            self.app.push_screen(JumpScreen(targets))

    def copied(self) -> str:
        """What ``copy`` copies here: plain text, nothing where there is nothing."""
        return ""

    def action_clip(self) -> None:
        """Copy to the clipboard, over SSH too (OSC 52)."""
        text = plain(self.copied(), lines=True)
        if text:
            self.app.copy_to_clipboard(text)
            self.notice(f"Copied: {text.splitlines()[0]}")

    def action_move(self, by: int) -> None:
        """Up or down in the list."""
        self.query_one(Rows).action_move(by)

    def action_page(self, by: int) -> None:
        """A page up or down in the list."""
        self.query_one(Rows).action_page(by)

    def action_to(self, index: int) -> None:
        """To the first or the last line of the list."""
        self.query_one(Rows).action_to(index)

    def action_back(self) -> None:
        """Leave this screen."""
        self.dismiss(None)
