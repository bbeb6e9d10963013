"""The engine's file as JSON documents: SI with the unit in the key, as `reports.as_json` does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.reports.as_json import Document, record_json
from logbook.reports.filed import MARKS, mark_of

if TYPE_CHECKING:
    from logbook.cases.builds import BuildSheet, ItemChange


def build_json(found: BuildSheet) -> Document:
    """A build with its items, each with its difference from the parent or ``null``."""
    return {
        **record_json(found.build),
        "engine": found.engine.tag,
        "parent": found.parent.label if found.parent else None,
        "items": [
            {
                **record_json(item),
                "difference": MARKS.get(mark_of(found.change_of(item))),
            }
            for item in found.items
        ],
        "left_out": [record_json(change.old) for change in found.difference if change.new is None],
    }


def change_json(change: ItemChange) -> Document:
    """One item that differs; ``null`` where a side does not have it."""
    return {
        "system": change.item.system,
        "name": change.item.name,
        "difference": MARKS[mark_of(change)],
        "old": record_json(change.old) if change.old else None,
        "new": record_json(change.new) if change.new else None,
    }
