"""One header cell → name, unit and the quantity it stands for.

Units are written in brackets of any kind, after a comma or a solidus, at the end of the name
after an underscore or a blank, in a row of their own, or they are all there is of the name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from logbook.intake.text import visible
from logbook.intake.words import KIND_OF, Meaning, meaning
from logbook.quantities import known_unit

LONGEST_NAME = 120

# What headers write and no list of units has.
_MORE_UNITS = {
    "u/min": "rpm",
    "upm": "rpm",
    "tr/min": "rpm",
    "min-1": "rpm",
    "whp": "hp",
    "rwhp": "hp",
    "wkw": "kW",
}
_NO_UNIT = frozenset({"-", "–", "—", "--", "---", "1", "none", "n/a", "null"})

_BRACKETS = re.compile(r"\[([^\[\]]*)\]|\(([^()]*)\)|\{([^{}]*)\}|<([^<>]*)>")
_ENDS = re.compile(r"[\s_\-]+")
# Only these kinds of unit are split off the end of a name that says nothing by itself.
_TELLING = frozenset(
    {"pressure", "temperature", "torque", "power", "speed", "mass_flow", "volume_flow"}
)
_BARE = {"speed": "engine speed", "torque": "torque", "power": "power", "time": "time"}


@dataclass(frozen=True, slots=True)
class Column:
    """What a header says of one column.

    `unit` is the canonical unit where `kind` is known, else as written (``""`` for none).
    `quantity` is set only where the unit, if there is one, fits it; `meant` is what the words
    alone say. `rank` orders several columns of one quantity, 0 first.
    """

    name: str
    unit: str
    kind: str | None
    quantity: str | None
    meant: str | None
    rank: int
    corrected: bool

    @property
    def shown(self) -> str:
        """Name and unit, safe to print."""
        name = visible(self.name)
        named_by_unit = (unit_of(self.name) or ("",))[0] == self.unit
        return name if named_by_unit or not self.unit else f"{name} [{visible(self.unit, 20)}]"

    @property
    def quoted(self) -> str:
        """Name and unit in quotation marks, safe to print."""
        return f'"{self.shown}"'


def unit_of(text: str) -> tuple[str, str] | None:
    """Canonical unit and kind of a header's unit text, as `known_unit`, with a few more."""
    text = text.strip()
    if len(text) > 40:
        return None
    return known_unit(_MORE_UNITS.get(text.casefold(), text))


def is_unit(cell: str) -> bool:
    """Whether a cell of a units row is a unit, bracketed or not, or says that there is none."""
    text = _unwrapped(cell)
    return text.casefold() in _NO_UNIT or unit_of(text) is not None


@lru_cache(maxsize=4096)
def describe(cell: str, unit_cell: str = "") -> Column:
    """The column that a header cell, and the cell of the units row below it, describe."""
    cell = " ".join(cell.split())
    unit_text = _unwrapped(unit_cell)
    if unit_text:
        return _column(cell, "" if unit_text.casefold() in _NO_UNIT else unit_text)
    whole = unit_of(cell)
    if whole is not None and whole[1] in _BARE:
        return _column(cell, cell, quantity=_BARE[whole[1]])
    kept: Column | None = None
    for name, text, place in _splits(cell):
        column = _column(name, text)
        if column.quantity is not None:
            return column
        telling = place == "end" and column.kind in _TELLING and len(text) > 1
        if kept is None and (place == "marked" or telling):
            kept = column
    return kept or _column(cell, "")


def _column(name: str, unit_text: str, quantity: str | None = None) -> Column:
    unit = unit_of(unit_text)
    kind = unit[1] if unit else None
    said = Meaning((quantity,)) if quantity else meaning(name, kind)
    fitting = [q for q in said.quantities if _fits(q, kind, unit_text)]
    return Column(
        name=visible(name, LONGEST_NAME),
        unit=unit[0] if unit else visible(unit_text),
        kind=kind,
        quantity=fitting[0] if fitting else None,
        meant=said.quantities[0] if said.quantities else None,
        rank=said.rank,
        corrected=said.corrected,
    )


def _fits(quantity: str, kind: str | None, unit_text: str) -> bool:
    if kind is None:
        return not unit_text
    wanted = KIND_OF[quantity]
    return kind == {"vacuum": "pressure", "percent": "fraction"}.get(wanted, wanted)


def _splits(cell: str) -> Iterator[tuple[str, str, str]]:
    """Ways to part a header cell into name, unit and the unit's place.

    The place is ``"marked"`` (brackets, comma …), ``"end"`` (the last word) or ``"inside"``
    (a guess, good only where the rest of the name then says what it is).
    """
    for group in reversed(list(_BRACKETS.finditer(cell))):
        content = next(part for part in group.groups() if part is not None).strip()
        name = " ".join((cell[: group.start()] + " " + cell[group.end() :]).split())
        if not name:
            continue
        if content.casefold() in _NO_UNIT:
            yield name, "", "marked"
        elif unit_of(content) is not None or (group[0][0] == "[" and content):
            yield name, content, "marked"
    for mark in (",", ";", " / ", ": ", "=", " in "):
        name, _, text = cell.partition(mark)
        if name.strip() and unit_of(text) is not None:
            yield name.strip(), text.strip(), "marked"
    gaps = list(_ENDS.finditer(cell))
    for gap in gaps[-3:]:
        name, text = cell[: gap.start()], cell[gap.end() :]
        for spelling in (text, text.replace("_", "/"), text.replace(" ", "/")):
            if name and unit_of(spelling) is not None:
                yield name, spelling, "end"
                break
    name, _, text = cell.partition("/")
    if name.strip() and unit_of(text) is not None:
        yield name.strip(), text.strip(), "inside"
    for gap, after in pairwise(gaps):
        text = cell[gap.end() : after.start()]
        if unit_of(text) is not None:
            yield cell[: gap.start()] + cell[after.start() :], text, "inside"
    for step in range(1, min(len(cell), 8)):  # run together, as in TorqueNm
        name, text = cell[:-step], cell[-step:]
        if text[0].isupper() and name[-1].islower() and unit_of(text) is not None:
            yield name, text, "inside"


def _unwrapped(cell: str) -> str:
    """A units-row cell without its brackets."""
    text = " ".join(cell.split())
    while len(text) > 2 and (text[0], text[-1]) in {("[", "]"), ("(", ")"), ("{", "}"), ("<", ">")}:
        text = text[1:-1].strip()
    return text
