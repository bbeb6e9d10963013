"""The keys of the first screen and of an engine's sheet."""

from __future__ import annotations

from collections.abc import Mapping

from logbook.app.keys.key import BACK, UNDO, Key, as_list

PLACES: Mapping[str, tuple[Key, ...]] = {
    "engines": as_list(
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
        *UNDO,
        Key("engines.quit", "q", "app.quit", "q", "quit", "Leave the logbook"),
    ),
    "sheet": as_list(
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
        Key("sheet.attached", "o", "attached", "o", "attached files",
            "Photos and other files attached to the engine; attach another", row=False),
        Key("sheet.years", "h", "years", "h", "over the years",
            "Best power by build, blow-by, vacuum, oil pressure and leak-down with their limits"),
        *UNDO,
        Key("sheet.back", *BACK[:2], BACK[2], "back", "Back to the engines"),
    ),
}  # fmt: skip
