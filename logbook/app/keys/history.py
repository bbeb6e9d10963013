"""The keys of finding pulls again and laying them over each other."""

from __future__ import annotations

from collections.abc import Mapping

from logbook.app.keys.key import BACK, UNITS, Key, form

PLACES: Mapping[str, tuple[Key, ...]] = {
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
        Key("history.back", *BACK[:2], BACK[2], "back", "Back to where you were"),
    ),
    "compare": (
        Key("compare.up", "up,k", "scroll(-1)", "↑", "up", "Up in the table", row=False),
        Key("compare.down", "down,j", "scroll(1)", "↓", "down", "Down in the table", row=False),
        Key("compare.swap", "w", "swap", "w", "swap", "Exchange the two pulls"),
        Key("compare.standard", "s", "standard", "s", "standard",
            "Reconcile to the next standard"),
        Key("compare.curve", "v", "curve", "v", "power",
            "The difference, the power curves, the torque curves"),
        UNITS,
        Key("compare.back", *BACK[:2], BACK[2], "back", "Back"),
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
        UNITS,
        Key("sides.back", *BACK[:2], BACK[2], "back", "Back"),
    ),
    "assume": form("take", "Take these as assumed"),
}  # fmt: skip
