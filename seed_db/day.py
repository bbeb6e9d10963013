"""One pull of the story as it came out: the model's engine, and the day laid over it.

Chance is drawn from the session's key and the pull's number alone, so that no pull depends on
the order in which the book is built.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from logbook.engineering.air import AirState
from seed_db.model import Array, Running, SetPoint, run
from seed_db.shop import EngineSpec, fuels, si
from seed_db.story import StoryPull, StorySession
from seed_db.weather import true_air

SAMPLE_NOISE = 0.5  # percent of torque, sample to sample
PEAK_NOISE = 0.15  # percent, what reading one peak off a chart adds


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """A pull as the cell's sensors had it: `running` with the day in its torque and power,
    the true air, and the temperatures at the start in °C."""

    running: Running
    air: AirState
    oil_c: float
    coolant_c: float


def chance(*about: str | int) -> np.random.Generator:
    """A generator of its own for everything that is named."""
    text = "/".join(str(part) for part in about)
    return np.random.default_rng(int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big"))


def set_point(engine: EngineSpec, set_up: Mapping[str, str]) -> SetPoint:
    """What the model runs for a set-up as the operator names it.

    Raises `KeyError` for a factor or level the engine's family does not know.
    """
    family = engine.family
    factors = dict(set_up)
    carburetor = family.carburetors[factors.pop("carburetor")]
    low = high = 0.0
    pump = family.pumps[factors.pop("vacuum pump")] if "vacuum pump" in factors else (0.0, 0.0)
    timing, fuel = float(factors.pop("timing")), fuels()[factors.pop("fuel")]
    jets = carburetor.jets + carburetor.jet_step * float(factors.pop("main jets"))
    for factor, level in factors.items():
        share = family.parts[factor][level]
        low, high = low + share[0], high + share[1]
    return SetPoint(timing, fuel, carburetor, jets, (low, high), *pump)


def take(session: StorySession, pull: StoryPull, speed_rpm: Array) -> Taken:
    """The pull with everything true of that moment, at these speeds."""
    draw = chance(session.key, pull.number, "temperatures")
    oil_c = _temperature(session, "oil", pull.oil, draw)
    coolant_c = _temperature(session, "coolant", pull.coolant, draw)
    air = true_air(session, pull.minute)
    point = set_point(session.engine, pull.set_up)
    clean = run(session.engine.family, session.build.wear, point, air, speed_rpm, oil_c=oil_c)
    return Taken(_scaled(clean, 1 + day_percent(session, pull) / 100), air, oil_c, coolant_c)


def day_percent(session: StorySession, pull: StoryPull) -> float:
    """What the day did to this pull, in percent of torque."""
    day = session.day
    noise = chance(session.key, pull.number, "repeat").standard_normal()
    resetting = chance(session.key, "run", pull.run, "setting").standard_normal()
    return float(
        day.offset + day.drift * (pull.number - 1) + day.noise * noise + day.resetting * resetting
    )


def _temperature(
    session: StorySession, name: str, told: str | None, draw: np.random.Generator
) -> float:
    """As told, or a little below the middle of the ready window, as an operator aims for."""
    wander = draw.normal(0.0, 1.2)
    if told is not None:
        return si(told, "temperature")
    sheet = session.engine.sheet
    low = si(sheet[f"ready-{name}-low"], "temperature")
    high = si(sheet[f"ready-{name}-high"], "temperature")
    return float(low + 0.45 * (high - low) + wander)


def _scaled(running: Running, factor: float) -> Running:
    return replace(
        running, torque_nm=running.torque_nm * factor, power_kw=running.power_kw * factor
    )
