"""A form over the fields of a record: an engine's sheet, a cell's, a pull's corrections."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from logbook import quantities
from logbook.app.screens.form import Form
from logbook.app.widgets.entries import entry_for
from logbook.app.widgets.field import Entry

if TYPE_CHECKING:
    from logbook.cases.fields import Field

R = TypeVar("R")


class RecordForm(Form[R]):
    """Entries for `record_fields`, filled from a record."""

    record_fields: Sequence[Field] = ()

    def check(self) -> None:
        """Every touched field can be read."""
        self.ask_for_errors(self.record_fields)


def filled(fields: Iterable[Field], record: object | None, system: str) -> list[Entry]:
    """The entries of a record: what was typed, else what is stored in the user's units."""
    return [entry_for(field, text_of(field, record, system), system) for field in fields]


def text_of(field: Field, record: object | None, system: str) -> str:
    """A record's field as somebody would type it."""
    if record is None:
        return ""
    typed: Mapping[str, str] = getattr(record, "typed", {})
    if field.attribute in typed:
        return typed[field.attribute]
    value: Any = getattr(record, field.attribute)
    if value is None or value == ():
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.many:
        return _listed(field, value, system)
    if isinstance(value, tuple):
        return ", ".join(value)
    if field.is_quantity:
        return quantities.show(value, field.kind, system)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _listed(field: Field, values: Sequence[Any], system: str) -> str:
    """A value for every cylinder, as somebody would type them."""
    if not field.is_quantity:
        return "; ".join(values)
    shown = [
        "-" if value is None else quantities.show(value, field.kind, system, unit=False)
        for value in values
    ]
    return f"{' '.join(shown)} {quantities.display_unit(field.kind, system)}"
