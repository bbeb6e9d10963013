"""The cell's data system: a pull as the file it writes, in the cell's own dialect."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from logbook.quantities import linear
from seed_db.day import SAMPLE_NOISE, Taken, chance, take
from seed_db.model import Array
from seed_db.shop import LogSpec
from seed_db.story import StoryPull, StorySession

SHUT_VACUUM_KPA = 60.0  # behind a throttle that is nearly closed

# What a channel shows and the kind of its unit ("" where none is converted).
_KINDS: Mapping[str, str] = {
    "time": "time",
    "engine speed": "speed",
    "torque": "torque",
    "power": "power",
    "fuel flow": "mass_flow",
    "air flow": "mass_flow",
    "blow-by": "volume_flow",
    "manifold vacuum": "vacuum",
    "crankcase vacuum": "vacuum",
    "oil pressure": "pressure",
    "oil temperature": "temperature",
    "coolant temperature": "temperature",
    "inlet temperature": "temperature",
    "exhaust temperature": "temperature",
    "lambda": "",
    "throttle": "",
}


def file_name(session: StorySession, file: int) -> str:
    """The name the cell's data system gives its file number `file`."""
    return session.cell.log.name.format(file=file)


def written(session: StorySession, pull: StoryPull, file: int) -> bytes:
    """The bytes of the file that this pull left behind."""
    log = session.cell.log
    speed, load = _driven(session)
    channels = _channels(session, pull, take(session, pull, speed), load)
    columns = [
        _printed(log, channels(what), what, unit, decimals)
        for what, _, unit, decimals in log.channels
    ]
    lines = [line.format(file=file) for line in log.preamble]
    lines += _header(log)
    lines += [log.delimiter.join(row) for row in zip(*columns, strict=True)]
    return (log.newline.join(lines) + log.newline).encode(log.encoding)


def _driven(session: StorySession) -> tuple[Array, Array]:
    """Engine speed and load (0–1) sample by sample, as absorber and lever have it: the sweep,
    and where the cell's log starts early and stops late, the hold before and the coast after."""
    family, log = session.engine.family, session.cell.log
    low, high = family.sweep_rpm
    step = family.sweep_rate_rpm_s / log.rate_hz
    sweep = np.arange(low, high, step)
    hold = np.linspace(0.1, 0.9, int(log.hold_s * log.rate_hz))
    coast = np.arange(1, int(log.coast_s * log.rate_hz) + 1)
    speed = np.concatenate((np.full(len(hold), low), sweep, high - 3 * step * coast))
    load = np.concatenate((hold, np.ones(len(sweep)), np.full(len(coast), 0.04)))
    return speed, load


def _header(log: LogSpec) -> list[str]:
    names = [name for _, name, _, _ in log.channels]
    units = [unit for _, _, unit, _ in log.channels]
    if log.header == "row":
        return [log.delimiter.join(names), log.delimiter.join(unit or "-" for unit in units)]
    shape = "{0}_{1}" if log.header == "underscore" else "{0} ({1})"
    pairs = zip(names, units, strict=True)
    return [log.delimiter.join(shape.format(name, unit) if unit else name for name, unit in pairs)]


def _printed(log: LogSpec, values: Array, what: str, unit: str, decimals: int) -> list[str]:
    kind = _KINDS[what.rstrip(" 12345678")]
    factor, offset = linear(unit, kind) if kind else (1.0, 0.0)
    shape = f"%.{decimals}f"
    texts = [shape % value for value in ((values - offset) / factor).tolist()]
    return texts if log.decimal == "." else [text.replace(".", log.decimal) for text in texts]


def _channels(
    session: StorySession, pull: StoryPull, taken: Taken, load: Array
) -> Callable[[str], Array]:
    """Every channel of the pull by name, in stored units, with its sensor's noise."""
    running, log = taken.running, session.cell.log
    samples = len(load)
    draw = chance(session.key, pull.number, "samples")
    rough = draw.normal(0.0, SAMPLE_NOISE / 100, samples)
    # The absorber's grip wanders slowly: neighboring samples err together.
    torque = running.torque_nm * load * (1 + np.convolve(rough, (0.25, 0.5, 0.25), mode="same"))
    if pull.glitch == "torque spike":  # a loose plug, well below the band
        torque[samples // 10] *= 1.4
    warming = np.linspace(0.0, 1.0, samples)
    plain: dict[str, Array] = {
        "time": np.arange(samples) / log.rate_hz,
        "engine speed": running.speed_rpm + draw.normal(0.0, 2.0, samples),
        "torque": torque,
        "power": torque * running.speed_rpm / 9549.2966,
        "throttle": 100.0 * load,
        "fuel flow": running.fuel_flow_kg_h * load,
        "air flow": running.air_flow_kg_h * load,
        "blow-by": running.blow_by_m3_h,
        "manifold vacuum": running.manifold_vacuum_kpa + SHUT_VACUUM_KPA * (1 - load),
        "crankcase vacuum": running.crankcase_vacuum_kpa,
        "oil pressure": running.oil_pressure_kpa,
        "oil temperature": taken.oil_c + 2.5 * warming,
        "coolant temperature": taken.coolant_c + 3.0 * warming,
        "inlet temperature": taken.air.temperature_c + 0.6 * warming,
        "lambda": running.lambda_ratio,
    }
    steady = {"time", "engine speed", "torque", "power", "throttle"}

    def channel(what: str) -> Array:
        name, _, cylinder = what.rpartition(" ")
        values = running.exhaust_c if name == "exhaust temperature" else plain[what]
        if what in steady:
            return values
        if pull.glitch == f"dead {what}":  # an open thermocouple
            return np.full(samples, 1370.0)
        if name == "exhaust temperature":  # no two cylinders run alike
            values = values + 6.0 * chance(session.engine.tag, cylinder, "exhaust").normal()
        size = 0.003 * float(np.mean(np.abs(values)))
        return np.asarray(values + chance(session.key, pull.number, what).normal(0, size, samples))

    return channel
