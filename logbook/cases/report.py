"""What a printed report tells: a session, a build or an engine, gathered once for any format."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases import builds, engines, inspections, ledger, sessions, timing
from logbook.cases.air import view_air
from logbook.cases.bench import Bench, lay_out
from logbook.cases.compare import compare
from logbook.cases.curves import curve_view
from logbook.cases.desk import Desk
from logbook.cases.judge import answer, readings, row_of, session_view
from logbook.cases.labels import label_of
from logbook.cases.scoring import SCORE_VERSION
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.pull import Pull
from logbook.records.score import Figures
from logbook.records.session import Session
from logbook.refusals import Conflict
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.cases.builds import BuildSheet
    from logbook.cases.calibration_view import CalibrationView
    from logbook.cases.inspections import InspectionView
    from logbook.cases.ledger import LedgerView
    from logbook.cases.results import (
        AirView,
        AnswerView,
        CompareView,
        CurveView,
        PullRow,
        SessionView,
        Worth,
    )
    from logbook.cases.timing import TimingView
    from logbook.records.lists import SessionRow
    from logbook.records.setup import FactorChange

LEAST_TIMINGS = 2
MOST_CURVES = 4


@dataclass(frozen=True, slots=True)
class Made:
    """When and by whom a report was made (UTC), and from which book."""

    at: str
    who: str
    book: str


@dataclass(frozen=True, slots=True)
class SetUpWorth:
    """One set-up of a session that was judged: its pulls, how it differs from the baseline's
    and its worth."""

    pulls: tuple[int, ...]
    changed: tuple[FactorChange, ...]
    worth: Worth


@dataclass(frozen=True, slots=True)
class AirUsed:
    """One air reading with what followed from it, and the pulls it corrected."""

    view: AirView
    pulls: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FileUsed:
    """One source file, its SHA-256 and the pull that was taken from it."""

    pull: int
    name: str
    sha256: str


@dataclass(frozen=True, slots=True, eq=False)
class SessionReport:
    """A session for print. `answer` is that of the last set-up that is not the baseline's (of
    the last pull that counts where there is no other), ``None`` without pulls; `readings` are
    by pull id, as `AnswerView.readings`; `calibrations` those of the cell that stood for any
    of its pulls."""

    made: Made
    view: SessionView
    answer: AnswerView | None
    set_ups: tuple[SetUpWorth, ...]
    ledger: LedgerView | None
    why_no_ledger: str
    timing: TimingView | None
    airs: tuple[AirUsed, ...]
    readings: Mapping[str, tuple[tuple[str, str, float], ...]]
    fuels: tuple[Fuel, ...]
    calibrations: tuple[CalibrationView, ...]
    files: tuple[FileUsed, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Best:
    """The best counted pull of a build: its label, its figures and curve corrected to the
    report's standard, and the name of the standard that its session runs under."""

    build: Build
    label: str
    row: PullRow
    curve: CurveView | None
    logged_to: str

    @property
    def figures(self) -> Figures:
        """The corrected figures."""
        return self.row.score.corrected if self.row.score else Figures()

    @property
    def rank(self) -> tuple[bool, float]:
        """A band average stands before any peak: a peak is always higher."""
        band = self.figures.band_power_kw
        return band is not None, (self.figures.peak_power_kw or 0.0) if band is None else band


@dataclass(frozen=True, slots=True)
class SessionLine:
    """A session in the list of an engine or a build, with what its last set-up was worth."""

    row: SessionRow
    zone: str
    last: SetUpWorth | None


@dataclass(frozen=True, slots=True, eq=False)
class BuildReport:
    """A build for print: what is in it, its inspections and sessions newest first, its best
    against that of the build before (`against`, else `why_alone`)."""

    made: Made
    sheet: BuildSheet
    inspections: tuple[InspectionView, ...]
    standard: str
    standard_name: str
    best: Best | None
    sessions: tuple[SessionLine, ...]
    against: CompareView | None
    why_alone: str


@dataclass(frozen=True, slots=True, eq=False)
class EngineReport:
    """An engine for print. `bests` are its builds' best pulls under `standard`, oldest build
    first, builds without one left out; `against` is the newest's against the one before."""

    made: Made
    engine: Engine
    builds: tuple[Build, ...]
    inspections: tuple[InspectionView, ...]
    standard: str
    standard_name: str
    bests: tuple[Best, ...]
    sessions: tuple[SessionLine, ...]
    against: CompareView | None


def session_report(desk: Desk, ref: str) -> SessionReport:
    """Everything a session's report tells. `ref` as for `sessions.find_session`."""
    session = sessions.find_session(desk, ref)
    view, bench = session_view(desk, session.id), lay_out(desk, session.id)
    chosen = _standing_for(view)
    try:
        steps, why = ledger.ledger_view(desk, session.id), ""
    except Conflict as conflict:
        steps, why = None, f"{conflict.what[:1].upper()}{conflict.what[1:]}."
    timed = timing.timing_view(desk, session.id)
    several = len({tested.timing_deg for tested in timed.tested}) >= LEAST_TIMINGS
    return SessionReport(
        made=_made(desk),
        view=view,
        answer=answer(desk, session.id, chosen.pull.id) if chosen else None,
        set_ups=tuple(set_ups_of(view, bench)),
        ledger=steps,
        why_no_ledger=why,
        timing=timed if several else None,
        airs=tuple(_airs(bench)),
        readings={pull.id: readings(bench, pull) for pull in bench.pulls},
        fuels=_fuels(desk, bench),
        calibrations=bench.calibrations,
        files=tuple(_files(desk, bench)),
    )


def _made(desk: Desk) -> Made:
    return Made(desk.timestamp(), desk.who, desk.book.path.name)


def _standing_for(view: SessionView) -> PullRow | None:
    """The last pull with a worth; else the last that counts, else the last (newest first)."""
    judged = (row for row in view.rows if row.worth is not None)
    counted = (row for row in view.rows if row.pull.excluded_reason is None)
    return next(judged, None) or next(counted, None) or next(iter(view.rows), None)


def set_ups_of(view: SessionView, bench: Bench) -> Iterable[SetUpWorth]:
    """The judged set-ups of a session in the order of their first pull."""
    home = bench.elsewhere or bench
    base = next((pull for pull in home.pulls if pull.id in bench.baseline_pulls), None)
    found: dict[tuple[int, ...], SetUpWorth] = {}
    for row in reversed(view.rows):
        if row.worth is not None and base is not None and row.worth.pulls not in found:
            changed = row.setup.changed_from(home.set_ups[base.setup_id])
            found[row.worth.pulls] = SetUpWorth(row.worth.pulls, changed, row.worth)
    return found.values()


def _airs(bench: Bench) -> Iterable[AirUsed]:
    by_air: dict[str, list[Pull]] = {}
    for pull in bench.pulls:
        if pull.air_id is not None and pull.air_id in bench.airs:
            by_air.setdefault(pull.air_id, []).append(pull)
    for air_id, pulls in by_air.items():
        reading = bench.airs[air_id]
        view = view_air(reading, bench.session, bench.cell, reading.read_at)
        yield AirUsed(view, tuple(pull.number for pull in pulls))


def _fuels(desk: Desk, bench: Bench) -> tuple[Fuel, ...]:
    wanted = dict.fromkeys(pull.fuel_id for pull in bench.pulls if pull.fuel_id is not None)
    with desk.book.reading() as read:
        return tuple(read.get(Fuel, fuel_id) for fuel_id in wanted)


def _files(desk: Desk, bench: Bench) -> Iterable[FileUsed]:
    with desk.book.reading() as read:
        for pull in bench.pulls:
            if pull.source_id is not None:
                name = lookups.source_name(read, pull.source_id)
                yield FileUsed(pull.number, name, lookups.source_hash(read, pull.source_id))


def build_report(desk: Desk, tag: str, label: str) -> BuildReport:
    """Everything a build's report tells. Raises `NotFound` with the nearest labels."""
    sheet = builds.build_sheet(desk, tag, label)
    engine, build, parent = sheet.engine, sheet.build, sheet.parent
    lines = [line for line in _lines(desk, tag) if line.row.build == build.label]
    key = lines[0].row.standard if lines else _standard_of(desk, tag)
    best, before = (_best(desk, engine, one, key) if one else None for one in (build, parent))
    why = "" if parent else "It is this engine's first build."
    if parent and not (best and before):
        missing = build if best is None else parent
        why = f"{missing.label} has no pull corrected to this standard."
    of_engine = inspections.list_inspections(desk, tag)
    return BuildReport(
        made=_made(desk),
        sheet=sheet,
        inspections=tuple(one for one in of_engine if one.build and one.build.id == build.id),
        standard=key,
        standard_name=_name_of(key),
        best=best,
        sessions=tuple(lines),
        against=compare(desk, before.row.pull.id, best.row.pull.id, standard=key)
        if best and before
        else None,
        why_alone=why,
    )


def engine_report(desk: Desk, tag: str) -> EngineReport:
    """Everything an engine's report tells, under the standard of its newest session."""
    engine, built = engines.engine_by_tag(desk, tag), builds.list_builds(desk, tag)
    key = _standard_of(desk, tag)
    found = [_best(desk, engine, build, key) for build in built]
    bests = tuple(best for best in found if best is not None)
    return EngineReport(
        made=_made(desk),
        engine=engine,
        builds=tuple(built),
        inspections=tuple(inspections.list_inspections(desk, tag)),
        standard=key,
        standard_name=_name_of(key),
        bests=bests,
        sessions=tuple(_lines(desk, tag)),
        against=compare(desk, bests[-2].row.pull.id, bests[-1].row.pull.id, standard=key)
        if len(bests) > 1
        else None,
    )


def _name_of(key: str) -> str:
    from logbook.engineering.correction import standard

    return standard(key).name


def _standard_of(desk: Desk, tag: str) -> str:
    newest = sessions.list_sessions(desk, tag, limit=1)
    if newest:
        return newest[0].standard
    cells = engines.list_cells(desk)
    return cells[0].standard if cells else "none"


def _best(desk: Desk, engine: Engine, build: Build, key: str) -> Best | None:
    """The build's best under one standard: of what is best under each that it was run under."""
    with desk.book.reading() as read:
        run_under = {one.standard for one in read.where(Session, build_id=build.id)}
        found = (
            lookups.best_pull(
                read, engine.id, version=SCORE_VERSION, standard=one, build_id=build.id
            )
            for one in sorted(run_under)
        )
        pulls = [read.get(Pull, pull_id) for pull_id in found if pull_id is not None]
        labels = [label_of(read, pull) for pull in pulls]
    bests = []
    for pull, label in zip(pulls, labels, strict=True):
        bench = lay_out(desk, pull.session_id, standard=key)
        row, logged_to = row_of(desk, bench, pull), _name_of(bench.session.standard)
        bests.append(Best(build, label, row, curve_view(bench, pull), logged_to))
    return max((best for best in bests if best.rank[1]), key=lambda best: best.rank, default=None)


def _lines(desk: Desk, tag: str) -> Iterable[SessionLine]:
    """The engine's sessions, newest first, each with what its last set-up was worth."""
    for row in sessions.list_sessions(desk, tag, limit=1_000_000):
        view = session_view(desk, row.id)
        chosen = _standing_for(view)
        number = chosen.pull.number if chosen else 0
        found = set_ups_of(view, lay_out(desk, row.id))
        last = next((one for one in found if number in one.pulls), None)
        yield SessionLine(row, view.cell.time_zone, last)
