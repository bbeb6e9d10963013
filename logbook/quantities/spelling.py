"""Finding a listed unit by any of the ways people write it."""

from __future__ import annotations

import re
import unicodedata

from logbook.quantities.kinds import FIRST_KIND, KINDS
from logbook.quantities.units import UNITS, Unit

_MARKS = str.maketrans({"º": "°", "˚": "°", "″": '"', "“": '"', "”": '"', "’": "'"})
_JOINTS = re.compile(r"[\s·⋅∙•*_.^()\-−‐‑–]")


def spelling_key(text: str) -> str:
    """A unit as typed, without the differences that do not count: ``lb-ft`` is ``lb·ft``.

    Case, blanks, dots, hyphens, brackets and superscripts fall away; a solidus stays.
    """
    plain = unicodedata.normalize("NFKC", text.translate(_MARKS))
    return _JOINTS.sub("", plain).casefold()


def _by_spelling() -> dict[str, tuple[Unit, ...]]:
    found: dict[str, tuple[Unit, ...]] = {}
    for unit in UNITS:
        for key in {spelling_key(word) for word in (unit.label, *unit.spellings)}:
            found[key] = (*found.get(key, ()), unit)
    return found


_SPELLINGS = _by_spelling()


def spelled(text: str) -> tuple[Unit, ...]:
    """Every listed unit that is written so; empty where there is none."""
    return _SPELLINGS.get(spelling_key(text), ())


def find_unit(text: str, kind: str) -> Unit | None:
    """The unit of this kind that is written so, or ``None``."""
    dimension = KINDS[kind].dimension
    return next((unit for unit in spelled(text) if unit.dimension == dimension), None)


def units_of(kind: str) -> tuple[str, ...]:
    """The labels of the units that a kind may be typed in."""
    dimension = KINDS[kind].dimension
    return tuple(unit.label for unit in UNITS if unit.dimension == dimension and unit.label)


def words_of(unit: Unit) -> str:
    """What a unit measures, with its article: ``"a torque"``."""
    return KINDS[FIRST_KIND[unit.dimension]].words


def known_unit(text: str) -> tuple[str, str] | None:
    """Canonical unit and kind of a unit text such as ``"lb-ft"``, ``"°F"`` or ``"1/min"``.

    Where kinds share a unit the commonest is given: a pressure rather than a vacuum, a length
    rather than an altitude, a temperature rather than a difference. `None` for no listed unit;
    a bare ``%`` is a ``"fraction"``.
    """
    if not text.strip():
        return None
    units = spelled(text)
    if not units or not units[0].label:
        return None
    unit = units[0]
    return unit.label, "fraction" if unit.label == "%" else FIRST_KIND[unit.dimension]
