"""The keys of small boxes: choices, questions, help."""

from __future__ import annotations

from collections.abc import Mapping

from logbook.app.keys.key import BACK, Key

PLACES: Mapping[str, tuple[Key, ...]] = {
    "chooser": (
        Key("chooser.take", "enter", "take", "Enter", "take", "Take the line chosen"),
        *(Key(f"chooser.{n}", str(n), f"digit({n})", "1–9" if n == 1 else str(n), "take at once",
              f"Take line {n}", row=n == 1) for n in range(1, 10)),
        Key("chooser.back", *BACK[:2], BACK[2], "back", "Back without a choice"),
    ),
    "confirm": (
        Key("confirm.yes", "enter", "yes", "Enter", "yes", "Do it"),
        Key("confirm.no", *BACK[:2], BACK[2], "no", "Leave it as it is"),
    ),
    "first run": (
        Key("first.demo", "d", "demo", "d", "demo", "Build and open the demo logbook"),
        Key("first.engine", "n", "engine", "n", "first engine", "Enter the first engine"),
        Key("first.next", "enter,right,space", "turn(1)", "Enter", "next page", "The next page"),
        Key("first.before", "left,backspace", "turn(-1)", "←", "page before", "The page before"),
        Key("first.quit", "q", "app.quit", "q", "quit", "Leave the logbook"),
    ),
    "jump": (
        Key("jump.back", *BACK[:2], BACK[2], "back", "Leave without a jump"),
    ),
    "help": (
        Key("help.back", "escape,enter,q", "back", "Esc", "back", "Close the help"),
    ),
}  # fmt: skip
