"""The curve of a pull from its trace: its own samples, what the load cell stood for, inertia."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.cases.place import Place
from logbook.cases.recalibration import Recalibration
from logbook.quantities import show
from logbook.records.caution import Caution
from logbook.records.pull import STEADY, SWEEP, Pull
from logbook.records.trace import Trace

if TYPE_CHECKING:
    from logbook.engineering.trace import Array, Curve, Disagreement

LEAST_POINTS = 3  # held speeds: fewer are a sweep that paused
MOST_DISAGREEMENT_PERCENT = 0.5  # of torque × speed from recorded power (chosen, no source)


def curve_of(
    pull: Pull,
    trace: Trace | None,
    place: Place,
    cautions: list[Caution],
    through: Recalibration | None = None,
) -> Curve | None:
    """Torque and power over the speed bins, as recorded or `through` a calibration; what there is
    to say goes into `cautions`. ``None`` for typed peaks."""
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


def torque_range(pull: Pull, trace: Trace | None) -> tuple[float, float] | None:
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
