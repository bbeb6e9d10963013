"""Which record stands in which table, and how a field becomes a column.

A record's field is the column of the same name. Mappings and tuples are JSON text, true and
false are 1 and 0, everything else is stored as it is.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, Protocol

from logbook.records.air import AirReading
from logbook.records.attachment import Attachment
from logbook.records.build_item import BuildItem
from logbook.records.calibration import Calibration
from logbook.records.cell import Cell
from logbook.records.due_mark import DueMark
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.inspection import Clearance, Inspection
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.trace import SourceKind
from logbook.refusals import BadInput, BookTrouble

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

SqlValue = str | int | float | bytes | None


class Identified(Protocol):
    """Any record of the book: a dataclass with an `id`."""

    @property
    def id(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Link:
    """A reference of one table to another: `table.column` names a row of `target`."""

    table: str
    column: str
    target: str


@dataclass(frozen=True, slots=True)
class Table:
    """One record class in the book. `noun` is what people call it in sentences and in the
    audit trail; `columns` are the record's fields, in order. `decoders` say by place what makes
    the field of a column that is not stored as it is."""

    record: type[Any]
    name: str
    noun: str
    columns: tuple[str, ...]
    decoders: tuple[tuple[int, Callable[[SqlValue], Any]], ...]

    @property
    def stored(self) -> tuple[str, ...]:
        """Every column of the table, `columns` first: all rows can be withdrawn, though not all
        records say so."""
        return self.columns if "withdrawn" in self.columns else (*self.columns, "withdrawn")

    def decode(self, row: tuple[SqlValue, ...]) -> Any:
        """The record of a row that holds `columns` in order.

        Raises `BookTrouble` where a JSON text in it is damaged.
        """
        values: list[Any] = list(row)
        try:
            for at, decode in self.decoders:
                values[at] = decode(values[at])
            return self.record(*values)
        except ValueError as error:
            raise BookTrouble(
                f"the {self.noun} {row[0]!s} is damaged ({error})",
                wanted="keep this file as it is, and go on with the latest backup",
            ) from error


def _flag(value: SqlValue) -> bool | None:
    return None if value is None else bool(value)


def _mapping(value: SqlValue) -> dict[str, str]:
    return {} if value == "{}" else dict(json.loads(str(value)))


def _listed(value: SqlValue) -> tuple[str, ...]:
    return () if value == "[]" else tuple(json.loads(str(value)))


def _decoder(annotation: str) -> Callable[[SqlValue], Any] | None:
    # The records' modules postpone annotations, so a field's type is its source text.
    if annotation.startswith("bool"):
        return _flag
    if annotation.startswith("Mapping"):
        return _mapping
    return _listed if annotation.startswith("tuple") else None


def encode(value: Any, *, field: str) -> SqlValue:
    """The stored form of a field's value.

    Raises `BadInput` for a number that is not finite: SQLite would keep NaN as nothing.
    """
    if isinstance(value, str):
        # A lone surrogate cannot be stored as UTF-8; it comes from bytes that were not text.
        return value if value.isascii() else value.encode("utf-8", "replace").decode("utf-8")
    if value is None:
        return None
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, float):
        if math.isfinite(value):
            return value
        raise BadInput(
            f"{value} is not a finite number", where=field.replace("_", " "), wanted="a number"
        )
    if isinstance(value, Mapping):
        return json.dumps(dict(value), ensure_ascii=False)
    if isinstance(value, tuple):
        for one in value:
            if isinstance(one, float):
                encode(one, field=field)
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, (int, bytes)):
        return value
    raise TypeError(f"{field}: {type(value).__name__} is not a stored type")


def _table(record: type[DataclassInstance], name: str, noun: str) -> Table:
    columns = tuple(field.name for field in fields(record))
    decoders = tuple(
        (at, decoder)
        for at, field in enumerate(fields(record))
        if (decoder := _decoder(str(field.type))) is not None
    )
    return Table(record, name, noun, columns, decoders)


TABLES: Mapping[type[Any], Table] = {
    table.record: table
    for table in (
        _table(Cell, "cells", "cell"),
        _table(Engine, "engines", "engine"),
        _table(Build, "builds", "build"),
        _table(Fuel, "fuels", "fuel"),
        _table(Session, "sessions", "session"),
        _table(AirReading, "airs", "air reading"),
        _table(Pull, "pulls", "pull"),
        _table(SourceKind, "source_kinds", "kind of source file"),
        _table(BuildItem, "build_items", "build item"),
        _table(Inspection, "inspections", "inspection"),
        _table(Clearance, "clearances", "clearance"),
        _table(Calibration, "calibrations", "calibration"),
        _table(DueMark, "due_marks", "due mark"),
        _table(Attachment, "attachments", "attached file"),
    )
}

BY_NOUN: Mapping[str, Table] = {table.noun: table for table in TABLES.values()}

# The references that keep a record from being taken back while another still leans on it.
LINKS = (
    Link("builds", "engine_id", "engines"),
    Link("builds", "parent_id", "builds"),
    Link("sessions", "engine_id", "engines"),
    Link("sessions", "build_id", "builds"),
    Link("sessions", "cell_id", "cells"),
    Link("airs", "session_id", "sessions"),
    Link("pulls", "session_id", "sessions"),
    Link("pulls", "air_id", "airs"),
    Link("pulls", "fuel_id", "fuels"),
    Link("pulls", "calibration_id", "calibrations"),
    Link("pulls", "recalibration_id", "calibrations"),
    Link("build_items", "build_id", "builds"),
    Link("inspections", "engine_id", "engines"),
    Link("inspections", "build_id", "builds"),
    Link("clearances", "inspection_id", "inspections"),
    Link("calibrations", "cell_id", "cells"),
    Link("due_marks", "engine_id", "engines"),
    Link("due_marks", "build_id", "builds"),
    Link("attachments", "engine_id", "engines"),
    Link("attachments", "build_id", "builds"),
    Link("attachments", "inspection_id", "inspections"),
    Link("attachments", "session_id", "sessions"),
)


def table_of(record: type[Any]) -> Table:
    """The table that holds `record`; `TypeError` for a class that is not stored as rows."""
    try:
        return TABLES[record]
    except KeyError:
        raise TypeError(f"{record.__name__} is not a record of the book") from None


def checked_columns(table: Table, names: Mapping[str, Any]) -> None:
    """`TypeError` when a name is not a field of the record: such a name never reaches SQL."""
    unknown = [name for name in names if name not in table.columns and name != "withdrawn"]
    if unknown:
        raise TypeError(f"{table.record.__name__} has no field {', '.join(unknown)}")
