"""Typed text ↔ stored numbers ↔ the user's display units.

A small grammar of its own reads number + listed unit; nothing typed is ever handed to an
expression parser. Common units carry their exact factor; the others are converted by pint,
which is loaded only when one of them turns up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from logbook.quantities.convert import from_stored, linear, to_stored
from logbook.quantities.display import display_unit, show
from logbook.quantities.kinds import KINDS, stored_unit
from logbook.quantities.spelling import known_unit

if TYPE_CHECKING:
    from logbook.quantities.typed import Measured, parse

__all__ = [
    "KINDS",
    "Measured",
    "display_unit",
    "from_stored",
    "known_unit",
    "linear",
    "parse",
    "show",
    "stored_unit",
    "to_stored",
]


def __getattr__(name: str) -> Any:
    """What reads typed text is loaded when something is typed: the first screen only shows."""
    if name not in ("Measured", "parse"):
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from logbook.quantities import typed

    return getattr(typed, name)
