"""Entering an item of a build, or correcting one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.messages import Got
from logbook.app.screens.form import Form
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.field import TextEntry

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.build_item import BuildItem
    from logbook.records.engine import Engine

SYSTEM, NAME = "system", "name"


class ItemForm(Form[None]):
    """Answers nothing; the sheet below reads the book again."""

    place = "item"
    BINDINGS = bindings("item")

    def __init__(
        self, engine: Engine, label: str, item: BuildItem | None, own_systems: Sequence[str]
    ) -> None:
        super().__init__(f"item-{engine.id}-{label}-{item.id if item else 'new'}")
        self._engine, self._label, self._item = engine, label, item
        self._own_systems = own_systems
        self.title_words = (
            f"{item.system}: {item.name}" if item else f"An item of {label} of {engine.tag}"
        )

    def entries(self) -> ComposeResult:
        """System and name only where it is a new one."""
        from logbook.cases.item_values import DONE_KEY, LABELS, NOTE, PER_CYLINDER, TOLERANCE, VALUE
        from logbook.records.build_item import DONE, SYSTEMS

        item = self._item
        typed = item.typed if item else {}
        if item is None:
            systems = list(dict.fromkeys([*SYSTEMS, *self._own_systems]))
            yield TextEntry(SYSTEM, "System", suggestions=systems,
                            hint="→ completes; or one of your own")  # fmt: skip
            yield TextEntry(NAME, "Item", hint="such as top ring end gap")
        yield TextEntry(VALUE, LABELS[VALUE], typed.get("text", ""), wide=True,
                        hint="with its unit, or words")  # fmt: skip
        count = self._engine.cylinders
        yield TextEntry(
            PER_CYLINDER, LABELS[PER_CYLINDER], typed.get("per_cylinder", ""), wide=True,
            hint=f"{count or 'all'} values, - for none, then the unit",
        )  # fmt: skip
        yield TextEntry(TOLERANCE, LABELS[TOLERANCE], typed.get("tolerance", ""),
                        hint="0.30..0.40 mm, or ..0.05 mm")  # fmt: skip
        yield ChoiceEntry(DONE_KEY, LABELS[DONE_KEY], ("", *DONE), item.done if item else "",
                          words=("not said", *DONE))  # fmt: skip
        yield TextEntry(NOTE, LABELS[NOTE], item.notes if item else "", wide=True)

    def check(self) -> None:
        """Value, cylinders and tolerance together: they share one unit."""
        from logbook.cases.item_values import KEYS

        given = {key: text for key, text in self.touched().items() if key in KEYS}
        before = dict(self._item.typed) if self._item else {}
        cylinders = self._engine.cylinders

        def job(desk: Desk) -> dict[str, str]:
            from logbook.cases.item_values import LABELS, VALUE, item_attributes
            from logbook.refusals import Refusal

            try:
                item_attributes(given, before, cylinders)
            except Refusal as refusal:
                labels = {label: key for key, label in LABELS.items()}
                return {labels.get(refusal.where or "", VALUE): refusal.sentence}
            return {}

        self.ask("check", job, Got)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Enter or correct it."""
        touched = self.touched()
        system, name = touched.pop(SYSTEM, "").strip(), touched.pop(NAME, "").strip()
        if self._item is not None:
            system, name = self._item.system, self._item.name
        elif not (system and name):
            self.notice("An item has a system and a name.", "error")
            self.focus_first()
            return None
        tag, label = self._engine.tag, self._label

        def job(desk: Desk) -> str:
            from logbook.cases.builds import set_item

            return set_item(desk, tag, label, system, name, touched).name

        return job

    def finish(self, result: object) -> None:
        """Say so on the sheet below."""
        self.dismiss(None)
        self.book.say(f"{result} saved. u takes it back.")
