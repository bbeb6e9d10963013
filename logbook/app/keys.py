"""Every key of the app, once: the key row, the help, the palette and the bindings read this.

Each key has an id (for a key map of one's own), the key itself, the words for the key row and
a tooltip for help and palette. Letters are for screens without a text field; forms use Enter,
Tab, arrows, function keys and Ctrl.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from textual.binding import Binding, BindingType


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


_BACK = ("escape", "back", "Esc")
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
_UNITS = Key("units", "f9", "app.next_units", "F9", "units",
             "Show US units, or metric ones; what is stored stays", row=False)  # fmt: skip
_UNDO: tuple[Key, ...] = (
    Key("search", "slash", "app.search", "/", "search", "Find any pull by words and fields"),
    Key("undo", "u", "app.undo", "u", "undo", "Take back the last entry"),
    Key("redo", "U", "app.redo", "U", "redo", "Put back what was just taken back", row=False),
    Key("theme", "f12", "app.next_theme", "F12", "colors",
        "Go over to the next colors: terminal, dark, light, high contrast, color-blind safe",
        row=False),
    _UNITS,
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
    Key("form.back", *_BACK[:2], _BACK[2], "back", "Leave; what was typed is kept as a draft"),
)  # fmt: skip


def _form(save: str, tooltip: str, *more: Key) -> tuple[Key, ...]:
    """The keys of a form, with its own words for saving."""
    enter, save_key, *rest = _FORM
    own = Key(save_key.id, save_key.keys, save_key.action, save_key.face, save, tooltip)
    return (enter, own, *more, *rest)


def _page(place: str) -> tuple[Key, ...]:
    """The keys of a page that is scrolled through, with the way back to the cell."""
    *keys, back = _reading(place)
    keys = [key for key in keys if not key.id.endswith(".clip")]
    return (*keys, back._replace(tooltip="Back to the cell"))


def _reading(place: str) -> tuple[Key, ...]:
    """The keys of a screen that is only read."""
    return (
        Key(f"{place}.up", "up,k", "scroll(-1)", "↑", "up", "A line up"),
        Key(f"{place}.down", "down,j", "scroll(1)", "↓", "down", "A line down"),
        Key(f"{place}.page.up", "pageup,ctrl+u", "scroll(-12)", "PgUp", "page up", "A page up"),
        Key(f"{place}.page.down", "pagedown,ctrl+d", "scroll(12)", "PgDn", "page down",
            "A page down"),
        Key(f"{place}.clip", "y", "clip", "y", "copy text", "Copy what stands here as text",
            row=False),
        _UNITS,
        Key(f"{place}.back", *_BACK[:2], _BACK[2], "back", "Back to the session"),
    )  # fmt: skip


PLACES: Mapping[str, tuple[Key, ...]] = {
    "engines": (
        Key("engines.open", "enter", "open", "Enter", "session",
            "Go on with the engine's open session, or open one"),
        Key("engines.sheet", "s", "sheet", "s", "sheet",
            "The engine's sheet, sessions and builds"),
        Key("engines.add", "n", "add", "n", "new engine", "Enter an engine"),
        Key("engines.copy", "c", "copy", "c", "copy", "A new engine with this one's sheet"),
        Key("engines.cell", "d", "cell", "d", "cell",
            "Calibrations, safety list, standards, backups, the cell's sheet", row=False),
        Key("engines.fuels", "f", "fuels", "f", "fuels",
            "The fuels on file, and what another one asks of the jets", row=False),
        *_UNDO,
        Key("engines.quit", "q", "app.quit", "q", "quit", "Leave the logbook"),
    ),
    "sheet": (
        Key("sheet.open", "enter", "open", "Enter", "open", "Open the session chosen"),
        Key("sheet.session", "n", "new_session", "n", "new session", "Open a session"),
        Key("sheet.build", "b", "new_build", "b", "new build", "Enter the next build"),
        Key("sheet.parts", "p", "parts", "p", "parts",
            "What is in each build, and what differs from the build before"),
        Key("sheet.inspections", "i", "inspections", "i", "inspections",
            "Leak-down, cranking compression, lash, plugs, clearances"),
        Key("sheet.due", "d", "due", "d", "due",
            "What is due after so many pulls, minutes or days"),
        Key("sheet.edit", "e", "edit", "e", "edit sheet", "Correct the engine's sheet"),
        Key("sheet.checks", "m", "checks", "m", "measures",
            "The newest build's measures against their tolerances"),
        Key("sheet.compare", "c", "compare", "c", "compare",
            "Lay builds, sessions or sisters over each other"),
        Key("sheet.years", "h", "years", "h", "over the years",
            "Best power by build, blow-by, vacuum, oil pressure and leak-down with their limits"),
        *_UNDO,
        Key("sheet.back", *_BACK[:2], _BACK[2], "back", "Back to the engines"),
    ),
    "session": (
        Key("session.enter", "enter", "accept", "Enter", "peaks",
            "Log the trace that waits, or type a pull's peaks"),
        Key("session.more", "plus", "advance(1)", "+ −", "timing",
            "+: one degree more for the next pull"),
        Key("session.less", "minus,−", "advance(-1)", "−", "timing −1°",
            "One degree less for the next pull", row=False),
        Key("session.planned", "d", "planned", "d", "as planned",
            "Set the next pull up as the plan says"),
        Key("session.fuel", "f", "fuel", "f", "fuel", "Another fuel for the next pull"),
        Key("session.peaks", "p", "form", "p", "form",
            "The next pull's form: peaks, readings, set-up"),
        Key("session.file", "o", "file", "o", "trace", "Choose a trace file"),
        Key("session.air", "a", "air", "a", "air", "A new air reading"),
        Key("session.timing", "t", "timing", "t", "next timing?",
            "Which timing to pull next, within the engine's limit"),
        Key("session.large", "w", "large", "w", "large figures",
            "The answer as large as the screen, to be read across the cell", row=False),
        Key("session.clip", "y", "clip", "y", "copy text",
            "Copy the answer as text to the clipboard, over SSH too", row=False),
        Key("session.ledger", "l", "ledger", "l", "ledger",
            "What each step was worth, from the baseline to the last set-up"),
        Key("session.plan", "n", "plan", "n", "plan",
            "The plan: what to pull next and why, with the pulls made checked off"),
        Key("session.exclude", "x", "exclude", "x", "exclude",
            "Leave the pull out for a reason, or let it count again"),
        Key("session.compare", "c", "compare", "c", "compare", "Lay this pull over another"),
        Key("session.baseline", "b", "baseline", "b", "baseline",
            "Measure everything from this set-up's pulls"),
        Key("session.standard", "s", "standard", "s", "standard",
            "Change standard, band or what is worth having"),
        Key("session.report", "r", "report", "r", "report",
            "A page of this session to print or hand over", row=False),
        Key("session.correct", "e", "correct", "e", "correct pull",
            "Correct what was written for this pull; the old values are kept", row=False),
        Key("session.curve", "v", "curve", "v", "curves",
            "Difference curve, curves laid over each other, or both", row=False),
        Key("session.sheet", "i", "sheet", "i", "sheet", "The engine's sheet", row=False),
        Key("session.cell", "C", "cell", "C", "cell",
            "Calibrations, safety list, standards, backups of the cell", row=False),
        Key("session.close", "z", "close", "z", "close session",
            "Close the session, or open it again", row=False),
        Key("session.edges", "E", "edges", "E", "samples taken",
            "See which samples of the trace are the pull, and move its edges", row=False),
        Key("session.columns", "m", "columns", "m", "columns",
            "Say which column of the waiting trace is what, and in which unit", row=False),
        Key("session.drop", "delete", "drop", "Del", "drop",
            "Forget what is set for the next pull: changes and waiting trace", row=False),
        *_UNDO,
        Key("session.back", *_BACK[:2], _BACK[2], "engines", "Back to the engines", row=False),
    ),
    "pull form": _form(
        "log", "Log the pull",
        Key("form.unfold", "f2", "unfold", "F2", "all fields",
            "Show or fold away the fields that are carried forward"),
        Key("form.factor", "f3", "factor", "F3", "other factor",
            "Name another factor of the set-up"),
        Key("form.file", "ctrl+o", "file", "Ctrl+O", "trace file", "Choose a trace file"),
    ),
    "plan form": _form(
        "accept plan", "Accept the plan",
        Key("form.hard", "f6", "hard", "F6", "hard to change",
            "Mark the change in focus as hard to make: it is then made once"),
        Key("form.page.up", "pageup", "page(-8)", "PgUp", "page up", "Up in the plan", row=False),
        Key("form.page.down", "pagedown", "page(8)", "PgDn", "page down", "Down in the plan",
            row=False),
    ),
    "air": _form("take down", "Take down the reading"),
    "opening": _form("open session", "Open the session"),
    "engine": _form("save", "Save the engine's sheet"),
    "cell": _form("save", "Save the cell's sheet"),
    "standard": _form("save", "Change the session"),
    "correct": _form(
        "save", "Correct the pull",
        Key("correct.factor", "f3", "factor", "F3", "other factor",
            "Name a factor of the set-up that was not written down"),
    ),
    "fuel": _form("enter", "Enter the batch of fuel"),
    "calibration": _form("take down", "Take the calibration down"),
    "build": _form("save", "Enter the build"),
    "build correction": _form("save", "Correct the build"),
    "item": _form("save", "Save the item"),
    "inspection": _form("save", "Take the inspection down"),
    "clearance": _form("save", "Add the clearance"),
    "due mark": _form("save", "Set the mark"),
    "calibration correction": _form("save", "Correct the calibration"),
    "factor": _form("take", "Take the factor into the set-up"),
    "exclude": _form("exclude", "Leave the pull out"),
    "copy": _form("copy", "Make the copy"),
    "files": (
        Key("files.open", "enter", "choose", "Enter", "choose",
            "Take the file, or open the folder"),
        Key("files.up", "backspace,left", "up", "←", "folder above", "The folder above"),
        Key("files.newest", "n", "sort", "n", "by name", "Newest first, or by name"),
        Key("files.watch", "w", "watch", "w", "watch folder",
            "Watch this folder: files that land in it wait on the session to be logged"),
        Key("files.path", "slash", "path", "/", "type a path", "Type or paste a path"),
        Key("files.back", *_BACK[:2], _BACK[2], "back", "Back without a file"),
    ),
    "columns": (
        Key("columns.say", "enter", "say", "Enter", "what is it?",
            "Say what the chosen column is, and in which unit"),
        Key("columns.save", "s,ctrl+s", "save", "s", "remember",
            "Remember it for all files with this header"),
        _UNITS,
        Key("columns.back", *_BACK[:2], _BACK[2], "back", "Leave the columns as they were"),
    ),
    "edges": (
        Key("edges.take", "enter", "take", "Enter", "take", "Take these samples as the pull"),
        Key("edges.other", "tab", "other", "Tab", "other edge", "Move the other edge"),
        Key("edges.less", "left", "step(-1)", "← →", "1 sample", "One sample earlier"),
        Key("edges.more", "right", "step(1)", "→", "1 later", "One sample later", row=False),
        Key("edges.ten.less", "down", "step(-10)", "↓ ↑", "10", "Ten samples earlier"),
        Key("edges.ten.more", "up", "step(10)", "↑", "10 later", "Ten samples later", row=False),
        Key("edges.hundred.less", "pagedown", "step(-100)", "PgDn PgUp", "100",
            "A hundred samples earlier"),
        Key("edges.hundred.more", "pageup", "step(100)", "PgUp", "100 later",
            "A hundred samples later", row=False),
        Key("edges.look", "v", "look", "v", "closer",
            "The whole trace, or the samples around an edge"),
        Key("edges.reset", "delete", "reset", "Del", "as it was", "Both edges as they were"),
        _UNITS,
        Key("edges.back", *_BACK[:2], _BACK[2], "back", "Leave the edges as they were"),
    ),
    "edges why": _form("move", "Move the edges for this reason"),
    "history": (
        Key("history.open", "enter", "open", "Enter", "open", "Open the pull in its session"),
        Key("history.mark", "f2", "mark", "F2", "mark", "Mark a pull to compare"),
        Key("history.compare", "f3", "compare", "F3", "compare",
            "Lay the two marked pulls over each other"),
        Key("history.up", "up", "move(-1)", "↑", "up", "The pull above", row=False),
        Key("history.down", "down", "move(1)", "↓", "down", "The pull below", row=False),
        Key("history.page.up", "pageup", "page(-1)", "PgUp", "page up", "A page up", row=False),
        Key("history.page.down", "pagedown", "page(1)", "PgDn", "page down", "A page down",
            row=False),
        Key("history.clear", "f8", "clear", "F8", "clear", "Empty the search box", row=False),
        Key("history.back", *_BACK[:2], _BACK[2], "back", "Back to where you were"),
    ),
    "compare": (
        Key("compare.up", "up,k", "scroll(-1)", "↑", "up", "Up in the table", row=False),
        Key("compare.down", "down,j", "scroll(1)", "↓", "down", "Down in the table", row=False),
        Key("compare.swap", "w", "swap", "w", "swap", "Exchange the two pulls"),
        Key("compare.standard", "s", "standard", "s", "standard",
            "Reconcile to the next standard"),
        Key("compare.curve", "v", "curve", "v", "power",
            "The difference, the power curves, the torque curves"),
        _UNITS,
        Key("compare.back", *_BACK[:2], _BACK[2], "back", "Back"),
    ),
    "sides": (
        Key("sides.up", "up,k", "scroll(-1)", "↑", "up", "Up in the table", row=False),
        Key("sides.down", "down,j", "scroll(1)", "↓", "down", "Down in the table", row=False),
        Key("sides.page.up", "pageup,ctrl+u", "scroll(-12)", "PgUp", "page up",
            "A page up in the table", row=False),
        Key("sides.page.down", "pagedown,ctrl+d", "scroll(12)", "PgDn", "page down",
            "A page down in the table", row=False),
        Key("sides.swap", "w", "swap", "w", "swap", "Exchange the two sides"),
        Key("sides.standard", "s", "standard", "s", "standard", "Reconcile to the next standard"),
        Key("sides.curve", "v", "curve", "v", "curves",
            "The shares, the difference, the power curves, the torque curves"),
        Key("sides.assume", "a", "assume", "a", "assume",
            "Say how much a change that was never made alone can have brought"),
        Key("sides.clip", "y", "clip", "y", "copy text", "Copy the answer as text", row=False),
        _UNITS,
        Key("sides.back", *_BACK[:2], _BACK[2], "back", "Back"),
    ),
    "assume": _form("take", "Take these as assumed"),
    "large": (
        _UNITS,
        Key("large.colors", "f12", "app.next_theme", "F12", "colors", "Go over to the next colors"),
        Key("large.back", *_BACK[:2], _BACK[2], "back", "Back to the session"),
    ),
    "build sheet": (
        Key("build.edit", "enter", "open", "Enter", "correct", "Correct the item chosen"),
        Key("build.earlier", "left", "build(-1)", "←", "build before", "The build before"),
        Key("build.later", "right", "build(1)", "→", "build after", "The build after"),
        Key("build.item", "n", "new_item", "n", "new item", "Enter an item"),
        Key("build.drop", "delete", "drop", "Del", "take out", "Take the item out of the sheet",
            row=False),
        Key("build.checks", "m", "checks", "m", "measures",
            "This build's measures against their tolerances"),
        Key("build.new", "b", "new_build", "b", "new build",
            "Enter the next build, as a copy of the newest"),
        Key("build.correct", "e", "correct", "e", "label, date",
            "Correct the build's label, date or note"),
        Key("build.attach", "o", "attach", "o", "attach",
            "Attach a photo or any file to the build", row=False),
        *_UNDO,
        Key("build.back", *_BACK[:2], _BACK[2], "back", "Back to the engine's sheet"),
    ),
    "inspections": (
        Key("inspections.edit", "enter", "open", "Enter", "correct",
            "Correct the inspection chosen"),
        Key("inspections.new", "n", "new", "n", "new inspection", "Take an inspection down"),
        Key("inspections.clearance", "c", "clearance", "c", "add clearance",
            "Add a clearance, measured against its limit, to the inspection chosen"),
        *_UNDO,
        Key("inspections.back", *_BACK[:2], _BACK[2], "back", "Back to the engine's sheet"),
    ),
    "due": (
        Key("due.done", "enter", "open", "Enter", "done", "It was done: count anew"),
        Key("due.new", "n", "new", "n", "new mark", "Set a mark"),
        Key("due.edit", "e", "edit", "e", "other limits", "Change the limits of the mark chosen"),
        Key("due.drop", "delete", "drop", "Del", "take away", "Take the mark away"),
        *_UNDO,
        Key("due.back", *_BACK[:2], _BACK[2], "back", "Back to the engine's sheet"),
    ),
    "cell sheet": (
        Key("cell.new", "n", "new", "n", "new calibration", "Take a calibration down"),
        Key("cell.change", "enter", "open", "Enter", "correct",
            "Correct tolerance, due day or note of the calibration chosen"),
        Key("cell.picture", "v", "picture", "v", "other picture",
            "What is left over of the line, of the parabola, of the reference", row=False),
        Key("cell.safety", "s", "safety", "s", "safety list", "The safety list, to check off"),
        Key("cell.standards", "l", "standards", "l", "standards",
            "Every standard with its air, formula and range, and what is refused"),
        Key("cell.backups", "b", "backups", "b", "backups", "The automatic backups"),
        Key("cell.before", "left", "cell(-1)", "←", "other cell", "The cell before", row=False),
        Key("cell.after", "right", "cell(1)", "→", "other cell", "The cell after"),
        Key("cell.edit", "e", "edit", "e", "edit sheet", "Correct the cell's sheet"),
        Key("cell.add", "c", "add", "c", "new cell", "Enter another cell", row=False),
        Key("cell.drop", "delete", "drop", "Del", "take out", "Take the calibration chosen out",
            row=False),
        *_UNDO,
        Key("cell.back", *_BACK[:2], _BACK[2], "back", "Back"),
    ),
    "safety": (
        Key("safety.tick", "enter,space", "open", "Enter", "tick",
            "Check the line chosen, or take its mark away"),
        Key("safety.all", "a", "all", "a", "check all", "Everything was looked at"),
        *_UNDO,
        Key("safety.back", *_BACK[:2], _BACK[2], "back", "Back to the cell"),
    ),
    "standards": _page("standards"),
    "backups": _page("backups"),
    "checks": (
        Key("checks.earlier", "left", "build(-1)", "←", "build before", "The build before"),
        Key("checks.later", "right", "build(1)", "→", "build after", "The build after"),
        Key("checks.up", "up", "move(-1)", "↑", "up", "The measure above", row=False),
        Key("checks.down", "down", "move(1)", "↓", "down", "The measure below", row=False),
        *_UNDO,
        Key("checks.back", *_BACK[:2], _BACK[2], "back", "Back to the sheet"),
    ),
    "fuels": (
        Key("fuels.mark", "enter", "mark", "Enter", "compare from",
            "This fuel is in the tank: the next one chosen is compared with it"),
        Key("fuels.add", "n", "add", "n", "new fuel", "Enter a batch of fuel"),
        Key("fuels.up", "up", "move(-1)", "↑", "up", "The fuel above", row=False),
        Key("fuels.down", "down", "move(1)", "↓", "down", "The fuel below", row=False),
        *_UNDO,
        Key("fuels.back", *_BACK[:2], _BACK[2], "back", "Back to the engines"),
    ),
    "years": (
        Key("years.up", "up", "move(-1)", "↑", "up", "The measure above"),
        Key("years.down", "down", "move(1)", "↓", "down", "The measure below"),
        *_UNDO,
        Key("years.back", *_BACK[:2], _BACK[2], "back", "Back to the engine's sheet"),
    ),
    "timing": _reading("timing"),
    "ledger": _reading("ledger"),
    "plan": (
        Key("plan.take", "enter", "take", "Enter", "set up next",
            "Set the next pull up as planned, and go back to the session"),
        Key("plan.other", "n", "other", "n", "other plan", "Change the plan, or make another"),
        Key("plan.withdraw", "delete", "withdraw", "Del", "withdraw",
            "Take the plan out of the session"),
        *_reading("plan"),
        *_UNDO[1:3],
    ),
    "chooser": (
        Key("chooser.take", "enter", "take", "Enter", "take", "Take the line chosen"),
        *(Key(f"chooser.{n}", str(n), f"digit({n})", "1–9" if n == 1 else str(n), "take at once",
              f"Take line {n}", row=n == 1) for n in range(1, 10)),
        Key("chooser.back", *_BACK[:2], _BACK[2], "back", "Back without a choice"),
    ),
    "confirm": (
        Key("confirm.yes", "enter", "yes", "Enter", "yes", "Do it"),
        Key("confirm.no", *_BACK[:2], _BACK[2], "no", "Leave it as it is"),
    ),
    "first run": (
        Key("first.demo", "d", "demo", "d", "demo", "Build and open the demo logbook"),
        Key("first.engine", "n", "engine", "n", "first engine", "Enter the first engine"),
        Key("first.next", "enter,right,space", "turn(1)", "Enter", "next page", "The next page"),
        Key("first.before", "left,backspace", "turn(-1)", "←", "page before", "The page before"),
        Key("first.quit", "q", "app.quit", "q", "quit", "Leave the logbook"),
    ),
    "jump": (
        Key("jump.back", *_BACK[:2], _BACK[2], "back", "Leave without a jump"),
    ),
    "help": (
        Key("help.back", "escape,enter,q", "back", "Esc", "back", "Close the help"),
    ),
}  # fmt: skip


# Where nothing is typed, every key acts at once and in order: what is typed right after one that
# opens a form goes into the form.
_LISTS = frozenset(
    {
        "session",
        "engines",
        "sheet",
        "columns",
        "build sheet",
        "inspections",
        "due",
        "cell sheet",
        "safety",
    }
)
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


def keys_of(place: str) -> tuple[Key, ...]:
    """The keys of a place, its own first. Where something is typed, ? is typed too: the key of
    the help that always works is named there."""
    own = _own(place)
    if any(key.id.startswith(("form.", "history.")) for key in own):
        return (*own, *(key._replace(face="F1") if key.id == "help" else key for key in SHARED))
    return (*own, *SHARED)


def _own(place: str) -> tuple[Key, ...]:
    if place not in _LISTS:
        return PLACES[place]
    return tuple(key._replace(at_once=True) for key in (*PLACES[place], *_MOVES))


def bindings(place: str) -> list[BindingType]:
    """The bindings of a place's screen."""
    return [key.binding() for key in _own(place)]


def shared_bindings() -> list[BindingType]:
    """The bindings of the app itself."""
    return [key.binding() for key in SHARED]
