"""Calibrations of a cell's instruments: entering them, what they say, which one stood when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from logbook import quantities
from logbook.cases.by_id import by_id
from logbook.cases.calibration_pairs import read_due, read_pairs, read_tolerance, unit_kind
from logbook.cases.calibration_view import EVER, CalibrationView, instrument_name, view_of
from logbook.cases.desk import Desk
from logbook.cases.engines import cell_of
from logbook.cases.fields import LONGEST_NOTE, LONGEST_WORD
from logbook.cases.typed import read_time
from logbook.quantities.numbers import split_number
from logbook.records.calibration import (
    INSTRUMENTS,
    LOAD_CELL,
    OF_SPAN,
    STANDARD_GRAVITY_M_S2,
    Calibration,
)
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.times import local
from logbook.refusals import BadInput
from logbook.store.lookups import standing_ids
from logbook.store.reader import Reader


@dataclass(frozen=True, slots=True)
class CalibrationEntry:
    """A calibration as typed.

    `pairs` as `calibration_pairs.read_pairs` takes them, in `unit`. Where a load cell was hung
    with weights, the references are masses in `weights` (``kg``, ``lb``) on `arm` (else the
    cell's), with the place's `gravity` in m/s² or its `latitude` in degrees. `at` is a time or a
    date in the cell's zone, else now; `due` a date or so long after.
    """

    instrument: str
    pairs: str
    unit: str
    which: str = ""
    at: str = ""
    weights: str = ""
    arm: str = ""
    gravity: str = ""
    latitude: str = ""
    zero_before: str = ""
    zero_after: str = ""
    tolerance: str = ""
    due: str = ""
    who: str = ""
    note: str = ""


def add_calibration(desk: Desk, cell_name: str, entry: CalibrationEntry) -> CalibrationView:
    """Take a calibration down. Observed pairs are kept as written; everything else is computed."""
    with desk.book.changing(who=desk.who, what="") as change:
        view = _made(change, desk, cell_name, entry)
        change.insert(view.calibration)
        name = instrument_name(view.calibration)
        change.what = f"Calibration of the {name} of {view.cell.name} entered"
        return view


def preview_calibration(desk: Desk, cell_name: str, entry: CalibrationEntry) -> CalibrationView:
    """What `add_calibration` would say, without taking it down."""
    with desk.book.reading() as read:
        return _made(read, desk, cell_name, entry)


def _made(read: Reader, desk: Desk, cell_name: str, entry: CalibrationEntry) -> CalibrationView:
    instrument = _instrument(entry.instrument)
    unit, kind = unit_kind(instrument, entry.unit)
    references, readings, ways = read_pairs(entry.pairs)
    which, note = " ".join(entry.which.split()), entry.note.strip()
    _check_length(which, note)
    cell = cell_of(read, cell_name)
    at = read_time(entry.at, cell.time_zone, field="Date") if entry.at.strip() else desk.timestamp()
    hung, cautions = _hung(entry, cell, instrument)
    if hung:
        references = _torques(references, entry.weights, unit, hung)
    calibration = Calibration(
        id=new_id(),
        cell_id=cell.id,
        calibrated_at=at,
        instrument=instrument,
        unit=unit,
        reference_values=references,
        readings=readings,
        directions=ways,
        which=which,
        who=entry.who.strip() or desk.who,
        notes=note,
        **_values(entry, unit, kind, local(at, cell.time_zone).date()),
        **hung,
    )
    return view_of(calibration, cell, desk.timestamp(), cautions)


def _instrument(text: str) -> str:
    wanted = " ".join(text.replace("-", " ").split()).casefold()
    found = [name for name in INSTRUMENTS if wanted and name.startswith(wanted)]
    if len(found) != 1:
        raise BadInput(f"{text[:40]!r} is not an instrument", where="Instrument",
                       wanted="one of " + ", ".join(INSTRUMENTS))  # fmt: skip
    return found[0]


def _values(entry: CalibrationEntry, unit: str, kind: str, day: date) -> dict[str, Any]:
    """Zeros, tolerance and due day, with the texts they were typed as."""
    values: dict[str, Any] = {}
    typed = {"reference_values": entry.pairs.strip(), "unit": entry.unit.strip()}
    for name in ("zero_before", "zero_after"):
        text = getattr(entry, name).strip()
        if text:
            values[name] = _zero(text, unit, kind, name.replace("_", " ").capitalize())
            typed[name] = text
    if entry.tolerance.strip():
        typed["tolerance"] = entry.tolerance.strip()
        values["tolerance"], values["tolerance_in"] = read_tolerance(typed["tolerance"], unit, kind)
    if entry.due.strip():
        typed["due_on"] = entry.due.strip()
        values["due_on"] = read_due(typed["due_on"], day)
    if entry.weights.strip():
        typed["weights"] = entry.weights.strip()
    return {**values, "typed": typed}


def _zero(text: str, unit: str, kind: str, label: str) -> float:
    number, own = split_number(text, field=label, wanted=f"such as 0.1 {unit}")
    if not own:
        return number
    return quantities.from_stored(quantities.parse(text, kind, field=label).value, unit, kind)


def _check_length(which: str, note: str) -> None:
    if len(which) > LONGEST_WORD or len(note) > LONGEST_NOTE:
        raise BadInput("too long", where="Calibration", wanted="fewer words")


def _hung(
    entry: CalibrationEntry, cell: Cell, instrument: str
) -> tuple[dict[str, Any], tuple[Caution, ...]]:
    """Arm and gravity where weights were hung, and what is to be said about them."""
    from logbook.engineering.gravity import local_gravity_m_s2

    if not entry.weights.strip():
        return {}, ()
    if instrument != LOAD_CELL:
        raise BadInput("only a load cell is hung with weights", where="Weights",
                       wanted="pairs in the unit that the instrument reads")  # fmt: skip
    arm = quantities.parse(entry.arm, "length", field="Arm").value if entry.arm else cell.arm_mm
    if arm is None:
        raise BadInput("the cell's sheet has no arm", where="Arm", wanted="such as 1000 mm")
    if entry.gravity.strip():
        gravity, unit = split_number(entry.gravity, field="Gravity", wanted="such as 9.807")
        if unit.replace("²", "2").replace(" ", "") not in ("", "m/s2"):
            raise BadInput(f"{entry.gravity[:40]!r} is not in m/s²", where="Gravity",
                           wanted="such as 9.807")  # fmt: skip
        return {"arm_mm": arm, "gravity_m_s2": gravity}, ()
    if entry.latitude.strip():
        degrees, _ = split_number(
            entry.latitude.rstrip("° "), field="Latitude", wanted="such as 47.5"
        )
        return {
            "arm_mm": arm, "gravity_m_s2": local_gravity_m_s2(degrees, cell.altitude_m or 0.0)
        }, ()  # fmt: skip
    said = Caution(
        "gravity-assumed",
        f"Gravity was taken as {STANDARD_GRAVITY_M_S2} m/s²; it differs by up to 0.3 % over the"
        " earth: say the latitude, or a surveyed value",
    )
    return {"arm_mm": arm, "gravity_m_s2": STANDARD_GRAVITY_M_S2}, (said,)


def _torques(
    masses: Iterable[float], weights: str, unit: str, hung: Mapping[str, float]
) -> tuple[float, ...]:
    from logbook.engineering.gravity import dead_weight_torque_nm

    found = []
    for mass in masses:
        kilograms = quantities.parse(f"{mass!r} {weights}", "mass", field="Weights").value
        torque = dead_weight_torque_nm(kilograms, hung["arm_mm"], hung["gravity_m_s2"])
        found.append(quantities.from_stored(torque, unit, "torque"))
    return tuple(found)


def change_calibration(
    desk: Desk,
    calibration_id: str,
    *,
    which: str | None = None,
    tolerance: str | None = None,
    due: str | None = None,
    note: str | None = None,
    why: str = "",
) -> CalibrationView:
    """Correct what was said about a calibration; an empty text clears. The pairs are what was
    observed: a wrong pair is a calibration to drop and to enter anew."""
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        one = calibration_of(change, calibration_id)
        cell = change.get(Cell, one.cell_id)
        values: dict[str, Any] = {}
        typed = dict(one.typed)
        if which is not None:
            values["which"] = " ".join(which.split())
        if note is not None:
            values["notes"] = note.strip()
        _check_length(values.get("which", ""), values.get("notes", ""))
        if tolerance is not None:
            typed["tolerance"] = tolerance.strip()
            _, kind = unit_kind(one.instrument, one.unit)
            values["tolerance"], values["tolerance_in"] = (
                read_tolerance(typed["tolerance"], one.unit, kind)
                if typed["tolerance"]
                else (None, OF_SPAN)
            )
        if due is not None:
            typed["due_on"] = due.strip()
            day = local(one.calibrated_at, cell.time_zone).date()
            values["due_on"] = read_due(typed["due_on"], day) if typed["due_on"] else None
        typed = {name: text for name, text in typed.items() if text}
        change.update(Calibration, one.id, typed=typed, **values)
        change.what = f"Calibration of the {instrument_name(one)} of {cell.name} changed"
        return view_of(change.get(Calibration, one.id), cell, desk.timestamp())


def drop_calibration(desk: Desk, calibration_id: str, *, why: str = "") -> Calibration:
    """Take a calibration back that should not count. Pulls that it was kept with let go of it.

    Raises `Conflict` where pulls are taken through it: take it off them first.
    """
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        one = calibration_of(change, calibration_id)
        for pull in change.where(Pull, calibration_id=one.id, with_withdrawn=True):
            change.update(Pull, pull.id, calibration_id=None)
        change.withdraw(Calibration, one.id)
        change.what = f"Calibration of the {instrument_name(one)} taken out"
    return one


def list_calibrations(desk: Desk, cell_name: str | None = None) -> list[CalibrationView]:
    """The calibrations of a cell, or of all, newest first."""
    with desk.book.reading() as read:
        cells = {cell.id: cell for cell in read.where(Cell)}
        only = set(cells) if cell_name is None else {cell_of(read, cell_name).id}
        found = read.where(Calibration, order="calibrated_at", descending=True, cell_id=only)
        now = desk.timestamp()
        last = {one for cell_id in only for one in standing_ids(read, cell_id, EVER, EVER)}
        return [
            view_of(one, cells[one.cell_id], now, superseded=one.id not in last) for one in found
        ]


def show_calibration(desk: Desk, calibration_id: str) -> CalibrationView:
    """One calibration by its id or the beginning of it. Raises `NotFound`."""
    with desk.book.reading() as read:
        one = calibration_of(read, calibration_id)
        cell = read.get(Cell, one.cell_id)
        last = standing_ids(read, cell.id, EVER, EVER)
        return view_of(one, cell, desk.timestamp(), superseded=one.id not in last)


def calibration_of(read: Reader, text: str) -> Calibration:
    """The calibration whose id begins so. Raises `NotFound`."""
    return by_id(read, Calibration, text, listed_by="calibration list")
