"""Compression ratio and displacement from the volumes on a build's sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from logbook.cases.item_sheet import LITERS, MM, PLAIN, ItemSheet
from logbook.cases.measures import RATIO, SWEPT, Bores, Check, judged
from logbook.engineering.tolerance import IN

if TYPE_CHECKING:
    from logbook.records.engine import Engine

CHAMBER = ("chamber", "chamber volume", "combustion chamber")
DECK = ("deck", "deck height", "deck clearance")
GASKET, GASKET_BORE = ("gasket thickness", "head gasket thickness"), ("gasket bore",)
DISH, DOME, POCKETS = ("dish", "piston dish"), ("dome", "piston dome"), ("valve pockets",)
CREVICE = ("crevice", "crevice volume")

_CM3_PER_L = 1000.0


def compression(sheet: ItemSheet, shapes: Bores, engine: Engine) -> list[Check]:
    """Displacement as bored, and where the chambers were measured the compression ratio."""
    from logbook.engineering.compression import (
        clearance_volume,
        compression_ratio,
        cylinder_cm3,
    )

    stroke = sheet.single(MM, "stroke")
    stroke = engine.stroke_mm if stroke is None else stroke
    sizes = [shape.mean_mm if shape else engine.bore_mm for shape in shapes]
    if stroke is None or any(size is None for size in sizes):
        return []
    swept = [cylinder_cm3(size, stroke) for size in sizes if size is not None]
    chambers = sheet.each(sheet.item(*CHAMBER), LITERS)
    deck, gasket, gasket_bore = (
        sheet.each(sheet.item(*names), MM) for names in (DECK, GASKET, GASKET_BORE)
    )
    dish, dome, pockets, crevice = (_cm3(sheet, names) for names in (DISH, DOME, POCKETS, CREVICE))
    ratios: list[float | None] = []
    for index, chamber in enumerate(chambers):
        size = sizes[index]
        if chamber is None or size is None:
            ratios.append(None)
            continue
        clearance = clearance_volume(
            bore_mm=size,
            chamber_cm3=_CM3_PER_L * chamber,
            deck_mm=deck[index] or 0.0,
            gasket_mm=gasket[index] or 0.0,
            gasket_bore_mm=gasket_bore[index],
            piston_cm3=(dish[index] or 0.0) + (pockets[index] or 0.0) - abs(dome[index] or 0.0),
            crevice_cm3=crevice[index] or 0.0,
        )
        ratios.append(compression_ratio(swept[index], clearance.total))
    how = "swept volume and " + ", ".join(_used(sheet))
    found = judged("Compression ratio", "ratio", ratios, sheet.tolerance(*RATIO), how)
    return [
        *(replace(check, advice=_advice(check, swept, sheet, engine)) for check in found),
        *_displacement(sheet, swept),
    ]


def _cm3(sheet: ItemSheet, names: tuple[str, ...]) -> tuple[float | None, ...]:
    values = sheet.each(sheet.item(*names), LITERS)
    return tuple(None if value is None else _CM3_PER_L * value for value in values)


def _used(sheet: ItemSheet) -> list[str]:
    """The parts of the clearance volume that stand on the sheet."""
    parts = ((CHAMBER, LITERS), (DECK, MM), (GASKET, MM), (DISH, LITERS), (DOME, LITERS),
             (POCKETS, LITERS), (CREVICE, LITERS))  # fmt: skip
    return [
        names[0]
        for names, unit in parts
        if any(value is not None for value in sheet.each(sheet.item(*names), unit))
    ]


def _advice(check: Check, swept: list[float], sheet: ItemSheet, engine: Engine) -> str:
    """How much more or less volume the ratio that is wanted takes."""
    from logbook.engineering.compression import clearance_for_ratio

    limits = check.tolerance
    if check.verdict == IN:
        return ""
    wanted = sheet.single(PLAIN, *RATIO) or engine.compression_ratio
    if limits.low is not None and limits.high is not None:
        wanted = (limits.low + limits.high) / 2.0
    if wanted is None or wanted <= 1:
        return ""
    apart = [
        clearance_for_ratio(swept[one.cylinder - 1], wanted)
        - swept[one.cylinder - 1] / (one.value - 1.0)
        for one in check.values
        if one.cylinder is not None
    ]
    low, high = (f"{edge:+.2f}".replace("-", "−") for edge in (min(apart), max(apart)))
    span = low if low == high else f"{low} to {high}"
    return f"{wanted:g} takes {span} cm³ of clearance volume a cylinder"


def _displacement(sheet: ItemSheet, swept: list[float]) -> list[Check]:
    total = sum(swept) / _CM3_PER_L
    return judged("Displacement as bored", "displacement", [total], sheet.tolerance(*SWEPT),
                  "mean bores and stroke", whole=True)  # fmt: skip
