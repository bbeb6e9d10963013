"""Which of two versions of a field is the newer one, by the audit trails of both books.

A field's history is the set of changes that touched it. Trails are only ever added to and a
merge brings them along, so where one book knows every change that the other knows and more, its
value was made with the other's in view: it is the newer one, whatever the clocks say. Where
each knows a change that the other does not, nobody has seen both, and a person has to say.

Fields that only make sense together are one unit: an air reading is taken whole or not at all.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from logbook.store.reader import Reader
from logbook.store.tables import Table

TYPED = "typed"

_TOGETHER: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "air reading": (
        ("pressure_kpa", "temperature_c", "humidity_kind", "humidity", "pressure_typed_as"),
    ),
    "engine": (("band_low_rpm", "band_high_rpm"),),
    "fuel": (
        ("density_kg_m3", "density_at_c"),
        ("carbon", "hydrogen", "oxygen", "nitrogen"),
    ),
    "session": (
        ("engine_id", "build_id"),
        ("status", "closed_at"),
        ("band_low_rpm", "band_high_rpm"),
    ),
    "build item": (("text", "number", "unit", "per_cylinder", "low", "high"),),
    "inspection": (("engine_id", "build_id"),),
    "clearance": (("measured_mm", "low_mm", "high_mm", "verdict"),),
    "calibration": (
        (
            "unit", "reference_values", "readings", "directions", "zero_before", "zero_after",
            "tolerance", "tolerance_in", "arm_mm", "gravity_m_s2",
        ),
    ),
    "due mark": (
        ("engine_id", "build_id"),
        ("since_at", "limit_pulls", "limit_minutes", "limit_days"),
    ),
    "attached file": (
        ("sha256", "size_bytes", "media_type"),
        ("engine_id", "build_id", "inspection_id", "session_id"),
    ),
    "pull": (
        ("session_id", "number"),
        ("peak_torque_nm", "peak_torque_rpm"),
        ("peak_power_kw", "peak_power_rpm"),
        ("first_in_file", "first_sample", "last_sample"),
        ("sweep_direction", "sweep_start_rpm", "sweep_rate_rpm_s"),
        ("torque_state", "recalibration_id"),
    ),
}  # fmt: skip

Row = Mapping[str, Any]


def unit_of(table: Table, field: str) -> str:
    """The unit that a field, or a key of `typed`, belongs to: the first field of its group."""
    return next((group[0] for group in _TOGETHER.get(table.noun, ()) if field in group), field)


def typed_of(row: Row) -> dict[str, str]:
    """What was typed, by field; empty for records that keep nothing of the kind."""
    return dict(json.loads(str(row[TYPED]))) if TYPED in row else {}


def differing(table: Table, here: Row, there: Row) -> dict[str, list[str]]:
    """Unit → the columns of it that differ; a typed text counts as ``typed:FIELD``."""
    found: dict[str, list[str]] = {}
    for column in table.stored:
        if column != TYPED and here[column] != there[column]:
            found.setdefault(unit_of(table, column), []).append(column)
    for key in _changed(typed_of(here), typed_of(there)):
        found.setdefault(unit_of(table, key), []).append(f"{TYPED}:{key}")
    return found


def edits(read: Reader, table: Table, record_id: str) -> dict[str, set[str]]:
    """Unit → the changes that touched it in this book; `typed` itself → all that touched it."""
    found: dict[str, set[str]] = {}
    for change, field, old, new in read.rows(
        "SELECT change_id, field, old, new FROM audit_fields"
        " WHERE record_id = ? AND record_type = ? AND field IS NOT NULL",
        (record_id, table.noun),
    ):
        if field != TYPED:
            found.setdefault(unit_of(table, field), set()).add(change)
            continue
        found.setdefault(TYPED, set()).add(change)
        for key in _changed(json.loads(str(old)), json.loads(str(new))):
            found.setdefault(unit_of(table, key), set()).add(change)
    return found


def _changed(old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[str]:
    return (key for key in {**old, **new} if old.get(key) != new.get(key))
