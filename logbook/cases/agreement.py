"""Whether what is stored is what was typed: two witnesses of one value, kept apart.

A number in the book has no checksum of its own, but the text it was typed as stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from logbook.cases.calibration_pairs import read_pairs
from logbook.cases.field_lists import (
    AIR_FIELDS,
    CELL_FIELDS,
    DUE_FIELDS,
    ENGINE_FIELDS,
    FUEL_FIELDS,
    HUMIDITY_KIND,
    INSPECTION_FIELDS,
    PEAK_FIELDS,
    READING_FIELDS,
)
from logbook.cases.fields import Field
from logbook.cases.fields import read as read_field
from logbook.cases.item_values import item_attributes
from logbook.records.air import AirReading
from logbook.records.build_item import BuildItem
from logbook.records.calibration import Calibration
from logbook.records.cell import Cell
from logbook.records.due_mark import DueMark
from logbook.records.engine import Engine, Fuel
from logbook.records.inspection import Clearance, Inspection
from logbook.records.pull import Pull
from logbook.refusals import BadInput
from logbook.store.reader import Reader

_FIELDS: dict[type[Any], tuple[Field, ...]] = {
    Cell: CELL_FIELDS,
    Engine: ENGINE_FIELDS,
    Fuel: FUEL_FIELDS,
    AirReading: AIR_FIELDS,
    Pull: PEAK_FIELDS + READING_FIELDS,
    Inspection: INSPECTION_FIELDS,
    DueMark: DUE_FIELDS,
    Clearance: tuple(
        Field(name, label, "clearance", name)
        for name, label in (
            ("measured_mm", "Measured"), ("low_mm", "Low limit"), ("high_mm", "High limit"),
        )
    ),
}  # fmt: skip
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
    for item in read.where(BuildItem, with_withdrawn=True):
        if not _item_agrees(item):
            yield (
                f"build item {item.id}: its numbers are not those typed for it:"
                f" {'; '.join(item.typed.values())[:80]}"
            )

    for one in read.where(Calibration, with_withdrawn=True):
        if not _pairs_agree(one):
            yield (
                f"calibration {one.id}: its pairs are not those typed for it:"
                f" {one.typed.get('reference_values', '')[:80]}"
            )


def _pairs_agree(one: Calibration) -> bool:
    try:
        references, readings, ways = read_pairs(one.typed.get("reference_values", ""))
    except BadInput:
        return False
    if one.arm_mm is not None:  # masses were typed, torques are stored
        references = one.reference_values
    return (
        _equal(readings, one.readings)
        and _equal(references, one.reference_values)
        and ways == one.directions
    )


def _item_agrees(item: BuildItem) -> bool:
    try:
        typed = item_attributes({}, item.typed, None)
    except BadInput:
        return False
    same = ("text", "unit")
    numbers = ("number", "low", "high", "per_cylinder")
    return all(typed[name] == getattr(item, name) for name in same) and all(
        _equal(typed[name], getattr(item, name)) for name in numbers
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
    if field.many and isinstance(value, tuple) and len(value) == 1:
        value *= len(stored)  # one value that was said of all cylinders
    return _equal(value, stored)


def _equal(value: Any, stored: Any) -> bool:
    if isinstance(value, tuple) and isinstance(stored, tuple):
        pairs = zip(value, stored, strict=False)
        return len(value) == len(stored) and all(_equal(one, other) for one, other in pairs)
    if isinstance(value, float) and isinstance(stored, (int, float)):
        return abs(value - stored) <= _CLOSE * max(abs(value), abs(stored))
    return bool(value == stored)
