"""Inspections: what was looked at and measured on an engine between its pulls."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from logbook import quantities
from logbook.cases.builds import build_of
from logbook.cases.by_id import by_id
from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of, name_of
from logbook.cases.field_lists import INSPECTION_FIELDS
from logbook.cases.fields import LONGEST_WORD
from logbook.cases.labels import today
from logbook.cases.splitting import split_range
from logbook.cases.typed import attributes, merged_typed
from logbook.records.engine import Build, Engine
from logbook.records.ids import new_id
from logbook.records.inspection import REJECT, VERDICTS, WITHIN, Clearance, Inspection
from logbook.refusals import BadInput
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.engineering.cylinders import Spread

# What gauges can tell apart: a cylinder within it does not stand out from its neighbors (common
# practice, no source).
LEAK_DOWN_STEP_PERCENT, CRANKING_STEP_KPA = 1.0, 15.0
_LASH = ("lash_intake_hot_mm", "lash_exhaust_hot_mm", "lash_intake_cold_mm", "lash_exhaust_cold_mm")
_MEASURED = ("leak_down_percent", "cranking_kpa", "plugs", *_LASH)


@dataclass(frozen=True, slots=True)
class ClearanceEntry:
    """A clearance as typed: what, where, the value, its limit (``0.03..0.06 mm``), the person's
    word on it (one of `VERDICTS`; empty: as the limit says)."""

    name: str
    measured: str
    place: str = ""
    limit: str = ""
    verdict: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class InspectionView:
    """An inspection with its clearances, and how far its cylinders spread (``None`` where they
    were not measured)."""

    inspection: Inspection
    engine: Engine
    build: Build | None
    clearances: tuple[Clearance, ...]
    leak_down: Spread | None
    cranking: Spread | None


def add_inspection(
    desk: Desk,
    tag: str,
    typed: Mapping[str, str],
    *,
    build: str | None = None,
    clearances: Iterable[ClearanceEntry] = (),
    units: str | None = None,
) -> InspectionView:
    """Take an inspection down. `typed` has keys of `INSPECTION_FIELDS`; the build is the newest
    where none is named, the day today. One lash stands for all cylinders."""
    values, texts = attributes(Inspection, INSPECTION_FIELDS, typed, units)
    entered = [_clearance(entry, units) for entry in clearances]
    if not any(values.values()) and not entered:
        raise BadInput("nothing was measured or noted", where="Inspection",
                       wanted="at least one value or note")  # fmt: skip
    values.setdefault("who", desk.who)
    with desk.book.changing(who=desk.who, what="") as change:
        values.setdefault("inspected_on", today(desk, change))
        engine = engine_of(change, tag)
        inspection = Inspection(
            id=new_id(),
            engine_id=engine.id,
            build_id=build_of(change, engine, build).id,
            typed=texts,
            **_for_all(values, engine),
        )
        change.insert(inspection)
        for one in entered:
            change.insert(Clearance(id=new_id(), inspection_id=inspection.id, **one))
        change.what = f"Inspection of {engine.tag} entered"
        return _view(change, inspection)


def change_inspection(
    desk: Desk,
    inspection_id: str,
    typed: Mapping[str, str],
    *,
    clearances: Iterable[ClearanceEntry] = (),
    units: str | None = None,
    why: str = "",
) -> InspectionView:
    """Correct an inspection, or add clearances to it; one of the same name and place is set anew.
    An emptied text clears its field."""
    if not typed.get("date", "given").strip():
        raise BadInput("an inspection has a date", where="Date", wanted="such as 2026-03-01")
    values, texts = attributes(Inspection, INSPECTION_FIELDS, typed, units)
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        old = inspection_of(change, inspection_id)
        engine = change.get(Engine, old.engine_id)
        change.update(
            Inspection, old.id, typed=merged_typed(old.typed, texts), **_for_all(values, engine)
        )
        known = {(one.name.casefold(), one.place.casefold()): one.id
                 for one in clearances_of(change, old.id)}  # fmt: skip
        for entry in clearances:
            one = _clearance(entry, units)
            same = known.get((one["name"].casefold(), one["place"].casefold()))
            if same is None:
                change.insert(Clearance(id=new_id(), inspection_id=old.id, **one))
            else:
                change.update(Clearance, same, **one)
        change.what = f"Inspection of {engine.tag}, {old.inspected_on}, changed"
        return _view(change, change.get(Inspection, old.id))


def list_inspections(desk: Desk, tag: str, *, limit: int | None = None) -> list[InspectionView]:
    """The inspections of an engine, newest first."""
    with desk.book.reading() as read:
        engine = engine_of(read, tag)
        return [
            _view(read, one)
            for one in read.where(
                Inspection,
                engine_id=engine.id,
                order="inspected_on",
                descending=True,
                limit=limit,
            )
        ]


def show_inspection(desk: Desk, inspection_id: str) -> InspectionView:
    """One inspection, by its id or the beginning of it. Raises `NotFound`."""
    with desk.book.reading() as read:
        return _view(read, inspection_of(read, inspection_id))


def inspection_of(read: Reader, text: str) -> Inspection:
    """The inspection whose id begins so. Raises `NotFound`."""
    return by_id(read, Inspection, text, listed_by="inspection list")


def clearances_of(read: Reader, inspection_id: str) -> list[Clearance]:
    """The clearances of an inspection, as entered."""
    return read.where(Clearance, inspection_id=inspection_id)


def _for_all(values: dict[str, Any], engine: Engine) -> dict[str, Any]:
    """The values with as many cylinders as the engine has; one lash is that of all of them."""
    from logbook.cases.field_lists import by_attribute

    cylinders = engine.cylinders
    for attribute in _MEASURED:
        several = values.get(attribute)
        if not several or cylinders is None:
            continue
        if attribute in _LASH and len(several) == 1:
            values[attribute] = several * cylinders
        elif len(several) != cylinders:
            raise BadInput(
                f"{len(several)} values for {cylinders} cylinders",
                where=by_attribute(INSPECTION_FIELDS)[attribute].label,
                wanted="one for each, with - for what was not measured",
            )
    return values


def _clearance(entry: ClearanceEntry, units: str | None) -> dict[str, Any]:
    """The attributes of a typed clearance, its verdict checked against its limit."""
    from logbook.engineering.tolerance import IN, NO_LIMIT, Tolerance, verdict

    name = name_of(entry.name, "Clearance")
    bare = quantities.display_unit("clearance", units) if units else None
    measured = quantities.parse(entry.measured, "clearance", field=name, bare_unit=bare)
    typed = {"measured_mm": measured.typed}
    low, high = split_range(entry.limit, where=f"{name}, limit") if entry.limit else ("", "")
    edges: dict[str, float | None] = {"low_mm": None, "high_mm": None}
    for attribute, text in zip(edges, (low, high), strict=True):
        if text:
            edge = quantities.parse(text, "clearance", field=f"{name}, limit", bare_unit=bare)
            edges[attribute], typed[attribute] = edge.value, edge.typed
    if len(entry.place) > LONGEST_WORD:
        raise BadInput("too long for a place", where=name)
    said = entry.verdict.strip().casefold()
    if said and said not in VERDICTS:
        raise BadInput(f"{entry.verdict[:40]!r} is not one of the choices", where=name,
                       wanted="one of " + ", ".join(VERDICTS))  # fmt: skip
    found = verdict(measured.value, Tolerance(edges["low_mm"], edges["high_mm"]))
    if found not in (IN, NO_LIMIT) and said == WITHIN:
        raise BadInput(
            f"{measured.typed} does not lie within {entry.limit}",
            where=name,
            wanted="reclaim (dressed back within tolerance and kept) or reject",
        )
    return {
        "name": name,
        "place": " ".join(entry.place.split()),
        "measured_mm": measured.value,
        **edges,
        "verdict": said or (WITHIN if found in (IN, NO_LIMIT) else REJECT),
        "notes": entry.note.strip(),
        "typed": typed,
    }


def _view(read: Reader, one: Inspection) -> InspectionView:
    from logbook.engineering.cylinders import HIGH_IS_BAD, LOW_IS_BAD, spread

    def over(values: tuple[float | None, ...], bad: str, step: float) -> Spread | None:
        if all(value is None for value in values):
            return None
        return spread(values, bad=bad, step=step)

    return InspectionView(
        inspection=one,
        engine=read.get(Engine, one.engine_id),
        build=read.get(Build, one.build_id) if one.build_id else None,
        clearances=tuple(clearances_of(read, one.id)),
        leak_down=over(one.leak_down_percent, HIGH_IS_BAD, LEAK_DOWN_STEP_PERCENT),
        cranking=over(one.cranking_kpa, LOW_IS_BAD, CRANKING_STEP_KPA),
    )
