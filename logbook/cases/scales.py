"""Pulls on different scales: some taken through a calibration of the load cell, some not.

What a load cell showed before and after it was put right differs without the engine having
changed. Such pulls are not judged against each other within a session (`grouping`); between
sessions it is listed among what nobody controlled.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from logbook.cases.labels import pulls_words
from logbook.plain import capital
from logbook.records.calibration import LOAD_CELL
from logbook.records.caution import Caution
from logbook.records.pull import Pull
from logbook.records.times import day_in
from logbook.store.lookups import standing_id

if TYPE_CHECKING:
    from logbook.cases.bench import Bench
    from logbook.store.reader import Reader

_MEND = "take all of them through one, or none"


def calibration_behind(read: Reader, cell_id: str, pull: Pull) -> str:
    """The load cell's calibration (id) that a pull's torque rests on: the one that it is taken
    through, else the last one before it; ``""`` for none."""
    return pull.taken_through or standing_id(read, cell_id, pull.at, LOAD_CELL) or ""


def main_scale(pulls: Iterable[Pull]) -> str | None:
    """The scale (`Pull.taken_through`) that most of these pulls are on; of two the later."""
    scales = _by_scale(pulls)
    return max(scales, key=lambda one: (len(scales[one]), scales[one]), default=None)


def scale_cautions(bench: Bench) -> tuple[Caution, ...]:
    """Said once of a session whose counted pulls, or whose baseline elsewhere, are on different
    scales."""
    here = _by_scale(bench.line.counted)
    if len(here) > 1:
        return (_caution(f"{_listed(bench, here)}: they are not compared; {_MEND}"),)
    if bench.elsewhere is None or not here:
        return ()
    there = _by_scale(p for p in bench.elsewhere.pulls if p.id in bench.baseline_pulls)
    if set(there) == set(here):
        return ()
    return (
        _caution(
            f"The baseline's session: {_listed(bench.elsewhere, there)}; here:"
            f" {_listed(bench, here)}. What the load cell changed is in the difference; {_MEND}"
        ),
    )


def another_scale(pull: Pull, other: Pull) -> str:
    """Why a pull is not compared with another one of its session, or ``""``."""
    if pull.taken_through == other.taken_through:
        return ""
    return (
        f"Pulls {other.number} and {pull.number} are not taken through the same calibration of the"
        f" load cell: {_MEND}"
    )


def _caution(words: str) -> Caution:
    return Caution("another-calibration", capital(words))


def _by_scale(pulls: Iterable[Pull]) -> Mapping[str | None, list[int]]:
    found: dict[str | None, list[int]] = {}
    for pull in pulls:
        found.setdefault(pull.taken_through, []).append(pull.number)
    return found


def _listed(bench: Bench, scales: Mapping[str | None, list[int]]) -> str:
    """``pulls 1–3 taken through no calibration, pulls 4–6 taken through …``."""
    return ", ".join(
        f"{pulls_words(numbers)} taken through {_calibration(bench, scale)}"
        for scale, numbers in scales.items()
    )


def _calibration(bench: Bench, scale: str | None) -> str:
    if scale is None:
        return "no calibration"
    day = day_in(bench.recalibrations[scale].calibration.calibrated_at, bench.cell.time_zone)
    return f"the load cell's calibration of {day}"
