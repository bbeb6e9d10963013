"""Whether what is stored is what was typed: two witnesses of one value, kept apart.

A number in the book has no checksum of its own, but the text it was typed as stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from logbook.cases.field_lists import (
    AIR_FIELDS,
    CELL_FIELDS,
    ENGINE_FIELDS,
    FUEL_FIELDS,
    HUMIDITY_KIND,
    PEAK_FIELDS,
    READING_FIELDS,
)
from logbook.cases.fields import Field
from logbook.cases.fields import read as read_field
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Engine, Fuel
from logbook.records.pull import Pull
from logbook.refusals import BadInput
from logbook.store.reader import Reader

_FIELDS: dict[type[Any], tuple[Field, ...]] = {
    Cell: CELL_FIELDS,
    Engine: ENGINE_FIELDS,
    Fuel: FUEL_FIELDS,
    AirReading: AIR_FIELDS,
    Pull: PEAK_FIELDS + READING_FIELDS,
}
# Conversions may round the last digit another way in another version.
_CLOSE = 1e-12


def disagreements(read: Reader) -> Iterator[str]:
    """A sentence for every value of a record that is not what its typed text says."""
    for record_type, fields in _FIELDS.items():
        noun = "air reading" if record_type is AirReading else record_type.__name__.lower()
        for record in read.where(record_type, with_withdrawn=True):
            for field in fields:
                text = record.typed.get(field.attribute)
                if text and _applies(record, field):
                    stored = getattr(record, field.attribute)
                    if not _agree(field, text, stored):
                        yield (
                            f"{noun} {record.id}: {field.label.lower()} is stored as"
                            f" {str(stored)[:40]} but was typed as {text[:40]}"
                        )


def _applies(record: Any, field: Field) -> bool:
    if not isinstance(record, AirReading):
        return True
    if field.attribute == "pressure_kpa":
        return record.pressure_typed_as == "station"  # else it was computed back
    kind = HUMIDITY_KIND.get(field.key)
    return kind is None or kind == record.humidity_kind


def _agree(field: Field, text: str, stored: Any) -> bool:
    try:
        value = read_field(field, text, None).value
    except BadInput:
        return False
    if isinstance(value, float) and isinstance(stored, (int, float)):
        return abs(value - stored) <= _CLOSE * max(abs(value), abs(stored))
    return bool(value == stored)
