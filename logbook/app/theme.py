"""Colors with one meaning each, taken from the terminal or from a theme.

The default theme uses the terminal's own sixteen colors and background, so that light and
dark terminals, 16-color consoles and ``NO_COLOR`` all come out right. A role is a meaning
(``"gain"``, ``"caution"`` …), never a color; whatever carries one also carries a sign or word.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from rich.style import Style
from textual.color import Color
from textual.theme import Theme

if TYPE_CHECKING:
    from typing import Any

    from textual.app import App

TERMINAL = "terminal"
THEMES = (
    Theme(
        name=TERMINAL,
        ansi=True,
        primary="ansi_blue",
        secondary="ansi_cyan",
        warning="ansi_yellow",
        error="ansi_red",
        success="ansi_green",
        accent="ansi_magenta",
        foreground="ansi_default",
        background="ansi_default",
        surface="ansi_default",
        panel="ansi_default",
        boost="ansi_default",
        variables={
            "block-cursor-foreground": "ansi_default",
            "block-cursor-background": "ansi_default",
            "block-cursor-text-style": "reverse",
            "ansi-background": "ansi_default",
            "ansi-foreground": "ansi_default",
            "border": "ansi_default",
            "border-blurred": "ansi_default",
            "scrollbar": "ansi_default",
            "scrollbar-hover": "ansi_default",
            "scrollbar-active": "ansi_default",
            "scrollbar-background": "ansi_default",
            "scrollbar-background-hover": "ansi_default",
            "scrollbar-background-active": "ansi_default",
            "screen-selection-foreground": "ansi_default",
        },
    ),
    Theme(
        name="slate",
        primary="#7aa7d9",
        secondary="#63c5cf",
        warning="#e6b450",
        error="#ef6f6c",
        success="#6cc070",
        accent="#c39ae0",
        foreground="#e4e6ea",
        background="#14171c",
        surface="#1b1f26",
        panel="#232830",
    ),
    Theme(
        name="paper",
        primary="#1f5fa8",
        secondary="#0b7580",
        warning="#8a5a00",
        error="#b3261e",
        success="#1c7430",
        accent="#7a3e9d",
        foreground="#1c1c1a",
        background="#faf8f3",
        surface="#f1eee6",
        panel="#e6e2d8",
        dark=False,
    ),
    Theme(
        name="contrast",
        primary="#ffffff",
        secondary="#5ff5ff",
        warning="#ffe600",
        error="#ff6b6b",
        success="#5dff6f",
        accent="#ffb3ff",
        foreground="#ffffff",
        background="#000000",
        surface="#000000",
        panel="#303030",
    ),
    # Blue for gain and vermilion for loss are told apart with any color vision.
    # Okabe & Ito, Color Universal Design (2008).
    Theme(
        name="safe",
        primary="#8fbfe0",
        secondary="#cc79a7",
        warning="#f0e442",
        error="#e66100",
        success="#56b4e9",
        accent="#e69f00",
        foreground="#f0f0f0",
        background="#101214",
        surface="#181b1f",
        panel="#25292f",
    ),
)

# What a role looks like: a theme color, and the text attributes that stay under NO_COLOR.
_ROLES: dict[str, tuple[str | None, Style]] = {
    "": (None, Style.null()),
    "gain": ("success", Style(bold=True)),
    "loss": ("error", Style(bold=True)),
    "unsettled": ("secondary", Style(bold=True)),
    "nothing": (None, Style(bold=True)),
    "caution": ("warning", Style(bold=True)),
    "error": ("error", Style(bold=True)),
    "strong": (None, Style(bold=True)),
    "quiet": (None, Style(dim=True)),
    "accent": ("primary", Style(bold=True)),
    "key": (None, Style(bold=True, reverse=True)),
    "curve": (None, Style(bold=True)),
    "other": ("primary", Style()),
    "changed": ("accent", Style(bold=True)),
}
ROLES = tuple(_ROLES)


def install(app: App[Any], wanted: str = TERMINAL) -> tuple[str, ...]:
    """Make the themes known to the app and choose one; a sentence where there is none such."""
    for theme in THEMES:
        app.register_theme(theme)
    names = [theme.name for theme in THEMES]
    app.theme = wanted if wanted in names else TERMINAL
    if wanted in names:
        return ()
    return (f"There are no colors named {wanted!r}; known are {', '.join(names)}.",)


@lru_cache(maxsize=256)
def _style(role: str, color: str | None) -> Style:
    attributes = _ROLES[role][1]
    if color is None:
        return attributes
    return attributes + Style(color=Color.parse(color).rich_color)


def ink(app: App[Any], role: str) -> Style:
    """The style of a role under the app's present theme."""
    variable = _ROLES[role][0]
    return _style(role, app.theme_variables[variable] if variable else None)
