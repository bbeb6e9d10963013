"""From what was recorded to the figures of a pull: curve, correction, score.

The formulas stand in `logbook.engineering`; this file says which go together for a pull, and
is the only place that does, so that lists, answers, exports and `verify` agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.air_of_pulls import state_of
from logbook.cases.place import Place
from logbook.cases.pull_curve import curve_of, torque_range
from logbook.records.air import AirReading
from logbook.records.caution import Caution
from logbook.records.pull import OBSERVED, Pull
from logbook.records.score import Figures, Score
from logbook.records.trace import Trace

if TYPE_CHECKING:
    from logbook.engineering.trace import Curve

# Raised whenever the same records would give other figures; stored scores of an older version
# are not shown and are made again.
SCORE_VERSION = 1


@dataclass(frozen=True, slots=True, eq=False)
class Reckoned:
    """A pull's curves and figures. `observed` is ``None`` where the source gave only corrected
    values and no air to take the correction back with; `corrected` where there is no factor."""

    score: Score
    observed: Curve | None
    corrected: Curve | None
    cautions: tuple[Caution, ...]


def reckon(pull: Pull, trace: Trace | None, air: AirReading | None, place: Place) -> Reckoned:
    """Curve and figures of a pull under the standard and band of its place."""
    cautions: list[Caution] = []
    recorded = true = curve_of(pull, trace, place, cautions)
    observed_factor, corrected_factor, factor = _factors(pull, air, place, cautions)
    as_recorded = as_true = _figures(pull, recorded, place.band)
    through = place.recalibrations.get(pull.taken_through or "")
    if through is not None:
        true = curve_of(pull, trace, place, [], through)
        as_true = through.figures(as_recorded) if true is None else _figures(pull, true, place.band)
        shown = torque_range(pull, trace)
        cautions.append(through.caution(shown, place.cell.time_zone))
    observed_figures = _times(as_recorded, observed_factor)
    corrected_figures = _times(as_true, corrected_factor)
    if (
        recorded is not None
        and place.band is not None
        and observed_or(observed_figures, corrected_figures).band_power_kw is None
    ):
        cautions.append(_band_not_covered(recorded, place.band))
    score = Score(
        pull_id=pull.id,
        version=SCORE_VERSION,
        standard=place.standard_key,
        factor=factor,
        observed=observed_figures,
        corrected=corrected_figures,
    )
    return Reckoned(
        score,
        _scaled(recorded, observed_factor),
        _scaled(true, corrected_factor),
        tuple(cautions),
    )


def restated(pull: Pull, score: Score, air: AirReading | None, place: Place) -> Figures | None:
    """Stored figures taken over to the standard of `place`, whose band they are of; ``None``
    where the source had corrected them or they go through another calibration, and it takes what
    was recorded."""
    if pull.torque_state != OBSERVED or pull.recalibration_id is not None:
        return None
    _, factor, _ = _factors(pull, air, place, [])
    return _times(score.observed, factor)


def observed_or(observed: Figures, corrected: Figures) -> Figures:
    """The corrected figures where there are any, else the observed ones."""
    return corrected if corrected != Figures() else observed


def _factors(
    pull: Pull, air: AirReading | None, place: Place, cautions: list[Caution]
) -> tuple[float | None, float | None, float | None]:
    """(recorded → observed, recorded → corrected, the standard's factor for this air)."""
    from logbook.engineering.correction import correct, refusal_to_correct, standard

    wanted = place.standard_key
    name = standard(wanted).name
    refusal = refusal_to_correct(place.engine.ignition, place.engine.aspiration)
    if refusal and wanted != "none":
        cautions.append(Caution("not-correctable", refusal))
        return (1.0 if pull.torque_state == OBSERVED else None), None, None
    state = state_of(air) if air else None
    factor: float | None = None
    if wanted == "none":
        factor = 1.0
    elif state is not None:
        correction = correct(wanted, state)
        factor = correction.factor
        cautions.extend(correction.cautions)
    if pull.torque_state == OBSERVED:
        if factor is None:
            cautions.append(
                Caution("no-air", f"No air reading: nothing can be corrected to {name}")
            )
        return 1.0, factor, factor
    already = standard(pull.torque_state)
    if state is None:
        if pull.torque_state == wanted:
            return None, 1.0, factor
        cautions.append(
            Caution(
                "already-corrected",
                f"The source had corrected to {already.name}; without the air of that pull it"
                f" cannot be taken over to {name}",
            )
        )
        return None, None, factor
    back = 1.0 / correct(pull.torque_state, state).factor
    cautions.append(
        Caution(
            "already-corrected",
            f"The source had corrected to {already.name}; observed values are computed back with"
            " the air entered here",
        )
    )
    if pull.torque_state == wanted:
        return back, 1.0, factor
    return back, None if factor is None else back * factor, factor


def _scaled(curve: Curve | None, factor: float | None) -> Curve | None:
    if curve is None or factor is None:
        return None
    from logbook.engineering.trace import scaled

    return curve if factor == 1.0 else scaled(curve, factor)


def _figures(pull: Pull, curve: Curve | None, band: tuple[float, float] | None) -> Figures:
    """As recorded, or as typed."""
    if curve is not None:
        from logbook.engineering.trace import figures

        return figures(curve, band)
    return Figures(
        pull.peak_power_kw, pull.peak_power_rpm, pull.peak_torque_nm, pull.peak_torque_rpm
    )


def _times(recorded: Figures, factor: float | None) -> Figures:
    """Figures are proportional to the curve; none without a factor."""
    if factor is None:
        return Figures()

    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    return Figures(
        peak_power_kw=times(recorded.peak_power_kw),
        peak_power_rpm=recorded.peak_power_rpm,
        peak_torque_nm=times(recorded.peak_torque_nm),
        peak_torque_rpm=recorded.peak_torque_rpm,
        band_power_kw=times(recorded.band_power_kw),
        band_torque_nm=times(recorded.band_torque_nm),
    )


def _band_not_covered(curve: Curve, band: tuple[float, float]) -> Caution:
    low, high = float(curve.speed_rpm[0]), float(curve.speed_rpm[-1])
    return Caution(
        "band-not-covered",
        f"The pull runs {low:.0f}–{high:.0f} rpm and does not cover the band"
        f" {band[0]:.0f}–{band[1]:.0f} rpm: it has no band average",
    )
