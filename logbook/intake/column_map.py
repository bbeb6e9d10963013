"""Columns named by a person: which column of a source is which quantity, and in what unit.

Asked once for a kind of file (its signature) and remembered: ``{"torque": "TQ [lb-ft]"}``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from logbook.intake.columns import Column, describe
from logbook.intake.text import quoted
from logbook.intake.unsettled import own_names
from logbook.intake.wheel import WHEEL, unit_factor
from logbook.intake.words import KIND_OF
from logbook.refusals import BadFile, BadInput

ColumnMap = Mapping[str, str]
# Gives what is known of files with a signature, an empty map for nothing.
ColumnMaps = Callable[[str], ColumnMap]

FIRST = -1  # before any rank that a name earns by itself
_ALIASES = {"speed": "engine speed", "rpm": "engine speed"}
_PRESSURES = {"vacuum": "pressure", "percent": "fraction"}


def read_column(text: str) -> tuple[str, str]:
    """``torque=TQ [lb-ft]`` → ("torque", "TQ [lb-ft]").

    Raises `BadInput` for a quantity that is not known, or a unit that is not its own.
    """
    name, equals, column = text.partition("=")
    quantity = " ".join(name.replace("_", " ").split()).casefold()
    quantity = _ALIASES.get(quantity, quantity)
    column = " ".join(column.split())
    if not (equals and column):
        raise BadInput(f"{text[:60]!r} is not QUANTITY=COLUMN", where="Column",
                       wanted="such as 'torque=TQ [lb-ft]'")  # fmt: skip
    if quantity not in KIND_OF and quantity not in WHEEL:
        known = ", ".join((*KIND_OF, *WHEEL))
        raise BadInput(f"{name.strip()[:40]!r} is no quantity a column can be", where="Column",
                       wanted=f"one of {known}")  # fmt: skip
    described = describe(column)
    if described.unit and not _fits(quantity, described):
        raise BadInput(
            f"{quoted(described.unit)} is no unit of {quantity}",
            where="Column",
            wanted="the unit that the file's numbers are in, such as 'torque=TQ [lb-ft]'",
        )
    return quantity, column


def apply_map(columns: Sequence[Column], given: ColumnMap, *, where: str) -> tuple[Column, ...]:
    """The columns of a header with what a person has said about them.

    A named column goes before every other one of its quantity. Raises `BadFile` (`where` names
    file and header line) for a column the file does not have.
    """
    named = list(columns)
    for quantity, text in given.items():
        described = describe(text)
        at = _find(columns, text, described)
        if at is None:
            listed = ", ".join(column.quoted for column in columns[:12] if column.name)
            raise BadFile(f"there is no column {quoted(text)} for {quantity};"
                          f" the columns are {listed}", where=where,
                          wanted="the name as it stands in the header")  # fmt: skip
        own = columns[at]
        unit = described if described.unit else own
        named[at] = replace(
            own,
            unit=unit.unit,
            kind=unit.kind,
            quantity=quantity,
            meant=quantity,
            rank=FIRST,
            corrected=False,
        )
    return tuple(named)


def _find(columns: Sequence[Column], text: str, described: Column) -> int | None:
    names = [name.casefold() for name in own_names(columns)]
    for wanted in (text.casefold(), described.name.casefold()):
        if wanted in names:
            return names.index(wanted)
    return None


def _fits(quantity: str, column: Column) -> bool:
    if quantity in WHEEL:
        return unit_factor(quantity, column.unit) is not None
    wanted = KIND_OF[quantity]
    return column.kind == _PRESSURES.get(wanted, wanted)
