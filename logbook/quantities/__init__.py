"""Typed text ↔ stored numbers ↔ the user's display units.

A small grammar of its own reads number + listed unit; nothing typed is ever handed to an
expression parser. Common units carry their exact factor; the others are converted by pint,
which is loaded only when one of them turns up.
"""

from __future__ import annotations

from logbook.quantities.convert import from_stored, linear, to_stored
from logbook.quantities.display import display_unit, show
from logbook.quantities.kinds import KINDS, stored_unit
from logbook.quantities.spelling import known_unit
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
