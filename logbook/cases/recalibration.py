"""Pulls taken through a calibration made afterwards: a visible step that can be taken back.

What the load cell showed stays as it was recorded. Only what is corrected from it is computed
through the calibration's fit turned round.
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

    def caution(self, shown: Figures) -> Caution:
        """What is to be said of a pull that is taken through it."""
        day, unit = self.calibration.calibrated_at[:10], self.calibration.unit
        words = f"Corrected torque is taken through the load cell's calibration of {day}"
        highest = shown.peak_torque_nm
        if highest is not None:
            true = quantities.from_stored(float(self.torque_nm(highest)), unit, "torque")
            if true > self.fit.high * (1.0 + 1e-9):
                words += (
                    f"; above {self.fit.high:.4g} {unit}, where it ended, its fit is carried on"
                )
        return Caution("recalibrated", words)


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
