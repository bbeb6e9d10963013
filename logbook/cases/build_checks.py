"""Everything measured on a build, checked: use-case of ``logbook build check`` and its screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.cases import compression_check as volumes
from logbook.cases import measures
from logbook.cases.builds import build_of, items_of
from logbook.cases.cylinder_checks import inspected
from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of
from logbook.cases.geometry_check import geometry_caution
from logbook.cases.item_sheet import LITERS, MM, PLAIN, ItemSheet, words_of
from logbook.cases.measures import Check
from logbook.engineering import tolerance as judging
from logbook.records.caution import Caution
from logbook.records.engine import Build, Engine
from logbook.records.inspection import Inspection
from logbook.refusals import BadInput

# What is computed with, and the unit it has to be in.
_INPUTS: tuple[tuple[tuple[str, ...], str | None], ...] = (
    (("bore",), MM),
    (("stroke",), MM),
    (measures.SKIRT, MM),
    *((names, MM) for names in measures.GAPS),
    *(((name,), MM) for name in measures.FINISH),
    *(((f"{name} gap rule",), PLAIN) for name in (*measures.RINGS, "ring")),
    *((names, LITERS) for names in (volumes.CHAMBER, volumes.DISH, volumes.DOME,
                                    volumes.POCKETS, volumes.CREVICE)),
    *((names, MM) for names in (volumes.DECK, volumes.GASKET, volumes.GASKET_BORE)),
)  # fmt: skip
_JUDGED_ELSEWHERE = {
    words_of(name) for names in (*measures.GAPS, measures.FINISH) for name in names
}


@dataclass(frozen=True, slots=True)
class BuildChecks:
    """Everything that could be checked of a build, and in words what could not."""

    engine: Engine
    build: Build
    checks: tuple[Check, ...]
    left_out: tuple[str, ...]
    cautions: tuple[Caution, ...]

    @property
    def verdict(self) -> str:
        """The worst of all checks."""
        return judging.worst(check.verdict for check in self.checks)


def build_checks(desk: Desk, tag: str, label: str | None = None) -> BuildChecks:
    """The measures of a build (the newest without a label) against their tolerances."""
    with desk.book.reading() as read:
        engine = engine_of(read, tag)
        build = build_of(read, engine, label)
        items = items_of(read, build.id)
        inspections = read.where(
            Inspection, build_id=build.id, order="inspected_on", descending=True
        )
    caution = geometry_caution(engine, desk.units)
    sheet = ItemSheet.of(items, engine.cylinders)
    checks, left_out = check_items(engine, sheet)
    return BuildChecks(
        engine,
        build,
        (*checks, *inspected(sheet, inspections)),
        left_out,
        (caution,) if caution else (),
    )


def check_items(engine: Engine, sheet: ItemSheet) -> tuple[tuple[Check, ...], tuple[str, ...]]:
    """The checks that a build's items allow, and sentences about what was left out."""
    left_out = _unusable(sheet)
    try:
        bores: measures.Bores = measures.bores(sheet)
    except BadInput as refusal:
        left_out.append(refusal.sentence)
        bores = [None] * sheet.cylinders
    makers: tuple[Callable[[], list[Check]], ...] = (
        lambda: measures.pistons(sheet, bores),
        lambda: measures.shapes_of(sheet, bores),
        lambda: measures.ring_gaps(sheet, bores, engine.bore_mm),
        lambda: measures.finishes(sheet),
        lambda: volumes.compression(sheet, bores, engine),
        lambda: measures.written(sheet, _JUDGED_ELSEWHERE),
    )
    checks: list[Check] = []
    for maker in makers:
        try:
            checks += maker()
        except BadInput as refusal:
            left_out.append(refusal.sentence)
    return tuple(checks), tuple(left_out)


def _unusable(sheet: ItemSheet) -> list[str]:
    """Items that would be computed with if their value had the right unit."""
    said = []
    for names, unit in _INPUTS:
        item = sheet.item(*names)
        if item is None or item.unit == unit or not (item.text or item.per_cylinder):
            continue
        wanted = {MM: "a length such as 0.40 mm", LITERS: "a volume such as 42 cm³"}
        told = wanted.get(unit or "", "a plain number such as 4.5")
        value = item.text or item.typed.get("per_cylinder", "")
        said.append(f"{item.name}: {value[:40]!r} was not computed with. Wanted: {told}.")
    return said
