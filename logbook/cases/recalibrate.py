"""Taking pulls through a calibration made afterwards, and back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from logbook.cases.calibrations import calibration_of
from logbook.cases.desk import Desk
from logbook.cases.pulls import pull_of
from logbook.cases.rescoring import rescore
from logbook.cases.sessions import session_of
from logbook.quantities.spelling import find_unit
from logbook.records.calibration import LOAD_CELL, Calibration
from logbook.records.cell import Cell
from logbook.records.pull import OBSERVED, Pull
from logbook.records.session import Session
from logbook.records.times import day_in
from logbook.refusals import BadInput
from logbook.store.change import Change


def pulls_named(desk: Desk, sessions: Iterable[str], pulls: Iterable[str]) -> list[str]:
    """The ids of all pulls of some sessions, and of some single pulls, as people name them."""
    with desk.book.reading() as read:
        ids = [
            pull.id
            for ref in sessions
            for pull in read.where(Pull, session_id=session_of(read, ref).id, order="number")
        ]
        return list(dict.fromkeys([*ids, *(pull_of(read, ref).id for ref in pulls)]))


def apply_calibration(
    desk: Desk, calibration_id: str, pull_ids: Sequence[str], *, why: str = ""
) -> int:
    """Take pulls through a load cell's calibration; gives how many changed.

    What was recorded stays. Raises `BadInput` where the calibration is of another instrument or
    cell, is not in a unit of torque, or a file's torque had been corrected by its source already:
    of that nobody knows what the load cell showed.
    """
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        one = calibration_of(change, calibration_id)
        if one.instrument != LOAD_CELL or find_unit(one.unit, "torque") is None:
            raise BadInput("pulls are taken through the calibration of a load cell in torque",
                           where="Calibration", wanted="one of those")  # fmt: skip
        day = day_in(one.calibrated_at, change.get(Cell, one.cell_id).time_zone)
        change.what = f"Pulls taken through the load cell's calibration of {day}"
        return _set_on(change, pull_ids, one)


def take_off_calibration(desk: Desk, pull_ids: Sequence[str], *, why: str = "") -> int:
    """Let pulls stand as they were shown again; gives how many changed."""
    what = "Pulls no longer taken through a calibration"
    with desk.book.changing(who=desk.who, what=what, why=why) as change:
        return _set_on(change, pull_ids, None)


def _set_on(change: Change, pull_ids: Sequence[str], one: Calibration | None) -> int:
    changed = 0
    sessions: dict[str, list[str]] = {}
    for pull_id in dict.fromkeys(pull_ids):
        pull = change.get(Pull, pull_id)
        if one is not None:
            _check(change, pull, one)
        if change.update(Pull, pull.id, recalibration_id=one.id if one else None):
            changed += 1
            sessions.setdefault(pull.session_id, []).append(pull.id)
    for session_id, ids in sessions.items():
        rescore(change, session_id, ids)
    return changed


def _check(change: Change, pull: Pull, one: Calibration) -> None:
    session = change.get(Session, pull.session_id)
    if session.cell_id != one.cell_id:
        raise BadInput("the pull was taken in another cell", where=f"Pull {pull.number}",
                       wanted="a calibration of its own cell")  # fmt: skip
    if pull.torque_state != OBSERVED:
        raise BadInput(
            "its source had corrected the torque already: what the load cell showed is not known",
            where=f"Pull {pull.number}",
            wanted="pulls with observed torque",
        )
