"""What is true in the story and stands nowhere in the logbook: for those who check its answers.

Every figure is computed from the model without noise or drift, with warm oil, as the average
power over the engine's band. The worth of a step within a session is that in the air of its
day (thick air leans a carburetor out, so it may differ a little from another day's); everything
else is in the reference air of SAE J1349 and ISO 1585 (dry 99 kPa, 25 °C).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from logbook.engineering.air import AirState, air_state
from logbook.engineering.correction import correct
from seed_db.day import set_point, take
from seed_db.model import Running, best_timing, run
from seed_db.shop import BuildSpec, EngineSpec, engines, fuels
from seed_db.story import Beat, StoryPull, StorySession, sessions
from seed_db.weather import true_air


@dataclass(frozen=True, slots=True)
class Effect:
    """A true difference: percent of band power from `start` pulls to `end` pulls, and the
    factors that differ between them. Two builds differ in ``"build"`` too."""

    session: str
    what: str
    says: str
    start: tuple[int, ...]
    end: tuple[int, ...]
    percent: float
    factors: tuple[str, ...]


def truth() -> tuple[Effect, ...]:
    """The true worth of every step the story tells of, in its order."""
    return tuple(
        _effect(session, beat)
        for session in sessions().values()
        for beat in session.beats
        if beat.end
    )


def _effect(session: StorySession, beat: Beat) -> Effect:
    before = sessions()[beat.start_session]
    start, end = _pull(before, beat.start[0]), _pull(session, beat.end[0])
    changed = [
        factor
        for factor in {**start.set_up, **end.set_up}
        if start.set_up.get(factor) != end.set_up.get(factor)
    ]
    if before.build != session.build:
        changed.insert(0, "build")
    air = true_air(session, end.minute) if before is session else reference_air()
    was = band_power_kw(before.engine, before.build, start.set_up, air)
    now = band_power_kw(session.engine, session.build, end.set_up, air)
    return Effect(
        session=session.key,
        what=beat.what,
        says=beat.says,
        start=beat.start,
        end=beat.end,
        percent=100 * (now / was - 1),
        factors=tuple(changed),
    )


def rebuild_percent(tag: str, before: str = "build 1", after: str = "build 2") -> float:
    """What a rebuild by itself was worth, percent, with the set-up first run after it."""
    engine = engines()[tag]
    first = next(
        session
        for session in sessions().values()
        if session.engine == engine and session.build.label == after
    )
    set_up = first.pulls[0].set_up
    was = band_power_kw(engine, engine.builds[before], set_up)
    return 100 * (band_power_kw(engine, engine.builds[after], set_up) / was - 1)


def best_timing_deg(engine: EngineSpec, build: BuildSpec, set_up: Mapping[str, str]) -> float:
    """The timing of most band power, to a twentieth of a degree."""
    middle = float(np.mean(best_timing(engine.family, fuels()[set_up["fuel"]], _band(engine))))
    tried = np.round(np.arange(middle - 3, middle + 3, 0.05), 2).tolist()
    return float(max(tried, key=lambda timing: band_power_kw(engine, build, _at(set_up, timing))))


def given_away_percent(
    engine: EngineSpec, build: BuildSpec, set_up: Mapping[str, str], timing_deg: float
) -> float:
    """Band power lost at `timing_deg` against the best timing, percent."""
    best = best_timing_deg(engine, build, set_up)
    most = band_power_kw(engine, build, _at(set_up, best))
    return 100 * (1 - band_power_kw(engine, build, _at(set_up, timing_deg)) / most)


def band_power_kw(
    engine: EngineSpec,
    build: BuildSpec,
    set_up: Mapping[str, str],
    air: AirState | None = None,
) -> float:
    """Average power over the band, kW, in this air (the reference air), no noise, no drift."""
    point = set_point(engine, set_up)
    air = air or reference_air()
    return _average(run(engine.family, build.wear, point, air, _band(engine)))


def corrected_band_power_kw(session: StorySession, pull: StoryPull) -> float:
    """What a pull of this session would score, the day's drift and noise in it, corrected with
    the air as it truly was. `pull` may be one that the story does not have: another timing
    under another number draws its own chance."""
    taken = take(session, pull, _band(session.engine))
    return _average(taken.running) * correct(session.cell.standard, taken.air).factor


def another_pull(session: StorySession, number: int, timing_deg: float) -> StoryPull:
    """The session's last pull, taken once more under a new number with another timing."""
    last = session.pulls[-1]
    minute = last.minute + 6.0 * (number - last.number)
    return replace(
        last,
        number=number,
        run=last.run + number,
        minute=minute,
        set_up=_at(last.set_up, timing_deg),
    )


def reference_air() -> AirState:
    """Dry 99 kPa, 25 °C."""
    return air_state(100.0, 25.0, "vapor pressure", 1.0)


def _pull(session: StorySession, number: int) -> StoryPull:
    return session.pulls[number - 1]


def _at(set_up: Mapping[str, str], timing_deg: float) -> Mapping[str, str]:
    return {**set_up, "timing": f"{timing_deg:.2f}"}


def _band(engine: EngineSpec) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.linspace(*engine.family.band_rpm, 101)


def _average(running: Running) -> float:
    low, high = running.speed_rpm[0], running.speed_rpm[-1]
    return float(np.trapezoid(running.power_kw, running.speed_rpm) / (high - low))
