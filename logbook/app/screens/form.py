"""What every form shares: keys, checks as you type, drafts that survive a kill, saving once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, TypeVar, cast

from textual.app import ComposeResult
from textual.timer import Timer

from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.confirm import ConfirmScreen
from logbook.app.widgets.entries import Entries
from logbook.app.widgets.field import Entry
from logbook.app.widgets.lines import Text

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.fields import Field
    from logbook.refusals import Refusal

R = TypeVar("R")
SAVE_AFTER = 0.4  # seconds between a key press and its draft on the disk


class Form(BookScreen[R]):
    """A screen of entries.

    Subclasses yield entries in `entries`, check what is typed in `check`, and store in
    `save_job`. `draft_key` names the draft; an empty one keeps none.
    """

    AUTO_FOCUS = ""
    DEFAULT_CSS = """
    Form #entries { height: 1fr; padding: 0 1; scrollbar-size-vertical: 1; }
    """
    title_words = ""

    def __init__(self, draft_key: str = "") -> None:
        super().__init__()
        self.draft_key = draft_key
        self._keeping: Timer | None = None
        self._under_way = False
        self._settled = False
        self._has_kept = False
        self._blocked = False

    def content(self) -> ComposeResult:
        """A heading and the entries, which scroll."""
        yield Text(((self.title_words, "strong"),), id="head")
        with Entries(id="entries"):
            yield from self.entries()

    def entries(self) -> ComposeResult:
        """The form's entries."""
        yield from ()

    def mounted(self) -> None:
        """Begin, and look for what was typed before."""
        super().mounted()
        self.begin()

    def begin(self) -> None:
        """The entries are there: focus the first, offer the draft."""
        self.call_after_refresh(self._begin)

    @property
    def ready(self) -> bool:
        """Until the form is laid out nothing can be typed into it."""
        return super().ready and self._settled

    def _begin(self) -> None:
        self.focus_first()
        self._settled = True
        self._look_for_draft()
        self.check()

    def focus_first(self) -> None:
        """Where typing starts."""
        for entry in self.all_entries():
            self.go_to(entry)
            return

    def go_to(self, entry: Entry) -> None:
        """Focus an entry now, so that the next key goes there."""
        self.set_focus(entry.target)

    # -- what is typed -----------------------------------------------------------------------

    def all_entries(self) -> list[Entry]:
        """Every entry, from top to bottom."""
        return list(self.query(Entry).results(Entry))

    def shown_entries(self) -> list[Entry]:
        """The entries that are not folded away."""
        return [entry for entry in self.all_entries() if entry.display]

    def entry(self, key: str) -> Entry | None:
        """The entry with this key."""
        return next((entry for entry in self.all_entries() if entry.key == key), None)

    def touched(self) -> dict[str, str]:
        """What differs from what the form began with, by key."""
        return {entry.key: entry.value for entry in self.all_entries() if entry.touched}

    def on_entry_edited(self, message: Entry.Edited) -> None:
        """Something was typed, once the form is laid out: see `edited`."""
        if self._settled:
            self.edited(message.entry)

    def edited(self, entry: Entry) -> None:
        """Check it and keep it; what kept the form from being saved is being mended."""
        if self._blocked:
            self._blocked = False
            self.notice("")
        self.check()
        self.keep_soon()

    def on_descendant_focus(self) -> None:
        """What Enter does may depend on the field."""
        self.refresh_keys()

    def check(self) -> None:
        """Look at what is typed; errors are shown beside the fields."""

    def ask_for_errors(self, fields: Sequence[Field]) -> None:
        """Check the touched fields of the use-cases, in a worker."""
        typed, units = self.touched(), self.book.units
        self.ask("check", lambda desk: errors_in(fields, typed, units), Got)

    def show_errors(self, errors: Mapping[str, str]) -> None:
        """Each beside its field."""
        for entry in self.all_entries():
            entry.say(error=errors.get(entry.key, ""))

    # -- drafts ------------------------------------------------------------------------------

    def draft(self) -> dict[str, str]:
        """What a draft keeps."""
        return self.touched()

    def take_draft(self, kept: Mapping[str, str]) -> None:
        """Put a draft back into the form."""
        for entry in self.all_entries():
            if entry.key in kept:
                entry.set_value(kept[entry.key])

    def draft_words(self, kept: Mapping[str, str]) -> str:
        """What a draft holds, to be read before it is taken back."""
        names = {entry.key: entry.label for entry in self.all_entries()}
        return "\n".join(f"{names.get(key, key)}: {text[:60]}" for key, text in kept.items())

    def keep_soon(self) -> None:
        """Keep what is typed, a moment after the first key press since the last time."""
        if self.draft_key and self._keeping is None:
            self._keeping = self.set_timer(SAVE_AFTER, self.keep_now)

    def keep_now(self) -> None:
        """Keep what is typed."""
        if self._keeping is not None:
            self._keeping.stop()
            self._keeping = None
        draft = self.draft()
        if draft or self._has_kept:  # an offered draft that was left alone stays
            self._has_kept = True
            self.book.keep_draft(self, self.draft_key, draft)

    def _look_for_draft(self) -> None:
        drafts, key = self.book.drafts, self.draft_key
        if drafts is not None and key:
            self.book.work.aside(self, "draft", lambda: drafts.load(key), Got)

    def _offer(self, kept: Mapping[str, str]) -> None:
        def taken(yes: bool | None) -> None:
            if yes:
                self._has_kept = True
                self.take_draft(kept)
                self.check()

        words = self.draft_words(kept)
        self.app.push_screen(
            ConfirmScreen("Typed before and not saved", words, yes="take it back", no="not now"),
            taken,
        )

    def action_clear_typed(self) -> None:
        """Put every field back to what it began with."""
        for entry in self.all_entries():
            entry.set_value(entry.initial)
        self.book.keep_draft(self, self.draft_key, {})

    # -- keys --------------------------------------------------------------------------------

    def action_next(self) -> None:
        """Go on."""
        self.advance()

    def advance(self) -> None:
        """The next field; on the last one, save."""
        entries = self.shown_entries()
        at = self.place_of_focus(entries)
        if at + 1 < len(entries):
            self.go_to(entries[at + 1])
        else:
            self.save_after_typing()

    def save_after_typing(self) -> None:
        """Save once the field in focus has worked off what was typed into it."""
        (self.focused or self).call_later(self.action_save)

    def place_of_focus(self, entries: Sequence[Entry]) -> int:
        """Which entry has the focus; −1 for none."""
        focused = self.focused
        for index, entry in enumerate(entries):
            if focused is not None and (entry is focused or focused.parent is entry):
                return index
        return -1

    # -- saving ------------------------------------------------------------------------------

    def save_job(self) -> Callable[[Desk], object] | None:
        """The job that stores what is typed; ``None`` where something is missing and said."""
        raise NotImplementedError

    def action_save(self) -> None:
        """Store it, once."""
        if self._under_way:
            return
        for entry in self.all_entries():
            if entry.error:
                self.go_to(entry)
                self._blocked = True
                self.notice(f"{entry.label}: {entry.error}", "error")
                return
        job = self.save_job()
        if job is not None:
            self._under_way = True
            self.change("save", job, Got)

    def refused(self, lane: str, refusal: Refusal) -> None:
        """Refused: the form stays as it is."""
        if lane == "save":
            self._under_way = False
        super().refused(lane, refusal)

    def got(self, lane: str, result: object) -> None:
        """A draft, a check, or the stored record."""
        if lane == "draft" and result:
            self._offer(cast("dict[str, str]", result))
        elif lane == "check":
            self.show_errors(cast("dict[str, str]", result))
        elif lane == "save":
            if self._keeping is not None:
                self._keeping.stop()
            self.book.keep_draft(self, self.draft_key, {})
            self.finish(result)

    def finish(self, result: object) -> None:
        """Stored: leave."""
        self.dismiss(result)  # type: ignore[arg-type]

    def action_back(self) -> None:
        """Leave; what was typed is kept as a draft."""
        if self.draft_key:
            self.keep_now()
        self.dismiss(None)


def errors_in(fields: Sequence[Field], typed: Mapping[str, str], units: str) -> dict[str, str]:
    """A sentence for every typed text that cannot be read. Runs in a worker."""
    from logbook.cases.field_lists import by_key
    from logbook.cases.fields import read
    from logbook.refusals import Refusal

    known, errors = by_key(tuple(fields)), {}
    for key, text in typed.items():
        if key in known and text.strip():
            try:
                read(known[key], text, units)
            except Refusal as refusal:
                errors[key] = refusal.sentence
    return errors
