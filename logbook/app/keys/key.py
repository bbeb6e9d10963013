"""What a key is, and the keys that many places share.

Each key has an id (for a key map of one's own), the key itself, the words for the key row and
a tooltip for help and palette. Letters are for screens without a text field; forms use Enter,
Tab, arrows, function keys and Ctrl.
"""

from __future__ import annotations

from typing import NamedTuple

from textual.binding import Binding


class Key(NamedTuple):
    """One key of one place. `face` is how it is written; `row`: whether the key row shows it;
    `at_once`: it acts before the field in focus has worked off what was typed into it, so that
    digits typed right after it go to the next field."""

    id: str
    keys: str
    action: str
    face: str
    words: str
    tooltip: str
    row: bool = True
    at_once: bool = False

    def binding(self) -> Binding:
        """As Textual wants it."""
        return Binding(
            self.keys, self.action, self.words, show=self.row, key_display=self.face,
            tooltip=self.tooltip, id=self.id, priority=self.at_once,
        )  # fmt: skip


BACK = ("escape", "back", "Esc")
SHARED: tuple[Key, ...] = (
    Key("help", "question_mark,f1", "app.help", "?", "help",
        "Help for the thing in focus, with all its keys"),
    Key("palette", "ctrl+p", "app.command_palette", "Ctrl+P", "all actions",
        "Every action with its key", row=False),
    Key("jump", "f4", "app.jump", "F4", "jump",
        "A letter beside every field or line that can be chosen; typing it goes there", row=False),
    Key("quit", "ctrl+q", "app.quit", "Ctrl+Q", "quit",
        "Leave the logbook; what was typed is kept", row=False),
)  # fmt: skip
UNITS = Key("units", "f9", "app.next_units", "F9", "units",
             "Show US units, or metric ones; what is stored stays", row=False)  # fmt: skip
UNDO: tuple[Key, ...] = (
    Key("search", "slash", "app.search", "/", "search", "Find any pull by words and fields"),
    Key("undo", "u", "app.undo", "u", "undo", "Take back the last entry"),
    Key("redo", "U", "app.redo", "U", "redo", "Put back what was just taken back", row=False),
    Key("theme", "f12", "app.next_theme", "F12", "colors",
        "Go over to the next colors: terminal, dark, light, high contrast, color-blind safe",
        row=False),
    UNITS,
)  # fmt: skip
_FORM: tuple[Key, ...] = (
    Key("form.enter", "enter", "next", "Enter", "next field", "Go on to the next field",
        at_once=True),
    Key("form.save", "ctrl+s", "save", "Ctrl+S", "save", "Save what was typed"),
    Key("form.down", "down,tab", "app.focus_next", "↓ Tab", "next field", "The field below",
        row=False, at_once=True),
    Key("form.up", "up,shift+tab", "app.focus_previous", "↑", "field before", "The field above",
        row=False, at_once=True),
    Key("form.clear", "f8", "clear_typed", "F8", "clear", "Throw away what was typed", row=False),
    Key("form.back", *BACK[:2], BACK[2], "back", "Leave; what was typed is kept as a draft"),
)  # fmt: skip


def form(save: str, tooltip: str, *more: Key) -> tuple[Key, ...]:
    """The keys of a form, with its own words for saving."""
    enter, save_key, *rest = _FORM
    own = Key(save_key.id, save_key.keys, save_key.action, save_key.face, save, tooltip)
    return (enter, own, *more, *rest)


def page(place: str) -> tuple[Key, ...]:
    """The keys of a page that is scrolled through, with the way back to the cell."""
    *keys, back = reading(place)
    keys = [key for key in keys if not key.id.endswith(".clip")]
    return (*keys, back._replace(tooltip="Back to the cell"))


def reading(place: str) -> tuple[Key, ...]:
    """The keys of a screen that is only read."""
    return (
        Key(f"{place}.up", "up,k", "scroll(-1)", "↑", "up", "A line up"),
        Key(f"{place}.down", "down,j", "scroll(1)", "↓", "down", "A line down"),
        Key(f"{place}.page.up", "pageup,ctrl+u", "scroll(-12)", "PgUp", "page up", "A page up"),
        Key(f"{place}.page.down", "pagedown,ctrl+d", "scroll(12)", "PgDn", "page down",
            "A page down"),
        Key(f"{place}.clip", "y", "clip", "y", "copy text", "Copy what stands here as text",
            row=False),
        UNITS,
        Key(f"{place}.back", *BACK[:2], BACK[2], "back", "Back to the session"),
    )  # fmt: skip


# Where nothing is typed, every key acts at once and in order: what is typed right after one that
# opens a form goes into the form.
_MOVES = tuple(
    Key(f"list.{name}", keys, action, face, words, words, row=False)
    for name, keys, action, face, words in (
        ("up", "up,k", "move(-1)", "↑ k", "The line above"),
        ("down", "down,j", "move(1)", "↓ j", "The line below"),
        ("pageup", "pageup,ctrl+u", "page(-1)", "PgUp", "A page up"),
        ("pagedown", "pagedown,ctrl+d", "page(1)", "PgDn", "A page down"),
        ("home", "home,g", "to(0)", "Home g", "The first line"),
        ("end", "end,G", "to(-1)", "End G", "The last line"),
    )
)


def as_list(*keys: Key) -> tuple[Key, ...]:
    """The keys of a screen with a list and no field: those that move in it too, all at once."""
    return tuple(key._replace(at_once=True) for key in (*keys, *_MOVES))
