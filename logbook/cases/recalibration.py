"""Pulls taken through a calibration made afterwards: a visible step that can be taken back.

What the load cell showed stays as it was recorded. Only what is corrected from it is computed
through the calibration's fit turned round (classical calibration; Draper & Smith, *Applied
Regression Analysis* (1998), 3.2, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from logbook import quantities
from logbook.records.calibration import Calibration
from logbook.records.caution import Caution
from logbook.records.pull import Pull
from logbook.records.score import Figures
from logbook.records.times import day_in
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.engineering.calibration import CalibrationFit
    from logbook.store.reader import Reader


@dataclass(frozen=True, slots=True)
class Recalibration:
    """A load cell's calibration as it turns what was shown into what it stood for."""

    calibration: Calibration
    fit: CalibrationFit

    def torque_nm(self, shown_nm: Any) -> Any:
        """True torque of shown torque, N·m; arrays of any shape, or one number."""
        from logbook.engineering.calibration import true_values

        unit = self.calibration.unit
        one = quantities.to_stored(1.0, unit, "torque")  # torques have no zero offset
        return true_values(shown_nm / one, self.fit) * one

    def figures(self, shown: Figures) -> Figures:
        """Peaks that were shown, as what they stood for."""
        from logbook.engineering.engine import power_kw, torque_nm

        torque, power = shown.peak_torque_nm, shown.peak_power_kw
        if torque is not None:
            torque = float(self.torque_nm(torque))
        if power is not None:
            at = shown.peak_power_rpm
            power = (
                None if at is None else power_kw(float(self.torque_nm(torque_nm(power, at))), at)
            )
        return replace(shown, peak_torque_nm=torque, peak_power_kw=power)

    def caution(self, shown_nm: tuple[float, float] | None, zone: str) -> Caution:
        """What is to be said of a pull that is taken through it, whose least and greatest torque
        as shown, N·m, are given where known. `zone` is the cell's."""
        day, unit = day_in(self.calibration.calibrated_at, zone), self.calibration.unit
        words = f"Corrected torque is taken through the load cell's calibration of {day}"
        beyond = []
        if shown_nm is not None:
            low, high = (
                quantities.from_stored(float(self.torque_nm(one)), unit, "torque")
                for one in shown_nm
            )
            least = 1e-9 * (self.fit.high - self.fit.low)
            if low < self.fit.low - least:
                beyond.append(f"below {self.fit.low:.4g} {unit}, where it began")
            if high > self.fit.high + least:
                beyond.append(f"above {self.fit.high:.4g} {unit}, where it ended")
        if beyond:
            words += f"; {', and '.join(beyond)}, its fit is carried on"
        return Caution("recalibrated", words)

    def makes_good(self, found: Calibration, tolerance_percent: float) -> bool:
        """Whether pulls taken through this one are rid of what that calibration found: it is the
        same or a later one of the same load cell, and what its fit leaves of its own readings,
        like the zero that moved meanwhile, is within the tolerance (percent of the span)."""
        mine = self.calibration
        if mine.which.casefold() != found.which.casefold():
            return False
        if mine.calibrated_at < found.calibrated_at:
            return False
        left = max(map(abs, self.fit.residuals))
        if mine.zero_before is not None and mine.zero_after is not None:
            left = max(left, abs(mine.zero_after - mine.zero_before))
        return 100.0 * left <= tolerance_percent * (self.fit.high - self.fit.low) * (1.0 + 1e-9)


def recalibrations_of(read: Reader, pulls: Iterable[Pull]) -> Mapping[str, Recalibration]:
    """The calibrations that pulls are taken through, by id."""
    wanted = {pull.recalibration_id for pull in pulls if pull.recalibration_id}
    return {one: recalibration(read.get(Calibration, one)) for one in wanted}


def recalibration(calibration: Calibration) -> Recalibration:
    """The fit that pulls are taken through: the parabola where the readings are curved and it
    does not turn back within them, else the line."""
    from logbook.engineering import calibration as fitting

    true, shown = calibration.reference_values, calibration.readings
    line = fitting.fit(true, shown, fitting.LINE)
    if fitting.figures(true, shown).curved:
        bent = fitting.fit(true, shown, fitting.PARABOLA)
        try:
            fitting.true_values(shown, bent)
        except BadInput:
            return Recalibration(calibration, line)
        return Recalibration(calibration, bent)
    return Recalibration(calibration, line)
