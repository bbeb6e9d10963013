"""What stands in one item of a build: a value, one for each cylinder, a tolerance, in one unit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from logbook import quantities
from logbook.cases.fields import LONGEST_NOTE, LONGEST_WORD, level_of
from logbook.cases.splitting import split_list, split_range
from logbook.quantities.numbers import split_number
from logbook.records.build_item import DONE
from logbook.records.setup import Level
from logbook.refusals import BadInput

VALUE, PER_CYLINDER, TOLERANCE = "value", "per-cylinder", "tolerance"
DONE_KEY, NOTE = "done", "note"
KEYS = (VALUE, PER_CYLINDER, TOLERANCE, DONE_KEY, NOTE)
LABELS: Mapping[str, str] = {
    VALUE: "Value",
    PER_CYLINDER: "Per cylinder",
    TOLERANCE: "Tolerance",
    DONE_KEY: "What was done",
    NOTE: "Note",
}
_SAYS_UNIT = re.compile(r"[^\W\d_eE]|[%°\"]")
_TEXT, _EACH, _LIMITS = "text", "per_cylinder", "tolerance"


def item_attributes(
    given: Mapping[str, str], before: Mapping[str, str], cylinders: int | None
) -> dict[str, Any]:
    """The attributes of an item, from the texts that stand in it now.

    `given` has keys of `KEYS`, an empty text empties; `before` are the texts typed so far, by
    attribute. Value, cylinders and tolerance share one unit: a bare number takes the one that is
    typed beside it. Raises `BadInput`.
    """
    values = _of_person(given)
    texts = dict(before)
    for key, attribute in ((VALUE, _TEXT), (PER_CYLINDER, _EACH), (TOLERANCE, _LIMITS)):
        if key in given:
            texts[attribute] = " ".join(given[key].split())
    texts = {attribute: text for attribute, text in texts.items() if text}
    level = level_of(texts[_TEXT]) if _TEXT in texts else Level("")
    if len(level.text) > LONGEST_WORD:
        raise BadInput("too long for a value", where=LABELS[VALUE],
                       wanted=f"at most {LONGEST_WORD} characters, the rest as a note")  # fmt: skip
    units = _Units(level)
    each = _each(texts.get(_EACH, ""), units, cylinders)
    low, high = _limits(texts.get(_LIMITS, ""), units)
    for attribute in (_EACH, _LIMITS):
        # A text says its unit itself, whatever becomes of the one beside it.
        if units.typed and attribute in texts and not _says_unit(texts[attribute]):
            texts[attribute] += f" {units.typed}"
    if low is not None and high is not None and low > high:
        raise BadInput("the low end is above the high end", where=LABELS[TOLERANCE])
    return {
        **values,
        "text": level.text,
        "number": level.number,
        "unit": units.stored,
        "per_cylinder": each,
        "low": low,
        "high": high,
        "typed": texts,
    }


def _of_person(given: Mapping[str, str]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    if DONE_KEY in given:
        done = given[DONE_KEY].strip().casefold()
        if done and done not in DONE:
            raise BadInput(f"{given[DONE_KEY][:40]!r} is not one of the choices",
                           where=LABELS[DONE_KEY], wanted="one of " + ", ".join(DONE))  # fmt: skip
        values["done"] = done
    if NOTE in given:
        if len(given[NOTE]) > LONGEST_NOTE:
            raise BadInput("too long for a note", where=LABELS[NOTE])
        values["notes"] = given[NOTE].strip()
    return values


class _Units:
    """The unit that an item's numbers share, found in the first of them that brings one."""

    def __init__(self, level: Level) -> None:
        self.stored: str | None = level.unit
        self._kind: str | None = None
        self.typed: str | None = None
        self._open = level.number is None
        if level.unit is not None:
            self._take(split_number(level.text, field="", wanted="")[1])

    def read(self, text: str, where: str) -> float:
        """One number of the item, stored."""
        number, unit = split_number(text, field=where, wanted="a number, with its unit")
        if not unit and self.typed is None:
            self._open = False
            return number
        if self.typed is None and self._open:
            self._take(unit)
        if self._kind is None:
            raise BadInput(
                f"{text[:40]!r} has a unit and the rest of the item has none"
                if not self._open
                else f"{unit[:20]!r} is not a unit the logbook knows",
                where=where,
                wanted="the same unit for all numbers of an item",
            )
        return quantities.parse(text, self._kind, field=where, bare_unit=self.typed).value

    def _take(self, unit: str) -> None:
        known = quantities.known_unit(unit)
        if known is not None:
            self.typed, self._kind = known
            self.stored = quantities.stored_unit(known[1])


def _each(text: str, units: _Units, cylinders: int | None) -> tuple[float | None, ...]:
    if not text:
        return ()
    where = LABELS[PER_CYLINDER]
    values, _ = split_list(text, where=where, example="0.35 0.36 - 0.35 mm")
    if cylinders is not None and len(values) != cylinders:
        raise BadInput(
            f"{len(values)} values for {cylinders} cylinders",
            where=where,
            wanted="one for each, with - for what was not measured",
        )
    # From the end, where the unit stands.
    read = [None if value is None else units.read(value, where) for value in reversed(values)]
    return tuple(reversed(read))


def _limits(text: str, units: _Units) -> tuple[float | None, float | None]:
    if not text:
        return None, None
    where = LABELS[TOLERANCE]
    low, high = split_range(text, where=where)
    top = units.read(high, where) if high else None
    return (units.read(low, where) if low else None), top


def _says_unit(text: str) -> bool:
    """``0.30 to 0.40`` does not, though it has letters."""
    return _SAYS_UNIT.search(text.replace(" to ", "..")) is not None
