"""What a calibration says of its instrument, which one stood when, and what pulls hear of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.records.calibration import LOAD_CELL, OF_SPAN, Calibration
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.pull import Pull
from logbook.store.lookups import standing_ids
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.engineering.calibration import CalibrationFigures, CalibrationFit

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
        overdue=not superseded and is_overdue(one, now),
        superseded=superseded,
        cautions=cautions,
    )


def is_overdue(calibration: Calibration, at: str) -> bool:
    """Whether its due day had come at a stored time."""
    return calibration.due_on is not None and at[:10] >= calibration.due_on


def off_words(view: CalibrationView, percent: float, *, signed: bool = False) -> str:
    """A deviation in per cent of the span as its tolerance is given: of the span or in the unit."""
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
    for view in sorted(
        found, key=lambda view: (view.calibration.calibrated_at, view.calibration.id)
    ):
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


def calibration_cautions(found: Iterable[CalibrationView], pull: Pull) -> tuple[Caution, ...]:
    """What is to be said of a pull, given its cell's calibrations."""
    said = []
    for view in standing_at(found, pull.at):
        one, day = view.calibration, view.calibration.calibrated_at[:10]
        name = instrument_name(one)
        made_good = one.instrument == LOAD_CELL and pull.recalibration_id is not None
        if view.verdict == OUT_OF_TOLERANCE and not made_good:
            shift = view.figures.zero_shift_percent or 0.0
            worst = max(abs(view.figures.worst_percent), abs(shift))
            said.append(
                Caution(
                    "calibration-out-of-tolerance",
                    f"The {name} was out of tolerance when it was calibrated on {day}:"
                    f" {off_words(view, worst)}, tolerance {tolerance_words(view)}",
                )
            )
        if is_overdue(one, pull.at):
            said.append(
                Caution(
                    "calibration-overdue",
                    f"The calibration of the {name} of {day} was due again on {one.due_on}",
                )
            )
    return tuple(said)


def _order(view: CalibrationView) -> tuple[str, str]:
    return view.calibration.calibrated_at, view.calibration.id
