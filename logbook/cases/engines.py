"""Engines, their builds, the fuels and the cells: entering, changing and listing them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from logbook.cases.desk import Desk
from logbook.cases.field_lists import CELL_FIELDS, ENGINE_FIELDS, FUEL_FIELDS
from logbook.cases.fields import LONGEST_WORD, read_band
from logbook.cases.labels import today
from logbook.cases.rescoring import rescore_engine
from logbook.cases.typed import attributes, check_zone, merged_typed, nearest, read_date
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.ids import new_id
from logbook.records.lists import EngineRow
from logbook.refusals import BadInput, Conflict, NotFound
from logbook.store import overview
from logbook.store.reader import Reader

FIRST_BUILD = "build 1"


def list_engines(desk: Desk) -> list[EngineRow]:
    """Every engine with its last session, pulls and best, most recently run first."""
    with desk.book.reading() as read:
        return overview.engine_rows(read)


def engine_by_tag(desk: Desk, tag: str) -> Engine:
    """The engine with this tag, however its case; `NotFound` names the nearest tags."""
    with desk.book.reading() as read:
        return engine_of(read, tag)


def engine_of(read: Reader, tag: str) -> Engine:
    """`engine_by_tag` inside an open reading or change."""
    engines = read.where(Engine)
    wanted = tag.strip().casefold()
    for engine in engines:
        if engine.tag.casefold() == wanted or engine.id == tag:
            return engine
    raise NotFound(
        f"no engine {tag[:40]!r} in this book",
        where="Engine",
        wanted=nearest(tag, [engine.tag for engine in engines]),
    )


def name_of(text: str, what: str) -> str:
    """A tag, label or name: one line, not empty, no slash (people type ENGINE/DATE/NUMBER)."""
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_WORD or "/" in name or not name.isprintable():
        raise BadInput(
            f"{text[:40]!r} is not usable as a name",
            where=what,
            wanted=f"one line without a slash, at most {LONGEST_WORD} characters",
        )
    return name


def add_engine(
    desk: Desk,
    tag: str,
    typed: Mapping[str, str],
    *,
    band: str | None = None,
    units: str | None = None,
) -> Engine:
    """Enter an engine, with a first build. `typed` has keys of `ENGINE_FIELDS`."""
    values, texts = attributes(Engine, ENGINE_FIELDS, typed, units)
    values.update(_band(band, texts))
    engine = Engine(id=new_id(), tag=name_of(tag, "Engine tag"), typed=texts, **values)
    _check_engine(engine)
    with desk.book.changing(who=desk.who, what=f"Engine {engine.tag} entered") as change:
        _refuse_taken(change, engine.tag)
        change.insert(engine)
        change.insert(
            Build(
                id=new_id(),
                engine_id=engine.id,
                label=FIRST_BUILD,
                built_on=today(desk, change),
            )
        )
    return engine


def change_engine(
    desk: Desk,
    tag: str,
    typed: Mapping[str, str],
    *,
    band: str | None = None,
    units: str | None = None,
    why: str = "",
) -> Engine:
    """Correct an engine's sheet; an emptied text clears the field. The old values stay in the
    audit trail, and every figure that hangs on the sheet is computed anew."""
    values, texts = attributes(Engine, ENGINE_FIELDS, typed, units)
    values.update(_band(band, texts))
    with desk.book.changing(who=desk.who, what=f"Engine {tag} changed", why=why) as change:
        engine = engine_of(change, tag)
        changed = replace(engine, typed=merged_typed(engine.typed, texts), **values)
        _check_engine(changed)
        change.update(Engine, engine.id, typed=changed.typed, **values)
        rescore_engine(change, engine.id)
    return changed


def copy_engine(desk: Desk, tag: str, new_tag: str) -> Engine:
    """A new engine with the sheet of another: the quick way to enter a sister."""
    with desk.book.changing(who=desk.who, what=f"Engine {new_tag} copied from {tag}") as change:
        original = engine_of(change, tag)
        copy = replace(original, id=new_id(), tag=name_of(new_tag, "Engine tag"), break_in="")
        _refuse_taken(change, copy.tag)
        change.insert(copy)
        change.insert(
            Build(
                id=new_id(),
                engine_id=copy.id,
                label=FIRST_BUILD,
                built_on=today(desk, change),
            )
        )
    return copy


def _refuse_taken(read: Reader, tag: str) -> None:
    if any(engine.tag.casefold() == tag.casefold() for engine in read.where(Engine)):
        raise Conflict(f"{tag!r} is already an engine in this book", where="Engine tag",
                       wanted="another tag, or change the engine that is there")  # fmt: skip


def _band(band: str | None, texts: dict[str, str]) -> dict[str, Any]:
    if band is None:
        return {}
    low, high = read_band(band)
    texts["band_low_rpm"] = band.strip()
    return {"band_low_rpm": low, "band_high_rpm": high}


def _check_engine(engine: Engine) -> None:
    pairs = (
        ("Timing", engine.least_timing_deg, engine.limit_timing_deg),
        ("Ready window, oil", engine.ready_oil_low_c, engine.ready_oil_high_c),
        ("Ready window, coolant", engine.ready_coolant_low_c, engine.ready_coolant_high_c),
    )
    for what, low, high in pairs:
        if low is not None and high is not None and low >= high:
            raise BadInput("the lower limit is not below the upper one", where=what)


def add_fuel(desk: Desk, name: str, typed: Mapping[str, str], *, units: str | None = None) -> Fuel:
    """Enter a batch of fuel."""
    values, texts = attributes(Fuel, FUEL_FIELDS, typed, units)
    if values.get("opened_on"):
        values["opened_on"] = read_date(values["opened_on"], field="Opened on")
    fuel = Fuel(id=new_id(), name=name_of(name, "Fuel"), typed=texts, **values)
    with desk.book.changing(who=desk.who, what=f"Fuel {fuel.name} entered") as change:
        if match_fuel(change, fuel_label(fuel)):
            raise Conflict(f"{fuel_label(fuel)!r} is already on file", where="Fuel",
                           wanted="another name or batch")  # fmt: skip
        change.insert(fuel)
    return fuel


def list_fuels(desk: Desk) -> list[Fuel]:
    """Every fuel on file, newest first."""
    with desk.book.reading() as read:
        return read.where(Fuel, descending=True)


def fuel_label(fuel: Fuel) -> str:
    """How a fuel is named as the level of a set-up."""
    return f"{fuel.name} {fuel.batch}".strip()


def match_fuel(read: Reader, text: str) -> Fuel | None:
    """The fuel on file that a set-up's level names, newest batch first."""
    wanted = " ".join(text.split()).casefold()
    fuels = read.where(Fuel, descending=True)
    for label in (fuel_label, lambda fuel: fuel.name):
        for fuel in fuels:
            if label(fuel).casefold() == wanted:
                return fuel
    return None


def add_cell(
    desk: Desk,
    name: str,
    typed: Mapping[str, str],
    *,
    standard: str | None = None,
    units: str | None = None,
) -> Cell:
    """Enter a cell. Its standard and units are the start for its sessions."""
    from logbook.engineering.correction import standard as known_standard

    values, texts = attributes(Cell, CELL_FIELDS, typed, units)
    if "time_zone" in values:
        check_zone(values["time_zone"])
    if standard is not None:
        values["standard"] = known_standard(standard).key
    cell = Cell(id=new_id(), name=name_of(name, "Cell"), typed=texts, **values)
    with desk.book.changing(who=desk.who, what=f"Cell {cell.name} entered") as change:
        if any(other.name.casefold() == cell.name.casefold() for other in change.where(Cell)):
            raise Conflict(f"{cell.name!r} is already a cell in this book", where="Cell")
        change.insert(cell)
    return cell


def change_cell(
    desk: Desk,
    name: str,
    typed: Mapping[str, str],
    *,
    standard: str | None = None,
    units: str | None = None,
    why: str = "",
) -> Cell:
    """Correct a cell's sheet."""
    from logbook.engineering.correction import standard as known_standard

    values, texts = attributes(Cell, CELL_FIELDS, typed, units)
    if values.get("time_zone"):
        check_zone(values["time_zone"])
    if standard is not None:
        values["standard"] = known_standard(standard).key
    with desk.book.changing(who=desk.who, what=f"Cell {name} changed", why=why) as change:
        cell = cell_of(change, name)
        change.update(Cell, cell.id, typed=merged_typed(cell.typed, texts), **values)
        return change.get(Cell, cell.id)


def list_cells(desk: Desk) -> list[Cell]:
    """Every cell of the book."""
    with desk.book.reading() as read:
        return read.where(Cell)


def cell_of(read: Reader, name: str) -> Cell:
    """The cell with this name; `NotFound` names the nearest."""
    cells = read.where(Cell)
    for cell in cells:
        if cell.name.casefold() == name.strip().casefold() or cell.id == name:
            return cell
    raise NotFound(f"no cell {name[:40]!r} in this book", where="Cell",
                   wanted=nearest(name, [cell.name for cell in cells]))  # fmt: skip
