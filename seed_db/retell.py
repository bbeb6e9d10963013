"""The story told to the logbook, through the same use-cases as the screens and the command line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import numpy as np

from logbook import underway
from logbook.cases import builds as build_cases
from logbook.cases import engines as engine_cases
from logbook.cases import pulls as pull_cases
from logbook.cases import sessions as session_cases
from logbook.cases.desk import Desk
from logbook.cases.entry import PullEntry
from logbook.quantities import from_stored
from seed_db import bench_work
from seed_db.day import PEAK_NOISE, Taken, chance, take
from seed_db.logs import file_name, written
from seed_db.model import Array
from seed_db.shop import BuildSpec, CellSpec, EngineSpec, FuelSpec, cells, engines, fuels
from seed_db.story import PEAKS, SWEEP, StoryPull, StorySession, sessions
from seed_db.weather import as_read

OPENING_DAY = datetime(2023, 1, 9, 15, 0, tzinfo=UTC)
POINT_STEP_RPM = 500.0


@dataclass(slots=True)
class Clock:
    """The story's time: it only moves when the story moves it."""

    now: datetime = OPENING_DAY

    def __call__(self) -> datetime:
        """The present moment of the story."""
        return self.now


@dataclass(slots=True)
class Teller:
    """Tells the story to the book behind `desk`.

    `folder` is where the cells' data systems drop their files; `files` numbers those by cell;
    `ids` keeps the pull ids by session key and number.
    """

    desk: Desk
    clock: Clock
    folder: Path
    files: Counter[str] = field(default_factory=Counter)
    ids: dict[tuple[str, int], str] = field(default_factory=dict)

    def tell(self) -> None:
        """Everything in the order in which it happened."""
        for cell in cells().values():
            self._cell(cell)
        happenings = sorted(self._happenings(), key=lambda happening: happening[0])
        for at, happens in underway.each(happenings, len(happenings)):
            self.clock.now = at
            happens()

    def _happenings(self) -> Iterator[tuple[datetime, Callable[[], None]]]:
        for engine in engines().values():
            first, *later = engine.builds.values()
            yield _day(first.built_on), partial(self._engine, engine)
            for build in later:
                yield _day(build.built_on), partial(self._build, engine, build)
        for fuel in fuels().values():
            opened = fuel.sheet.get("opened-on")
            yield _day(opened) if opened else OPENING_DAY, partial(self._fuel, fuel)
        for session in sessions().values():
            yield session.opened, partial(self._session, session)
        built_on = {
            (engine.tag, build.label): _day(build.built_on)
            for engine in engines().values()
            for build in engine.builds.values()
        }
        yield from bench_work.happenings(self.desk, built_on)

    def _cell(self, cell: CellSpec) -> None:
        engine_cases.add_cell(
            self.desk, cell.name, {**cell.sheet, "units": cell.units}, standard=cell.standard
        )

    def _engine(self, engine: EngineSpec) -> None:
        low, high = engine.family.band_rpm
        band = f"{low:.0f}-{high:.0f}"
        engine_cases.add_engine(self.desk, engine.tag, engine.sheet, band=band)

    def _build(self, engine: EngineSpec, build: BuildSpec) -> None:
        build_cases.add_build(
            self.desk, engine.tag, build.label, built_on=build.built_on, notes=build.notes
        )

    def _fuel(self, fuel: FuelSpec) -> None:
        engine_cases.add_fuel(self.desk, fuel.name, fuel.sheet)

    def _session(self, session: StorySession) -> None:
        self.desk.who = session.operator
        baseline: tuple[str, ...] = ()
        if session.baseline:
            key, numbers = session.baseline
            baseline = tuple(self.ids[key, number] for number in numbers)
        opened = session_cases.open_session(
            self.desk,
            session.engine.tag,
            build=session.build.label,
            cell=session.cell.name,
            purpose=session.purpose,
            operator=session.operator,
            safety_checked=tuple(key for key, _ in session_cases.SAFETY_LIST),
            baseline=baseline,
            pull_budget=session.pull_budget,
            oil=session.words["oil"],
            exhaust=session.words["exhaust"],
            accessories=session.words["accessories"],
            notes=session.words.get("notes", ""),
        )
        for pull in session.pulls:
            self._pull(session, opened.id, pull)
        if session.closed:
            self.clock.now = session.when(session.pulls[-1].minute + 12)
            session_cases.close_session(self.desk, opened.id)

    def _pull(self, session: StorySession, session_id: str, pull: StoryPull) -> None:
        self.clock.now = session.when(pull.minute)
        entry = replace(
            self._left_behind(session, pull),
            session_id=session_id,
            set_up=pull.changed,
            sea_level=pull.sea_level,
            torque_state="observed",
        )
        logged = pull_cases.add_pull(self.desk, entry)
        self.ids[session.key, pull.number] = logged.pull_id
        if pull.exclude:
            self.clock.now += timedelta(minutes=2)
            pull_cases.exclude(self.desk, logged.pull_id, pull.exclude)

    def _left_behind(self, session: StorySession, pull: StoryPull) -> PullEntry:
        """What the pull left (a file, a short table or peaks) and what was typed beside it."""
        low, high = session.engine.family.sweep_rpm
        grid = np.arange(low, high + 1.0, POINT_STEP_RPM if pull.kind != PEAKS else 50.0)
        taken = take(session, pull, grid)
        typed = dict(_typed(session, pull, taken))
        if pull.kind == SWEEP:
            return PullEntry(fields=typed, trace=self._dropped(session, pull))
        if pull.kind == PEAKS:
            return PullEntry(fields={**typed, **_peaks(session, pull, taken)})
        torques = _rough(session, pull, taken.running.torque_nm)
        points = [
            f"{speed:.0f},{from_stored(torque, 'lb-ft', 'torque'):.1f}"
            for speed, torque in zip(grid.tolist(), torques.tolist(), strict=True)
        ]
        return PullEntry(
            fields=typed, steady_points="\n".join(["Speed (rpm),Torque (lb-ft)", *points])
        )

    def _dropped(self, session: StorySession, pull: StoryPull) -> Path:
        self.files[session.cell.name] += 1
        file = self.files[session.cell.name]
        path = self.folder / file_name(session, file)
        path.write_bytes(written(session, pull, file))
        return path


def _day(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(hour=15, tzinfo=UTC)


def _typed(session: StorySession, pull: StoryPull, taken: Taken) -> Iterator[tuple[str, str]]:
    """The fields that the operator typed for this pull, in the cell's units."""
    unit = "F" if session.cell.units == "us" else "degC"
    yield "oil", f"{from_stored(taken.oil_c, unit, 'temperature'):.0f} {unit}"
    yield "coolant", f"{from_stored(taken.coolant_c, unit, 'temperature'):.0f} {unit}"
    if pull.read_air:
        yield from as_read(session.cell, taken.air, sea_level=pull.sea_level).items()
    if pull.number == 1:
        low, _ = session.engine.family.sweep_rpm
        yield "throttle", "yes"
        yield "sweep-start", f"{low:.0f} rpm"
        if pull.kind == SWEEP:
            yield "sweep-rate", f"{session.engine.family.sweep_rate_rpm_s:.0f} rpm/s"
    for key in ("knock", "alarms", "observed", "note"):
        if text := getattr(pull, key):
            yield key, text


def _peaks(session: StorySession, pull: StoryPull, taken: Taken) -> Mapping[str, str]:
    """The peaks as read off a chart, to half a horsepower and a pound-foot."""
    running = taken.running
    torque = _rough(session, pull, running.torque_nm)
    power = torque * running.speed_rpm / 9549.2966
    best_power, best_torque = int(np.argmax(running.power_kw)), int(np.argmax(running.torque_nm))
    hp = round(2 * from_stored(float(power[best_power]), "hp", "power")) / 2
    lb_ft = round(2 * from_stored(float(torque[best_torque]), "lb-ft", "torque")) / 2
    return {
        "peak-power": f"{hp:.1f} hp",
        "power-at": f"{running.speed_rpm[best_power]:.0f} rpm",
        "peak-torque": f"{lb_ft:.1f} lb-ft",
        "at": f"{running.speed_rpm[best_torque]:.0f} rpm",
    }


def _rough(session: StorySession, pull: StoryPull, torque_nm: Array) -> Array:
    """What reading single values off a chart adds."""
    draw = chance(session.key, pull.number, "read off")
    return np.asarray(torque_nm * (1 + draw.normal(0.0, PEAK_NOISE / 100, len(torque_nm))))
