"""The engine's file as tables for people: builds, inspections, calibrations, due marks, files.

A value of a person stands as it was typed, unit included.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.text import Text

from logbook.quantities import display_unit, from_stored, show
from logbook.reports import showing
from logbook.reports.tables import NOTHING, grid, heading, sheet, when

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from logbook.cases.attachments import AttachedView
    from logbook.cases.builds import BuildSheet, ItemChange
    from logbook.cases.due import DueState
    from logbook.cases.inspections import InspectionView
    from logbook.engineering.cylinders import Spread
    from logbook.records.build_item import BuildItem
    from logbook.records.inspection import Clearance, Inspection

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


# Digits after the point by unit: a clearance is worth more of them than a bore.
_CLEARANCE_DIGITS = {"in": 4, "mm": 3}
_LASH = (
    ("Lash, intake, hot", "lash_intake_hot_mm"),
    ("Lash, exhaust, hot", "lash_exhaust_hot_mm"),
    ("Lash, intake, cold", "lash_intake_cold_mm"),
    ("Lash, exhaust, cold", "lash_exhaust_cold_mm"),
)
VERDICT_SIGNS = {"within": "✓", "reclaim": "~", "reject": "✗"}


def clearance(value_mm: float | None, system: str, *, unit: bool = True) -> str:
    """A clearance in the user's unit: ``0.0021 in``."""
    digits = _CLEARANCE_DIGITS[display_unit("clearance", system)]
    return show(value_mm, "clearance", system, digits=digits, unit=unit)


def spread_words(found: Spread | None, kind: str, system: str) -> str:
    """``4–9 %, cylinder 3 stands apart``; empty where nothing was measured."""
    if found is None:
        return ""
    words = range_words(found, kind, system)
    if found.outliers:
        which = ", ".join(str(cylinder) for cylinder in found.outliers)
        several = len(found.outliers) > 1
        words += f", cylinder{'s' * several} {which} stand{'s' * (not several)} apart"
    return words


def range_words(found: Spread, kind: str, system: str) -> str:
    """``4–9 %``."""
    label = display_unit(kind, system)
    least, most = (f"{from_stored(v, label, kind):.0f}" for v in (found.least, found.most))
    return f"{least}–{most} {label}" if least != most else f"{most} {label}"


def inspections(found: Iterable[InspectionView], system: str) -> Table:
    """Inspections, newest first."""
    return grid(
        ("Id", "Date", "Build", "Kind", "By", "Leak-down", "Cranking compression", "Clearances",
         "Note"),
        (
            (
                view.inspection.id[:13],
                view.inspection.inspected_on,
                view.build.label if view.build else "",
                view.inspection.kind,
                view.inspection.who,
                spread_words(view.leak_down, "percent", system),
                spread_words(view.cranking, "cylinder_pressure", system),
                verdicts(view.clearances),
                view.inspection.notes,
            )
            for view in found
        ),
    )  # fmt: skip


def verdicts(found: Iterable[Clearance]) -> str:
    """How many clearances got which verdict: ``✓ 5 within, ~ 1 reclaim``."""
    words = [one.verdict for one in found]
    return ", ".join(
        f"{sign} {words.count(verdict)} {verdict}"
        for verdict, sign in VERDICT_SIGNS.items()
        if verdict in words
    )


def inspection_parts(view: InspectionView, system: str) -> list[RenderableType]:
    """An inspection: head, cylinders, clearances against their limits."""
    one = view.inspection
    parts: list[RenderableType] = [
        sheet(
            [
                ("Inspection", one.id),
                ("Engine", view.engine.tag),
                ("Build", view.build.label if view.build else ""),
                ("Date", one.inspected_on),
                ("Kind", one.kind),
                ("By", one.who),
                ("Leak-down", spread_words(view.leak_down, "percent", system)),
                (
                    "Cranking compression",
                    spread_words(view.cranking, "cylinder_pressure", system),
                ),
                ("Lash, hot, at", show(one.lash_hot_c, "temperature", system)),
                ("Lash, cold, at", show(one.lash_cold_c, "temperature", system)),
                ("Filter cut open", one.filter_cut),
                ("Note", one.notes),
            ]
        )
    ]
    columns, rows = cylinder_table(one, system)
    if rows:
        parts += [Text(), grid(columns, rows)]
    if view.clearances:
        parts += [Text(), clearances(view.clearances, system)]
    return parts


def cylinder_table(one: Inspection, system: str) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """(columns, a row for each cylinder) of what was measured on cylinders."""
    psi = display_unit("cylinder_pressure", system)
    columns: list[tuple[str, list[str]]] = [
        ("Leak-down, %", [_one(v, "percent", system) for v in one.leak_down_percent]),
        (
            f"Cranking compression, {psi}",
            [_one(v, "cylinder_pressure", system) for v in one.cranking_kpa],
        ),
        *(
            (
                f"{label}, {display_unit('clearance', system)}",
                [_lash(v, system) for v in getattr(one, attribute)],
            )
            for label, attribute in _LASH
        ),
        ("Plug", list(one.plugs)),
    ]
    shown = [(label, values) for label, values in columns if values]
    count = max((len(values) for _, values in shown), default=0)
    rows = [
        (str(place + 1), *(values[place] if place < len(values) else "" for _, values in shown))
        for place in range(count)
    ]
    return ("Cylinder", *(label for label, _ in shown)), rows


def _lash(value_mm: float | None, system: str) -> str:
    """Feeler gauges come in thousandths of an inch, or in 0.05 mm."""
    digits = {"in": 3, "mm": 2}[display_unit("clearance", system)]
    return show(value_mm, "clearance", system, digits=digits, unit=False)


def _one(value: float | None, kind: str, system: str) -> str:
    digits = 1 if kind == "percent" else None
    return showing.true_minus(show(value, kind, system, unit=False, digits=digits))


def limit_words(one: Clearance, system: str) -> str:
    """``0.0015–0.0030``, ``up to 0.0030``, ``from 0.0015``; empty without a limit."""
    low, high = (clearance(v, system, unit=False) for v in (one.low_mm, one.high_mm))
    if low == NOTHING:
        return "" if high == NOTHING else f"up to {high}"
    return f"from {low}" if high == NOTHING else f"{low}–{high}"


def clearances(found: Iterable[Clearance], system: str) -> Table:
    """Clearances against their limits, in the order they were entered."""
    unit = display_unit("clearance", system)
    return grid(
        ("Clearance", "Where", f"Measured, {unit}", f"Limit, {unit}", "Verdict", "Note"),
        (
            (
                one.name,
                one.place,
                clearance(one.measured_mm, system, unit=False),
                limit_words(one, system),
                f"{VERDICT_SIGNS[one.verdict]} {one.verdict}",
                one.notes,
            )
            for one in found
        ),
        right="c",
    )


DUE_SIGN, SOON_SIGN, FINE_SIGN = "⚠", "!", "✓"


def due_sign(state: DueState) -> str:
    """``⚠ due``, ``! soon``, ``✓``."""
    if state.is_due:
        return f"{DUE_SIGN} due"
    return f"{SOON_SIGN} soon" if state.is_soon else FINE_SIGN


def used_words(state: DueState) -> str:
    """How far the limits are used up: ``18 of 25 pulls, 40 of 365 days``."""
    mark = state.mark
    parts = []
    if mark.limit_pulls is not None:
        parts.append(f"{state.pulls} of {showing.count(mark.limit_pulls, 'pull')}")
    if mark.limit_minutes is not None:
        untimed = f" ({showing.count(state.untimed, 'pull')} not timed)" if state.untimed else ""
        parts.append(f"{state.minutes:.1f} of {mark.limit_minutes:g} min recorded{untimed}")
    if mark.limit_days is not None:
        parts.append(f"{state.days} of {showing.count(mark.limit_days, 'day')}")
    return ", ".join(parts)


def due_marks(found: Iterable[DueState], zone: str) -> Table:
    """Due marks, the most used up first."""
    return grid(
        ("Id", "Engine", "Build", "What", "", "Used", "Since", "Note"),
        (
            (
                state.mark.id[:13],
                state.engine.tag,
                state.build.label if state.build else "",
                state.mark.what,
                due_sign(state),
                used_words(state),
                when(state.mark.since_at, zone),
                state.mark.notes,
            )
            for state in found
        ),
    )


def attached_files(found: Iterable[AttachedView], zone: str) -> Table:
    """Attached files, newest first."""
    return grid(
        ("Id", "Name", "Of", "Kind", "Size", "Attached", "", "Note"),
        (
            (
                view.attachment.id[:13],
                view.attachment.name,
                view.of,
                view.attachment.media_type,
                size_words(view.attachment.size_bytes),
                when(view.attachment.attached_at, zone),
                "" if view.there else f"{DUE_SIGN} not in its folder",
                view.attachment.notes,
            )
            for view in found
        ),
        right="e",
    )


def size_words(size: int) -> str:
    """``830 bytes``, ``412 kB``, ``3.1 MB``."""
    if size < 1000:
        return f"{size} bytes"
    return f"{size / 1000:.0f} kB" if size < 1_000_000 else f"{size / 1_000_000:.1f} MB"
