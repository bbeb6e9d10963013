"""What a calibration says of its instrument, which one stood when, and what pulls hear of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.records.calibration import LOAD_CELL, OF_SPAN, Calibration
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.pull import Pull
from logbook.records.times import day_in
from logbook.store.lookups import standing_ids
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.cases.recalibration import Recalibration
    from logbook.engineering.calibration import CalibrationFigures, CalibrationFit

EVER = "9999"  # after any stored time
OUT_OF_TOLERANCE = "out of tolerance"  # `engineering.calibration.BEYOND`
_LEAST_FOR_PARABOLA = 3


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """A calibration with what it says of its instrument.

    `verdict` is a word of `engineering.calibration`; `tolerance_percent` that of the span.
    `overdue` compares its due day with the desk's today; one that another has followed
    (`superseded`) is no longer due. `cautions` were said when it was entered.
    """

    calibration: Calibration
    cell: Cell
    figures: CalibrationFigures
    line: CalibrationFit
    parabola: CalibrationFit | None
    tolerance_percent: float | None
    verdict: str
    overdue: bool
    superseded: bool
    cautions: tuple[Caution, ...] = ()


def instrument_name(calibration: Calibration) -> str:
    """``load cell``, ``thermometer left inlet``."""
    return f"{calibration.instrument} {calibration.which}".rstrip()


def view_of(
    calibration: Calibration,
    cell: Cell,
    now: str,
    cautions: tuple[Caution, ...] = (),
    *,
    superseded: bool = False,
) -> CalibrationView:
    """What a calibration says; `now` is a stored time."""
    from logbook.engineering import calibration as fitting

    one = calibration
    figures = fitting.figures(
        one.reference_values,
        one.readings,
        one.directions,
        zero_before=one.zero_before,
        zero_after=one.zero_after,
    )
    percent = one.tolerance
    if percent is not None and one.tolerance_in != OF_SPAN:
        percent = 100.0 * percent / figures.span
    bends = len(set(one.reference_values)) >= _LEAST_FOR_PARABOLA
    return CalibrationView(
        calibration=one,
        cell=cell,
        figures=figures,
        line=fitting.fit(one.reference_values, one.readings, fitting.LINE),
        parabola=(
            fitting.fit(one.reference_values, one.readings, fitting.PARABOLA) if bends else None
        ),
        tolerance_percent=percent,
        verdict=fitting.judge(figures, percent),
        overdue=not superseded and is_overdue(one, now, cell.time_zone),
        superseded=superseded,
        cautions=cautions,
    )


def is_overdue(calibration: Calibration, at: str, zone: str) -> bool:
    """Whether its due day had come at a stored time, by the calendar of its cell's `zone`."""
    return calibration.due_on is not None and day_in(at, zone) >= calibration.due_on


def off_words(view: CalibrationView, percent: float, *, signed: bool = False) -> str:
    """A deviation in percent of the span as its tolerance is given: of the span or in the unit."""
    one = view.calibration
    sign = "+" if signed else ""
    if one.tolerance is None or one.tolerance_in == OF_SPAN:
        words = f"{percent:{sign}.2f} % of span"
    else:
        words = f"{percent * view.figures.span / 100.0:{sign}.3g} {one.unit}"
    return words.replace("-", "−")


def tolerance_words(view: CalibrationView) -> str:
    """``0.2 % of span``, ``0.05 inHg``; empty where none was set."""
    one = view.calibration
    if one.tolerance is None:
        return ""
    return f"{one.tolerance:.4g} {'% of span' if one.tolerance_in == OF_SPAN else one.unit}"


def standing_at(found: Iterable[CalibrationView], at: str) -> list[CalibrationView]:
    """Of a cell's calibrations those that stood at a stored time: the last one of each
    instrument before it."""
    last: dict[tuple[str, str], CalibrationView] = {}
    for view in sorted(found, key=_order):
        one = view.calibration
        if one.calibrated_at <= at:
            last[one.instrument, one.which.casefold()] = view
    return list(last.values())


def calibrations_during(
    read: Reader, cell: Cell, pulls: Sequence[Pull]
) -> tuple[CalibrationView, ...]:
    """The cell's calibrations that stood for any of these pulls."""
    times = [pull.at for pull in pulls]
    if not times:
        return ()
    found = standing_ids(read, cell.id, min(times), max(times))
    return tuple(view_of(read.get(Calibration, one), cell, max(times)) for one in found)


def calibrations_after(
    read: Reader, cell: Cell, pulls: Sequence[Pull]
) -> tuple[CalibrationView, ...]:
    """Of every instrument the cell's first calibration after the last of these pulls."""
    if not pulls:
        return ()
    last = max(pull.at for pull in pulls)
    first: dict[tuple[str, str], Calibration] = {}
    for one_id in standing_ids(read, cell.id, last, EVER):
        one = read.get(Calibration, one_id)
        if one.calibrated_at > last:
            first.setdefault((one.instrument, one.which.casefold()), one)
    return tuple(view_of(one, cell, one.calibrated_at) for one in first.values())


def calibration_cautions(
    found: Sequence[CalibrationView],
    later: Sequence[CalibrationView],
    pull: Pull,
    through: Recalibration | None,
) -> tuple[Caution, ...]:
    """What is to be said of a pull, given its cell's calibrations (those that stood during the
    session, and the first ones after it) and the one that it is taken through."""
    said = []
    for view in standing_at(found, pull.at):
        one, day = view.calibration, calibration_day(view)
        name = instrument_name(one)
        if _stays_out(view, through):
            said.append(
                Caution(
                    "calibration-out-of-tolerance",
                    f"The {name} was out of tolerance when it was calibrated on {day}:"
                    f" {_how_far(view)}",
                )
            )
        if is_overdue(one, pull.at, view.cell.time_zone):
            said.append(
                Caution(
                    "calibration-overdue",
                    f"The calibration of the {name} of {day} was due again on {one.due_on}",
                )
            )
    for view in _next_after((*found, *later), pull.at):
        if _stays_out(view, through):
            said.append(
                Caution(
                    "found-out-of-tolerance",
                    f"After this pull, on {calibration_day(view)}, the"
                    f" {instrument_name(view.calibration)} was found out of tolerance:"
                    f" {_how_far(view)}",
                )
            )
    return tuple(said)


def calibration_day(view: CalibrationView) -> str:
    """The day of a calibration by its cell's calendar."""
    return day_in(view.calibration.calibrated_at, view.cell.time_zone)


def _next_after(found: Iterable[CalibrationView], at: str) -> list[CalibrationView]:
    """The first calibration of each instrument after a stored time."""
    following: dict[tuple[str, str], CalibrationView] = {}
    for view in sorted(found, key=_order):
        one = view.calibration
        if one.calibrated_at > at:
            following.setdefault((one.instrument, one.which.casefold()), view)
    return list(following.values())


def _stays_out(view: CalibrationView, through: Recalibration | None) -> bool:
    """Whether what a calibration found out of tolerance still is in a pull's figures."""
    if view.verdict != OUT_OF_TOLERANCE or view.tolerance_percent is None:
        return False
    one = view.calibration
    made_good = (
        one.instrument == LOAD_CELL
        and through is not None
        and through.makes_good(one, view.tolerance_percent)
    )
    return not made_good


def _how_far(view: CalibrationView) -> str:
    shift = view.figures.zero_shift_percent or 0.0
    worst = max(abs(view.figures.worst_percent), abs(shift))
    return f"{off_words(view, worst)}, tolerance {tolerance_words(view)}"


def _order(view: CalibrationView) -> tuple[str, str]:
    return view.calibration.calibrated_at, view.calibration.id
