"""The engine's file on paper: what is in a build, what is new in it, what was inspected."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.quantities import display_unit
from logbook.reports import check_report, filed, showing
from logbook.reports.paper import Cautions, Part, Table, Words, columns, facts

if TYPE_CHECKING:
    from logbook.cases.build_checks import BuildChecks
    from logbook.cases.builds import BuildSheet
    from logbook.cases.inspections import InspectionView
    from logbook.records.inspection import Clearance


def build_items(found: BuildSheet) -> Iterator[Part]:
    """What differs from the build it was copied from, then everything that is in it."""
    if not found.items and not found.difference:
        yield Words("No item of this build was written down.")
        return
    if found.parent is not None:
        rows = tuple(
            (
                change.item.name,
                change.item.system,
                filed.value_of(change.old) or showing.NOTHING,
                filed.value_of(change.new) or showing.NOTHING,
                filed.MARKS[filed.mark_of(change)].replace("the parent", found.parent.label),
            )
            for change in found.difference
        )
        yield Table(
            f"What differs from {found.parent.label}",
            columns("Item", "System", "Was", "Is", "What was done"),
            rows,
            empty=f"Nothing that was written down differs from {found.parent.label}.",
        )
    items = tuple(
        (
            item.name,
            item.system,
            item.text,
            item.typed.get("per_cylinder", ""),
            item.typed.get("tolerance", ""),
            item.done,
            item.notes,
        )
        for item in found.items
    )
    heads = ("Item", "System", "Value", "Per cylinder", "Tolerance", "Done", "Note")
    yield Table("Everything in it", columns(*heads), items)


def check_parts(found: BuildChecks, system: str) -> Iterator[Part]:
    """Everything measured on a build against its tolerance, and what could not be checked."""
    if not found.checks and not found.left_out:
        return
    rows = tuple(
        (
            check_report.label_of(check, system),
            "\n".join(
                check_report.measure(one.value, check.kind, system)
                if one.cylinder is None
                else f"{one.cylinder}: {check_report.measure(one.value, check.kind, system)}"
                for one in check.values
            ),
            check_report.limits_text(check.tolerance, check.kind, system),
            check.limits_from,
            check_report.verdict_text(check.verdict),
            check.advice,
        )
        for check in found.checks
    )
    heads = ("Measure", "Values, by cylinder", "Tolerance", "Whose", "Verdict", "To be done")
    if rows:
        yield Table("Computed from the sheet", columns(*heads), rows)
    warned = (*(c.text for c in found.cautions), *(f"Left out. {one}" for one in found.left_out))
    if warned:
        yield Cautions(warned)


def inspection_list(found: Iterable[InspectionView], system: str) -> Iterator[Part]:
    """Inspections, a line each, newest first."""
    rows = tuple(
        (
            view.inspection.inspected_on,
            view.build.label if view.build else "",
            view.inspection.kind,
            filed.spread_words(view.leak_down, "percent", system),
            filed.spread_words(view.cranking, "cylinder_pressure", system),
            filed.verdicts(view.clearances),
            view.inspection.notes,
        )
        for view in found
    )
    heads = ("Date", "Build", "Kind", "Leak-down", "Cranking compression", "Clearances", "Note")
    if rows:
        yield Table("Inspections, newest first", columns(*heads), rows)


def inspection_sheets(found: Iterable[InspectionView], system: str) -> Iterator[Part]:
    """Every inspection in full: its cylinders and its clearances against their limits."""
    for view in found:
        one = view.inspection
        yield facts(
            ("Date", one.inspected_on),
            ("Kind", one.kind),
            ("By", one.who),
            ("Leak-down", filed.spread_words(view.leak_down, "percent", system)),
            ("Cranking compression",
             filed.spread_words(view.cranking, "cylinder_pressure", system)),
            ("Lash, hot, at", _at(one.lash_hot_c, system)),
            ("Lash, cold, at", _at(one.lash_cold_c, system)),
            ("Filter cut open", one.filter_cut),
            ("Note", one.notes),
        )  # fmt: skip
        heads, rows = filed.cylinder_table(one, system)
        if rows:
            yield Table(f"Cylinders, {one.inspected_on}", columns(*heads), tuple(rows))
        if view.clearances:
            yield _clearances(one.inspected_on, view.clearances, system)


def _at(temperature_c: float | None, system: str) -> str:
    shown = quantities.show(temperature_c, "temperature", system)
    return "" if temperature_c is None else showing.true_minus(shown)


def _clearances(day: str, found: Iterable[Clearance], system: str) -> Table:
    unit = display_unit("clearance", system)
    rows = []
    for one in found:
        rows.append(
            (
                one.name,
                one.place,
                filed.clearance(one.measured_mm, system, unit=False),
                _limit(one, system),
                f"{filed.VERDICT_SIGNS[one.verdict]} {one.verdict}",
                one.notes,
            )
        )
    heads = ("Clearance", "Where", f">Measured, {unit}", f">Limit, {unit}", "Verdict", "Note")
    return Table(f"Clearances, {day}", columns(*heads), tuple(rows))


def _limit(one: Clearance, system: str) -> str:
    low, high = (filed.clearance(v, system, unit=False) for v in (one.low_mm, one.high_mm))
    if one.low_mm is None:
        return "" if one.high_mm is None else f"at most {high}"
    return f"at least {low}" if one.high_mm is None else f"{low}–{high}"
