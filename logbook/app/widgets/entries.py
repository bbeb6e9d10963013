"""The lines of a form together: which line a field gets, sections, and how they scroll."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.field import Entry, TextEntry
from logbook.app.widgets.ink import Line
from logbook.app.widgets.lines import Lines

if TYPE_CHECKING:
    from logbook.cases.fields import Field

_CHOICE_WORDS = {
    ("strokes", "4"): "four stroke",
    ("strokes", "2"): "two stroke",
    ("knock", "none"): "none heard",
}


def entry_for(field: Field, value: str, system: str, *, hint: str = "") -> Entry:
    """The line of a form for a field of the use-cases, with the unit it takes beside it."""
    from logbook import quantities

    if field.kind == "choice":
        words = [_CHOICE_WORDS.get((field.key, choice), choice) for choice in field.choices]
        return ChoiceEntry(field.key, field.label, field.choices, value, hint=hint, words=words)
    if field.kind == "yes or no":
        return ChoiceEntry(field.key, field.label, ("yes", "no"), value, hint=hint)
    if not field.is_quantity:
        wide = field.kind in ("text", "note", "choices")
        hint = hint or (", ".join(field.choices) if field.kind == "choices" else "")
        return TextEntry(field.key, field.label, value, hint=hint, wide=wide)
    return TextEntry(
        field.key,
        field.label,
        value,
        unit=quantities.display_unit(field.kind, system),
        hint=hint or (f"such as {field.example}" if field.many and field.example else ""),
        step=1.0 if field.kind == "angle" else 0.0,
        wide=field.many,
    )


class Entries(VerticalScroll, can_focus=False, inherit_bindings=False):
    """The entries of a form. It scrolls with the focus and by page; ↑ and ↓ are the form's own,
    for the field above and below."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "page_up", "Page up", show=False),
        Binding("pagedown", "page_down", "Page down", show=False),
    ]


class SectionLine(Lines):
    """A heading between the fields of a form."""

    def __init__(self, words: str, *, id: str | None = None) -> None:
        super().__init__(id=id, classes="section")
        self._words = words

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The words and a rule."""
        return [((f"{self._words} ", "accent"), ("─" * (width - len(self._words) - 1), "quiet"))]
