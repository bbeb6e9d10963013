"""What a printed report of a build or an engine tells, gathered once for any format."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases import builds, engines, inspections, sessions
from logbook.cases.build_checks import build_checks
from logbook.cases.curves import curve_view
from logbook.cases.desk import Desk
from logbook.cases.judge import row_of, session_view
from logbook.cases.labels import label_of
from logbook.cases.laying_out import lay_out
from logbook.cases.over_years import over_years
from logbook.cases.report import Made, SetUpWorth, made_by, set_ups_of, standing_for
from logbook.cases.scoring import SCORE_VERSION
from logbook.cases.side_by_side import compare_sides
from logbook.cases.sides_curves import side_curves
from logbook.plain import capital
from logbook.records.engine import Build, Engine
from logbook.records.pull import Pull
from logbook.records.score import Figures
from logbook.records.session import Session
from logbook.refusals import Refusal
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.cases.build_checks import BuildChecks
    from logbook.cases.builds import BuildSheet
    from logbook.cases.inspections import InspectionView
    from logbook.cases.over_years import OverYears
    from logbook.cases.results import CurveView, PullRow
    from logbook.cases.sides_results import SideCurves, SidesView
    from logbook.records.lists import SessionRow


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
    """A build for print: what is in it, its checks, inspections and sessions newest first, and
    what it was worth against the build before (`against` with its `curves`, else `why_alone`)."""

    made: Made
    sheet: BuildSheet
    checks: BuildChecks
    inspections: tuple[InspectionView, ...]
    standard: str
    standard_name: str
    best: Best | None
    sessions: tuple[SessionLine, ...]
    against: SidesView | None
    curves: SideCurves | None
    why_alone: str


@dataclass(frozen=True, slots=True, eq=False)
class EngineReport:
    """An engine for print. `bests` are its builds' best pulls under `standard`, oldest build
    first, builds without one left out."""

    made: Made
    engine: Engine
    builds: tuple[Build, ...]
    inspections: tuple[InspectionView, ...]
    standard: str
    standard_name: str
    bests: tuple[Best, ...]
    sessions: tuple[SessionLine, ...]
    years: OverYears


def build_report(desk: Desk, tag: str, label: str) -> BuildReport:
    """Everything a build's report tells. Raises `NotFound` with the nearest labels."""
    sheet = builds.build_sheet(desk, tag, label)
    engine, build, parent = sheet.engine, sheet.build, sheet.parent
    lines = [line for line in _lines(desk, tag) if line.row.build == build.label]
    key = lines[0].row.standard if lines else _standard_of(desk, tag)
    against, curves, why = None, None, "It is this engine's first build."
    if parent is not None:
        sides = f"{engine.tag}/{parent.label}", f"{engine.tag}/{build.label}"
        try:
            against, why = compare_sides(desk, *sides, standard=key), ""
            curves = side_curves(desk, *sides, standard=key)
        except Refusal as refusal:
            why = f"{capital(refusal.what)}."
    of_engine = inspections.list_inspections(desk, tag)
    return BuildReport(
        made=made_by(desk),
        sheet=sheet,
        checks=build_checks(desk, engine.tag, build.label),
        inspections=tuple(one for one in of_engine if one.build and one.build.id == build.id),
        standard=key,
        standard_name=_name_of(key),
        best=_best(desk, engine, build, key),
        sessions=tuple(lines),
        against=against,
        curves=curves,
        why_alone=why,
    )


def engine_report(desk: Desk, tag: str) -> EngineReport:
    """Everything an engine's report tells, under the standard of its newest session."""
    engine, built = engines.engine_by_tag(desk, tag), builds.list_builds(desk, tag)
    key = _standard_of(desk, tag)
    found = [_best(desk, engine, build, key) for build in built]
    bests = tuple(best for best in found if best is not None)
    return EngineReport(
        made=made_by(desk),
        engine=engine,
        builds=tuple(built),
        inspections=tuple(inspections.list_inspections(desk, tag)),
        standard=key,
        standard_name=_name_of(key),
        bests=bests,
        sessions=tuple(_lines(desk, tag)),
        years=over_years(desk, engine.tag),
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
        chosen = standing_for(view)
        number = chosen.pull.number if chosen else 0
        found = set_ups_of(view, lay_out(desk, row.id))
        last = next((one for one in found if number in one.pulls), None)
        yield SessionLine(row, view.cell.time_zone, last)
