"""The story as data: what was run when, in which weather, and what happened to be true."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from seed_db.shop import HERE, BuildSpec, CellSpec, EngineSpec, cells, engines

SWEEP, PEAKS, POINTS = "sweep", "peaks", "points"


@dataclass(frozen=True, slots=True)
class Day:
    """What nobody in the story knows, in percent of torque: how this visit reads against the
    next (`offset`), how it drifts from pull to pull, how a pull repeats (`noise`) and how a
    set-up repeats after being set again (`resetting`), the latter two as standard deviations."""

    offset: float = 0.0
    drift: float = 0.0
    noise: float = 0.2
    resetting: float = 0.1


@dataclass(frozen=True, slots=True)
class Weather:
    """The true air at a moment of the session; between two of them it runs straight."""

    minute: float
    pressure: str
    temperature: str
    dew_point: str


@dataclass(frozen=True, slots=True)
class StoryPull:
    """One pull as the operator does it.

    `minute` counts from the opening. `changed` is what was touched for it; `set_up` everything
    that is set. `run` counts the settings of the session: repeats without touching anything
    share it. `read_air` says whether the weather was read for it. `glitch` is what went
    wrong in its file.
    """

    number: int
    minute: float
    run: int
    set_up: Mapping[str, str]
    changed: Mapping[str, str]
    kind: str
    read_air: bool
    sea_level: bool
    oil: str | None
    coolant: str | None
    knock: str
    alarms: str
    observed: str
    note: str
    exclude: str
    glitch: str


@dataclass(frozen=True, slots=True)
class Beat:
    """Something the story holds for its reader: `what` it is and between which pulls.

    `start` are pulls of `start_session`, the session's own unless it says another.
    """

    what: str
    says: str
    start_session: str
    start: tuple[int, ...]
    end: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StorySession:
    """One visit to the cell. `key` is the file's name; `baseline` names pulls of an earlier
    session as (key, numbers)."""

    key: str
    engine: EngineSpec
    build: BuildSpec
    cell: CellSpec
    opened: datetime
    operator: str
    purpose: str
    closed: bool
    day: Day
    weather: tuple[Weather, ...]
    pulls: tuple[StoryPull, ...]
    beats: tuple[Beat, ...]
    words: Mapping[str, str] = field(default_factory=dict)
    pull_budget: int | None = None
    baseline: tuple[str, tuple[int, ...]] | None = None

    def when(self, minute: float) -> datetime:
        """The moment `minute` minutes after the opening, to the second."""
        return self.opened + timedelta(seconds=round(minute * 60))


@cache
def sessions() -> Mapping[str, StorySession]:
    """Every session by key, in the order in which they were run."""
    told = [
        _session(path.stem, tomllib.loads(path.read_text(encoding="utf-8")))
        for path in sorted((HERE / "sessions").glob("*.toml"))
    ]
    return {session.key: session for session in sorted(told, key=lambda s: s.opened)}


def _session(key: str, entry: Mapping[str, Any]) -> StorySession:
    engine = engines()[entry["engine"]]
    start = entry.get("baseline")
    return StorySession(
        key=key,
        engine=engine,
        build=engine.builds[entry["build"]],
        cell=cells()[entry["cell"]],
        opened=datetime.fromisoformat(entry["opened"]),
        operator=entry["operator"],
        purpose=entry["purpose"],
        closed=entry["closed"],
        day=Day(**entry["day"]),
        weather=tuple(Weather(**reading) for reading in entry["weather"]),
        pulls=tuple(_pulls(entry)),
        beats=tuple(_beat(key, beat) for beat in entry.get("beat", ())),
        words=entry.get("words", {}),
        pull_budget=entry.get("pull_budget"),
        baseline=(start["session"], tuple(start["pulls"])) if start else None,
    )


def _beat(key: str, entry: Mapping[str, Any]) -> Beat:
    return Beat(
        what=entry["what"],
        says=entry["says"],
        start_session=entry.get("from_session", key),
        start=tuple(entry["from"]),
        end=tuple(entry.get("to", ())),
    )


def _pulls(entry: Mapping[str, Any]) -> Iterator[StoryPull]:
    """The pulls one by one; `times = 3` in the file is three of them."""
    air_after = entry.get("air_after_min", 12.0)
    gap = entry.get("minutes_between", 6.0)
    number, minute, run = 0, 25.0 - gap, 0
    read_at = -math.inf
    set_up: dict[str, str] = {}
    for step in entry["pull"]:
        touched = dict(step.get("set", {}))
        set_up = {**set_up, **touched}
        run += 1 if touched or number == 0 else 0
        for repeat in range(step.get("times", 1)):
            number += 1
            minute += step.get("after", gap) if repeat == 0 else gap
            first = repeat == 0
            read_air = minute - read_at >= air_after or (first and step.get("read_air", False))
            read_at = minute if read_air else read_at
            yield StoryPull(
                number=number,
                minute=minute,
                run=run,
                set_up=set_up,
                changed=touched if first else {},
                kind=step.get("kind", SWEEP),
                read_air=read_air,
                sea_level=step.get("sea_level", False),
                oil=step.get("oil"),
                coolant=step.get("coolant"),
                knock=step.get("knock", ""),
                alarms=step.get("alarms", ""),
                observed=step.get("observed", "") if first else "",
                note=step.get("note", "") if first else "",
                exclude=step.get("exclude", ""),
                glitch=step.get("glitch", ""),
            )
