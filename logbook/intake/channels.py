"""Columns of samples → channels of a trace, each under its name, unit and quantity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logbook.intake.cells import Cells
from logbook.intake.columns import Column
from logbook.intake.essentials import ESSENTIALS, Essentials
from logbook.intake.unsettled import own_names
from logbook.intake.wheel import WHEEL
from logbook.intake.words import KIND_OF
from logbook.quantities import linear
from logbook.records.caution import Caution
from logbook.records.trace import QUANTITIES, Channel

# What a name without a unit is taken to be in, apart from the essential ones.
USUAL_UNIT = {"lambda": "", "timing": "deg", "time": "s"}
# The stored unit of a known unit's kind, for channels that are no known quantity.
_STORED_NAME: Mapping[str, str] = {KIND_OF[q]: si for q, si in QUANTITIES.items()}


@dataclass(frozen=True, slots=True)
class Channels:
    """The channels in the order of the source, and what was not plain about them.

    `texts` are the columns of text, which are no channels; `unknown_units` the unit texts no
    list has.
    """

    channels: tuple[Channel, ...]
    texts: tuple[str, ...]
    unknown_units: tuple[str, ...]
    cautions: tuple[Caution, ...]


def make_channels(
    columns: Sequence[Column], cells: Sequence[Cells], chosen: Essentials
) -> Channels:
    """Make a channel of every column of numbers; a wholly blank one without a name is none."""
    channels: list[Channel] = []
    texts: list[str] = []
    unknown: list[str] = []
    without_unit: list[str] = []
    cautions: list[Caution] = []
    clock_counts = not any(
        column.quantity == "time" and not data.clock and data.recorded
        for column, data in zip(columns, cells, strict=True)
    )
    named = zip(own_names(columns), columns, cells, strict=True)
    for at, (name, column, data) in enumerate(named):
        if data.values is None:
            texts.append(name)
            continue
        if not column.name and not data.recorded:
            continue
        quantity, unit, kind = _quantity(column, data, at, chosen, clock_counts)
        if quantity is None and column.quantity and not column.unit and at not in chosen.left_aside:
            without_unit.append(name)
        if quantity == "time" and not column.unit and not data.clock:
            cautions.append(
                Caution("unit-assumed", f"{column.quoted} has no unit and was taken as seconds")
            )
        if unit and kind is None:
            unknown.append(unit)
        factor, offset = linear(unit, kind) if kind else (1.0, 0.0)
        channels.append(
            Channel(
                name=name,
                quantity=quantity,
                unit=unit,
                values=data.values,
                decimals=data.decimals,
                si_unit=QUANTITIES[quantity] if quantity else _STORED_NAME.get(kind or ""),
                si_factor=factor,
                si_offset=offset,
            )
        )
    if without_unit:
        cautions.append(
            Caution(
                "unit-missing",
                f"No unit in the header for {_listed(without_unit)}: kept as read and not used",
            )
        )
    if texts:
        cautions.append(
            Caution(
                "text-column",
                f"{_listed(texts)} holds text and is no channel; it stays in the kept file",
            )
        )
    return Channels(tuple(channels), tuple(texts), tuple(unknown), tuple(cautions))


def _quantity(
    column: Column, data: Cells, at: int, chosen: Essentials, clock_counts: bool
) -> tuple[str | None, str, str | None]:
    """Quantity, unit and the kind to convert by; a kind of ``None`` is a unit not known."""
    if data.clock:
        return ("time" if clock_counts else None), "s", "time"
    quantity = column.quantity
    if at in chosen.units:
        assert quantity is not None
        return quantity, chosen.units[at], KIND_OF[quantity]
    if quantity in ESSENTIALS or quantity in WHEEL:
        quantity = None
    if quantity is None:
        kind = "percent" if column.kind == "fraction" else column.kind
        return None, column.unit, kind if kind in _STORED_NAME else None
    if column.kind is None and quantity not in USUAL_UNIT:
        return None, "", None
    return quantity, column.unit or USUAL_UNIT[quantity], KIND_OF[quantity]


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - 8} more" if len(names) > 8 else ""
    return ", ".join(f'"{name}"' for name in names[:8]) + more
