"""Columns that a header does not explain: what there is to show somebody who can say it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

from logbook.intake.columns import Column
from logbook.intake.text import visible
from logbook.intake.wheel import WHEEL, is_wheel
from logbook.intake.words import KIND_OF
from logbook.refusals import BadFile

FIRST_VALUES = 3
_OF_A_PULL = ("engine speed", "torque", "power")


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """One column as a person sees it: `name` is what it is named by in a column map, and no
    other column has it; `first` are its first values as the file has them; `quantity` is what it
    is taken for, ``""`` where nobody knows."""

    name: str
    unit: str
    quantity: str
    first: tuple[str, ...]


class UnsettledColumns(BadFile):
    """A table that could be a pull if somebody said what its columns are, or their units.

    `signature` and `columns` are there once the file is known that it stands in.
    """

    signature: str = ""
    columns: tuple[ShownColumn, ...] = ()

    @property
    def worth_asking(self) -> bool:
        """Whether anything in the file speaks of a pull: else it is some other table."""
        return any(column.quantity in (*_OF_A_PULL, *WHEEL) for column in self.columns)


def unsettled(
    refusal: BadFile, signature: str, columns: tuple[ShownColumn, ...]
) -> UnsettledColumns:
    """The refusal of a file of this kind, with its columns to be asked about."""
    asked = UnsettledColumns(refusal.what, where=refusal.where, wanted=refusal.wanted)
    asked.signature, asked.columns = signature, columns
    return asked


def own_names(columns: Sequence[Column]) -> tuple[str, ...]:
    """A name for each column that no other has: ``Torque``, ``Torque (2)``, ``column 7``."""
    seen: Counter[str] = Counter()
    names = []
    for at, column in enumerate(columns, 1):
        name = column.name or f"column {at}"
        seen[name.casefold()] += 1
        number = seen[name.casefold()]
        names.append(name if number == 1 else f"{name} ({number})")
    return tuple(names)


def shown_columns(
    columns: Sequence[Column], first: Iterable[Sequence[str]]
) -> tuple[ShownColumn, ...]:
    """The columns with their `first` values, a sequence of texts for each column."""
    return tuple(
        ShownColumn(*shown, tuple(islice((visible(v, 12) for v in values if v), FIRST_VALUES)))
        for shown, values in zip(_named(tuple(columns)), first, strict=True)
    )


@lru_cache(maxsize=16)  # files of one kind come by the hundred
def _named(columns: tuple[Column, ...]) -> tuple[tuple[str, str, str], ...]:
    """Name, unit and quantity of each column, as they are shown."""
    return tuple(
        (
            name,
            visible(column.unit, 20),
            column.quantity or next((one for one in WHEEL if is_wheel(one, column)), ""),
        )
        for name, column in zip(own_names(columns), columns, strict=True)
    )


# The units that columns of a kind come in, the usual ones of a test cell.
_UNITS_OF_KIND = {
    "speed": ("rpm", "rad/s"),
    "torque": ("lb·ft", "N·m", "kgf·m", "lb·in"),
    "power": ("hp", "kW", "PS"),
    "time": ("s", "ms", "min"),
    "mass_flow": ("lb/h", "kg/h", "g/s"),
    "volume_flow": ("cfm", "m³/h", "L/min"),
    "vacuum": ("inHg", "kPa", "mbar"),
    "pressure": ("psi", "kPa", "bar"),
    "temperature": ("°F", "°C", "K"),
    "ratio": ("",),
    "percent": ("%",),
    "angle": ("deg",),
}
_UNITS_OF_WHEEL = {"wheel force": ("lbf", "N", "kgf"), "road speed": ("mph", "km/h", "m/s")}


def units_of(quantity: str) -> tuple[str, ...]:
    """The units that a column of that quantity can be said to be in, ``""`` for none."""
    return _UNITS_OF_WHEEL.get(quantity) or _UNITS_OF_KIND[KIND_OF[quantity]]


def quantities() -> tuple[str, ...]:
    """What a column can be: speed and load first."""
    rest = (quantity for quantity in KIND_OF if quantity not in _OF_A_PULL)
    return (*_OF_A_PULL, *WHEEL, *rest)
