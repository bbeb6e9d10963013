"""What a builder computes from a build's sheet, measure by measure, against its tolerance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from logbook.cases.item_sheet import LITERS, MM, PLAIN, RECLAIM, ItemSheet, words_of
from logbook.engineering import tolerance as judging
from logbook.engineering.tolerance import IN, OUT, Tolerance

if TYPE_CHECKING:
    from logbook.engineering.bore import BoreShape
    from logbook.records.build_item import BuildItem

Bores = Sequence["BoreShape | None"]

OWN_LIMIT = "the sheet's own tolerance"
NO_OWN_LIMIT = "no tolerance on the sheet"

CLEARANCE = ("piston clearance", "piston to bore", "piston to bore clearance", "skirt clearance")
SKIRT = ("skirt", "piston skirt", "piston size", "piston diameter")
TAPER = ("taper", "bore taper")
OUT_OF_ROUND = ("out of round", "bore out of round")
FINISH = ("Ra", "Rk", "Rpk", "Rvk")
RINGS = ("top ring", "second ring")
GAPS = tuple((f"{ring} gap", f"{ring} end gap") for ring in RINGS)
RATIO, SWEPT = ("compression ratio",), ("displacement",)

TO_HONE_MM = 1.0
"""Whatever is rougher than its limit, up to this, is honed again (no source)."""

_HONED = "too tight is honed as long as the piston goes in"
_FILED = "as measured in its bore; too small is filed"
_OUT_TO_SIZE = "honed out as long as its piston stays within its clearance"
_KINDS = {MM: "clearance", LITERS: "small_volume", PLAIN: "ratio", "kPa": "pressure"}


@dataclass(frozen=True, slots=True)
class Measured:
    """One value, of a cylinder counted from 1 or (``None``) of the whole engine."""

    cylinder: int | None
    value: float
    verdict: str


@dataclass(frozen=True, slots=True)
class Check:
    """One measure of a build, in the stored unit of `kind` (one of `logbook.quantities`).

    `how` says what it was computed from, `limits_from` whose the tolerance is, `advice` what
    would bring it back (``""`` where nothing is to be said).
    """

    label: str
    kind: str
    values: tuple[Measured, ...]
    tolerance: Tolerance
    how: str
    limits_from: str
    advice: str = ""

    @property
    def verdict(self) -> str:
        """The worst of all values: ``in``, ``reclaim``, ``out`` or ``no limit``."""
        return judging.worst(one.verdict for one in self.values)


def judged(
    label: str,
    kind: str,
    values: Sequence[float | None],
    limits: Tolerance,
    how: str,
    limits_from: str = "",
    *,
    whole: bool = False,
) -> list[Check]:
    """A check of a value for each cylinder (`whole`: of the one the engine has); nothing where
    none is known."""
    found = tuple(
        Measured(None if whole else place, value, judging.verdict(value, limits))
        for place, value in enumerate(values, 1)
        if value is not None and math.isfinite(value)
    )
    said = limits_from or (NO_OWN_LIMIT if limits.is_open else OWN_LIMIT)
    return [Check(label, kind, found, limits, how, said)] if found else []


def bores(sheet: ItemSheet) -> list[BoreShape | None]:
    """The shape of each cylinder's bore, ``None`` where it was not measured."""
    import numpy as np

    from logbook.engineering.bore import bore_shape

    grids = sheet.bore_grids()
    return [bore_shape(g) if np.isfinite(np.asarray(g, float)).any() else None for g in grids]


def pistons(sheet: ItemSheet, shapes: Bores) -> list[Check]:
    """Piston-to-bore clearance: the tightest place against the low limit, the widest against the
    high one. Too tight is honed, as long as the piston goes in."""
    from logbook.engineering.bore import Clearance, piston_clearance

    skirts = sheet.each(sheet.item(*SKIRT), MM)
    found: list[Clearance | None] = [
        piston_clearance(shape, skirt) if shape is not None and skirt is not None else None
        for shape, skirt in zip(shapes, skirts, strict=True)
    ]
    limits = sheet.tolerance(*CLEARANCE)
    if limits.low is not None and limits.reclaim_low is None and limits.low > 0:
        limits = replace(limits, reclaim_low=0.0)
    least = [one.least_mm if one else None for one in found]
    most = [one.most_mm if one else None for one in found]
    if least == most:
        return judged("Piston clearance", "clearance", least, limits, f"bore less skirt; {_HONED}")
    return [
        *judged("Piston clearance, tightest", "clearance", least,
                Tolerance(low=limits.low, reclaim_low=limits.reclaim_low),
                f"smallest bore less skirt; {_HONED}"),
        *judged("Piston clearance, widest", "clearance", most,
                Tolerance(high=limits.high, reclaim_high=limits.reclaim_high),
                "largest bore less skirt"),
    ]  # fmt: skip


def shapes_of(sheet: ItemSheet, shapes: Bores) -> list[Check]:
    """Taper and out-of-round. Past its limit a bore is reclaimed by honing all of it to its
    largest size, as long as the clearance of its piston stays within tolerance."""
    skirts = sheet.each(sheet.item(*SKIRT), MM)
    widest = sheet.tolerance(*CLEARANCE).high
    can_hone = [
        shape is not None and skirt is not None and widest is not None
        and judging.verdict(shape.largest_mm - skirt, Tolerance(high=widest)) == IN
        for shape, skirt in zip(shapes, skirts, strict=True)
    ]  # fmt: skip
    found = []
    for label, names, how, values in (
        ("Taper", TAPER, f"largest less smallest along one direction; {_OUT_TO_SIZE}",
         [shape.taper_mm if shape else None for shape in shapes]),
        ("Out-of-round", OUT_OF_ROUND,
         f"largest less smallest diameter at one height; {_OUT_TO_SIZE}",
         [shape.out_of_round_mm if shape else None for shape in shapes]),
    ):  # fmt: skip
        for check in judged(label, "clearance", values, sheet.tolerance(*names), how):
            told = tuple(
                replace(one, verdict=judging.RECLAIM)
                if one.verdict == OUT and one.cylinder and can_hone[one.cylinder - 1]
                else one
                for one in check.values
            )
            found.append(replace(check, values=told, advice=_forms(told, shapes)))
    return found


def _forms(values: Sequence[Measured], shapes: Bores) -> str:
    """Where the bores that are not within their limit are wide: ``cylinder 4 barrel``."""
    parts = []
    for one in values:
        shape = shapes[one.cylinder - 1] if one.cylinder else None
        if shape is not None and shape.form and one.verdict in (judging.RECLAIM, OUT):
            parts.append(f"cylinder {one.cylinder} {shape.form}")
    return ", ".join(parts)


def ring_gaps(sheet: ItemSheet, shapes: Bores, engine_bore_mm: float | None) -> list[Check]:
    """End gaps against the bore they are in: the sheet's own limits, else the shop's own rule
    (an item ``top ring gap rule``), else common practice."""
    from logbook.engineering.bore import RING_GAP_PER_BORE, ring_gap_tolerance

    found = []
    for ring, names in zip(RINGS, GAPS, strict=True):
        label = f"{ring.capitalize()} gap"
        gaps = sheet.each(sheet.item(*names), MM)
        own = sheet.tolerance(*names)
        if not own.is_open:
            if own.low is not None and own.reclaim_low is None and own.low > 0:
                own = replace(own, reclaim_low=0.0)
            found += judged(label, "clearance", gaps, own, _FILED)
            continue
        rule = sheet.single(PLAIN, f"{ring} gap rule", "ring gap rule")
        per_bore = RING_GAP_PER_BORE[ring] if rule is None else _per_bore(rule)
        known = [shape.mean_mm for shape in shapes if shape is not None]
        bore = sum(known) / len(known) if known else engine_bore_mm
        if bore is None:
            found += judged(label, "clearance", gaps, Tolerance(), "as measured")
            continue
        said = f"{1000 * per_bore:g} thousandths of the bore"
        whose = "common practice, no source" if rule is None else "the shop's own rule"
        limits = ring_gap_tolerance(bore, per_bore)
        found += judged(label, "clearance", gaps, limits, _FILED, f"{said}: {whose}")
    return found


def _per_bore(rule: float) -> float:
    """A rule as written: 0.0045 (of the bore), or 4.5 (thousandths of an inch per inch)."""
    return rule / 1000.0 if rule >= 1.0 else rule


def finishes(sheet: ItemSheet) -> list[Check]:
    """Surface finish as the instrument printed it. A finish outside its limits is honed again."""
    found = []
    for name in FINISH:
        limits = sheet.tolerance(name)
        if limits.low is not None and limits.reclaim_low is None:
            limits = replace(limits, reclaim_low=0.0)
        if limits.high is not None and limits.reclaim_high is None:
            limits = replace(limits, reclaim_high=TO_HONE_MM)
        by = "ISO 4287" if name == "Ra" else "ISO 13565-2"
        how = f"as measured by {by}; outside its limits honed again"
        values, whole = _values(sheet, sheet.item(name), MM)
        found += judged(name, "roughness", values, limits, how, whole=whole)
    return found


def written(sheet: ItemSheet, taken: set[tuple[str, ...]]) -> list[Check]:
    """Every other item that has values and a tolerance, as it was written."""
    found = []
    for item in sheet.items:
        words = words_of(item.name)
        if words in taken or words[-1:] == (RECLAIM,) or (item.low is None and item.high is None):
            continue
        values, whole = _values(sheet, item, item.unit)
        found += judged(item.name, _kind_of(item), values, sheet.tolerance(item.name),
                        "as written on the sheet", whole=whole)  # fmt: skip
    return found


def _values(
    sheet: ItemSheet, item: BuildItem | None, unit: str | None
) -> tuple[tuple[float | None, ...], bool]:
    """The values of an item, and whether it is a single one of the whole engine."""
    each = sheet.each(item, unit)
    single = item is not None and not item.per_cylinder
    return (each[:1], True) if single else (each, False)


def _kind_of(item: BuildItem) -> str:
    from logbook.quantities import KINDS

    stored = (name for name, kind in KINDS.items() if kind.stored == item.unit)
    return _KINDS.get(item.unit) or next(stored, "ratio")
