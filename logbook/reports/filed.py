"""The engine's file as tables for people: builds, inspections, calibrations, due marks, files.

A value of a person stands as it was typed, unit included.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.text import Text

from logbook.reports.tables import grid, heading, sheet

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from logbook.cases.builds import BuildSheet, ItemChange
    from logbook.records.build_item import BuildItem

# What an item's difference from the parent is marked with.
ADDED, CHANGED, RENEWED, LEFT_OUT = "+", "≠", "*", "−"
MARKS = {ADDED: "not in the parent", CHANGED: "changed", RENEWED: "another part or reworked",
         LEFT_OUT: "left out"}  # fmt: skip


def mark_of(change: ItemChange | None) -> str:
    """The sign of an item's difference; empty where it is as it was."""
    if change is None:
        return ""
    if change.old is None:
        return ADDED
    if change.new is None:
        return LEFT_OUT
    return RENEWED if change.renewed else CHANGED


def value_of(item: BuildItem | None) -> str:
    """An item's value and its per-cylinder values as they were typed."""
    if item is None:
        return ""
    return "; ".join(part for part in (item.text, item.typed.get("per_cylinder", "")) if part)


def build_parts(found: BuildSheet) -> list[RenderableType]:
    """A build's sheet: its head, its items by system, what is left out, the signs."""
    build = found.build
    head = sheet(
        [
            ("Build", f"{build.label} of {found.engine.tag}"),
            ("Built on", build.built_on or ""),
            ("Copied from", found.parent.label if found.parent else ""),
            ("Note", build.notes),
        ]
    )
    items = grid(
        ("", "System", "Item", "Value", "Per cylinder", "Tolerance", "Done", "Note"),
        (
            (
                mark_of(found.change_of(item)),
                item.system,
                item.name,
                item.text,
                item.typed.get("per_cylinder", ""),
                item.typed.get("tolerance", ""),
                item.done,
                item.notes,
            )
            for item in found.items
        ),
    )
    parts: list[RenderableType] = [head, Text(), items]
    gone = [change for change in found.difference if change.new is None]
    if gone:
        parts += [Text(), heading("Left out since the parent"), differences(gone)]
    used = {mark_of(change) for change in found.difference}
    if used:
        parts += [Text(), Text(" · ".join(f"{s} {w}" for s, w in MARKS.items() if s in used))]
    return parts


def differences(changes: Iterable[ItemChange]) -> Table:
    """What differs between two builds, item by item."""
    return grid(
        ("", "System", "Item", "Was", "Is", "Done"),
        (
            (
                mark_of(change),
                change.item.system,
                change.item.name,
                value_of(change.old),
                value_of(change.new),
                change.new.done if change.new else "",
            )
            for change in changes
        ),
    )
