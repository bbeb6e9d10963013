"""From what was recorded to the figures of a pull: curve, correction, score.

The formulas stand in `logbook.engineering`; this file says which go together for a pull, and
is the only place that does, so that lists, answers, exports and `verify` agree.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

from logbook.cases.recalibration import Recalibration, recalibrations_of
from logbook.quantities import show
from logbook.records.air import AirReading
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import OBSERVED, STEADY, SWEEP, Pull
from logbook.records.score import Figures, Score
from logbook.records.session import Session
from logbook.records.trace import Trace

if TYPE_CHECKING:
    from logbook.engineering.air import AirState
    from logbook.engineering.trace import Array, Curve, Disagreement
    from logbook.store.change import Change
    from logbook.store.reader import Reader

# Raised whenever the same records would give other figures; stored scores of an older version
# are not shown and are made again.
SCORE_VERSION = 1
LEAST_POINTS = 3
MOST_DISAGREEMENT_PERCENT = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Reckoned:
    """A pull's curves and figures. `observed` is ``None`` where the source gave only corrected
    values and no air to take the correction back with; `corrected` where there is no factor."""

    score: Score
    observed: Curve | None
    corrected: Curve | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """What a pull's figures hang on besides the pull itself."""

    session: Session
    engine: Engine
    cell: Cell
    standard: str | None = None  # None: the session's
    recalibrations: Mapping[str, Recalibration] = field(default_factory=dict)
    other_band: tuple[float, float] | None = None  # None: the session's

    @property
    def band(self) -> tuple[float, float] | None:
        """The session's rpm band, else the engine's, unless another is asked for."""
        return self.other_band or band_of(self.session, self.engine)

    @property
    def standard_key(self) -> str:
        """The standard everything is corrected to."""
        return self.standard or self.session.standard


class Banded(Protocol):
    """What may have an rpm band of its own."""

    @property
    def band_low_rpm(self) -> float | None: ...

    @property
    def band_high_rpm(self) -> float | None: ...


def band_of(session: Banded, engine: Engine) -> tuple[float, float] | None:
    """A session's rpm band, else its engine's; ``None`` where neither has one."""
    for record in (session, engine):
        if record.band_low_rpm is not None and record.band_high_rpm is not None:
            return record.band_low_rpm, record.band_high_rpm
    return None


def state_of(reading: AirReading) -> AirState:
    """The moist-air state of a reading."""
    return _state(
        reading.pressure_kpa, reading.temperature_c, reading.humidity_kind, reading.humidity
    )


@lru_cache(maxsize=64)  # the pulls of a session share a few readings
def _state(pressure_kpa: float, temperature_c: float, kind: str, humidity: float) -> AirState:
    from logbook.engineering.air import air_state

    return air_state(pressure_kpa, temperature_c, kind, humidity)


def reckon(pull: Pull, trace: Trace | None, air: AirReading | None, place: Place) -> Reckoned:
    """Curve and figures of a pull under the standard and band of its place."""
    cautions: list[Caution] = []
    recorded = true = _curve(pull, trace, place, cautions)
    observed_factor, corrected_factor, factor = _factors(pull, air, place, cautions)
    as_recorded = as_true = _figures(pull, recorded, place.band)
    through = place.recalibrations.get(pull.taken_through or "")
    if through is not None:
        true = _curve(pull, trace, place, [], through)
        as_true = through.figures(as_recorded) if true is None else _figures(pull, true, place.band)
        shown = _torque_range(pull, trace)
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


def _curve(
    pull: Pull,
    trace: Trace | None,
    place: Place,
    cautions: list[Caution],
    through: Recalibration | None = None,
) -> Curve | None:
    if trace is None:
        return None
    import numpy as np

    from logbook.engineering import trace as tracing

    speed, torque, power = (_taken(trace, name) for name in ("engine speed", "torque", "power"))
    if speed is None or (torque is None and power is None):
        return None  # no file is taken without; a rescue may have had to leave one behind
    if through is not None:
        torque, power = through.torque_nm(tracing.both(speed, torque, power)[0]), None
    time = _taken(trace, "time")
    from_torque = torque is not None and place.session.power_source == "torque"
    if pull.kind == STEADY and time is not None:
        speed, torque, power = _settled(time, speed, torque, power)
    elif pull.kind == SWEEP and time is not None and torque is not None and _inertia(place):
        torque = tracing.with_inertia(time, speed, torque, _inertia(place))
        from_torque = True
        cautions.append(
            Caution(
                "inertia-added",
                f"Inertia of {_inertia(place):g} kg·m² was added to the measured torque; power is"
                " computed from it",
            )
        )
    curve = tracing.bin_curve(speed, torque, None if from_torque else power)
    if torque is not None and power is not None and not from_torque:
        whole = not np.isnan(torque).any() and not np.isnan(power).any()
        apart = (
            tracing.curve_disagreement(curve)
            if whole
            else tracing.power_disagreement(speed, torque, power)
        )
        cautions.extend(_disagreement(apart, place.cell.units))
    return curve


def _taken(trace: Trace, quantity: str) -> Array | None:
    """The samples of a channel that belong to the pull."""
    channel = trace.of(quantity)
    return None if channel is None else channel.si()[trace.first_sample : trace.last_sample + 1]


def _torque_range(pull: Pull, trace: Trace | None) -> tuple[float, float] | None:
    """The least and the greatest torque that the load cell showed, N·m; of typed peaks those of
    both peaks. ``None`` where nothing tells."""
    import numpy as np

    from logbook.engineering.engine import torque_nm
    from logbook.engineering.trace import both

    if trace is not None:
        speed, torque, power = (_taken(trace, name) for name in ("engine speed", "torque", "power"))
        if speed is not None and (torque is not None or power is not None):
            shown = both(speed, torque, power)[0]
            return float(np.nanmin(shown)), float(np.nanmax(shown))
    known = [pull.peak_torque_nm] if pull.peak_torque_nm is not None else []
    if pull.peak_power_kw is not None and pull.peak_power_rpm is not None:
        known.append(torque_nm(pull.peak_power_kw, pull.peak_power_rpm))
    return (min(known), max(known)) if known else None


def _settled(
    time: Array, speed: Array, torque: Array | None, power: Array | None
) -> tuple[Array, Array | None, Array | None]:
    """One point for every held speed; a log without holds stands as it is."""
    from logbook.engineering.trace import steady_parts, step_means

    parts = steady_parts(time, speed)
    if len(parts) < LEAST_POINTS:
        return speed, torque, power
    means = [None if part is None else step_means(part, parts) for part in (torque, power)]
    return step_means(speed, parts), means[0], means[1]


def _inertia(place: Place) -> float:
    """What has to be added for a sweep, kg·m²; 0 where the absorber has done it already."""
    if place.cell.absorber_corrects_inertia:
        return 0.0
    return (place.cell.inertia_kg_m2 or 0.0) + (place.engine.inertia_kg_m2 or 0.0)


def _disagreement(apart: Disagreement, units: str) -> list[Caution]:
    if apart.percent <= MOST_DISAGREEMENT_PERCENT:
        return []
    return [
        Caution(
            "power-disagrees",
            "Recorded power and torque × speed disagree by up to"
            f" {show(apart.max_kw, 'power', units, digits=2)} near {apart.at_rpm:.0f} rpm:"
            " power is read from the recorded channel",
        )
    ]


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


def rescore(change: Change, session_id: str, pull_ids: Iterable[str] | None = None) -> None:
    """Compute and store the figures of a session's pulls (or of some) inside a change."""
    session = change.get(Session, session_id)
    pulls = change.where(Pull, session_id=session_id)
    if pull_ids is not None:
        wanted = set(pull_ids)
        pulls = [pull for pull in pulls if pull.id in wanted]
    place = Place(
        session,
        change.get(Engine, session.engine_id),
        change.get(Cell, session.cell_id),
        recalibrations=recalibrations_of(change, pulls),
    )
    traces = change.traces([pull.id for pull in pulls])
    airs = airs_of(change, pulls)
    change.put_scores(
        [reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place).score for pull in pulls]
    )


def rescore_engine(change: Change, engine_id: str) -> None:
    """Compute and store the figures of every pull of an engine inside a change."""
    for session in change.where(Session, engine_id=engine_id):
        rescore(change, session.id)


def airs_of(read: Reader, pulls: Iterable[Pull]) -> Mapping[str | None, AirReading]:
    """The air readings of the pulls by id."""
    wanted = {pull.air_id for pull in pulls if pull.air_id}
    return {air_id: read.get(AirReading, air_id) for air_id in wanted}


def unscored(read: Reader) -> dict[str, list[str]]:
    """Pulls without stored figures of the present version: session id → pull ids."""
    from logbook.store.lookups import pulls_without_scores

    missing: dict[str, list[str]] = {}
    for session_id, pull_id in pulls_without_scores(read, SCORE_VERSION):
        missing.setdefault(session_id, []).append(pull_id)
    return missing
