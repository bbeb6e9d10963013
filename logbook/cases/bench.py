"""A session laid out on the bench: everything the judgement of its pulls needs, loaded once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from logbook import underway
from logbook.cases.calibration_view import CalibrationView, calibrations_after, calibrations_during
from logbook.cases.desk import Desk
from logbook.cases.grouping import (
    Baseline,
    Group,
    Line,
    baseline_of,
    groups_of,
)
from logbook.cases.history import BAND, Learned, learned
from logbook.cases.permitted import barred_set_ups, knock_in_earlier_sessions, timed
from logbook.cases.recalibration import Recalibration, recalibrations_of
from logbook.cases.scoring import Place, Reckoned, airs_of, reckon
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.setup import SetUp
from logbook.records.trace import Trace
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.verdict.bounds import TimedPull

MOST_HELD = 6  # sessions kept laid out: some megabytes each with their traces


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """A session with its pulls (by number, excluded ones too), set-ups, airs, curves and the
    judgement of each group. `elsewhere` is the session that the baseline is taken from, where it is
    another; `learned` is what the cell's earlier sessions say, `calibrations` those of the cell
    that stood for any of the pulls, `calibrations_after` the next of each instrument,
    `recalibrations` those that pulls are taken through (by id);
    `timed` are the pulls as the bounds of advice see them,
    `earlier` those of the build's earlier sessions that somebody listened to."""

    session: Session
    engine: Engine
    build: Build
    cell: Cell
    pulls: tuple[Pull, ...]
    set_ups: Mapping[str, SetUp]
    airs: Mapping[str | None, AirReading]
    traces: Mapping[str, Trace]
    reckoned: Mapping[str, Reckoned]
    line: Line
    baseline: Baseline
    elsewhere: Bench | None
    learned: Learned
    timed: tuple[TimedPull, ...]
    earlier: tuple[TimedPull, ...]
    groups: tuple[Group, ...] = ()
    calibrations: tuple[CalibrationView, ...] = ()
    calibrations_after: tuple[CalibrationView, ...] = ()
    recalibrations: Mapping[str, Recalibration] = field(default_factory=dict)

    def group_of(self, pull_id: str) -> Group | None:
        """The group a pull is judged in; ``None`` for an excluded pull or one without score."""
        return next((group for group in self.groups if pull_id in group.scores), None)

    @property
    def baseline_pulls(self) -> frozenset[str]:
        """The ids of the pulls the session is measured from."""
        return self.baseline.pulls

    def pull(self, pull_id: str) -> Pull:
        """A pull of this session."""
        return next(pull for pull in self.pulls if pull.id == pull_id)

    def before(self, pull: Pull) -> Pull | None:
        """The counted pull before this one."""
        earlier = [
            other
            for other in self.pulls
            if other.number < pull.number and other.excluded_reason is None
        ]
        return earlier[-1] if earlier else None

    @property
    def place(self) -> Place:
        """What the figures hang on."""
        return Place(self.session, self.engine, self.cell)


def lay_out(desk: Desk, session_id: str, *, standard: str | None = None) -> Bench:
    """Load, compute and judge a session; kept in memory until one of its inputs changes."""
    with desk.book.reading() as read:
        stamp = read.stamp(session_id)
        key = f"{session_id} {standard or ''}"
        session = read.get(Session, session_id)
        # What earlier sessions say: the session's own stamp does not tell when that changes.
        past, known = learned(desk, read, session)
        history = past, lookups.stamps_of_build(read, session.build_id, before=session.opened_at)
    held = desk.judged.pop(key, None)
    if (
        held is not None
        and held[0] == (stamp, history)
        and _stands(desk, held[1].elsewhere, standard or session.standard)
    ):
        bench: Bench = held[1]
        desk.judged[key] = held  # last used last
        return bench
    with desk.book.reading() as read:
        engine = read.get(Engine, session.engine_id)
        build = read.get(Build, session.build_id)
        cell = read.get(Cell, session.cell_id)
        pulls = tuple(read.where(Pull, session_id=session_id, order="number"))
        set_ups = read.setups({pull.setup_id for pull in pulls})
        traces = read.traces([pull.id for pull in pulls])
        airs = airs_of(read, pulls)
        baseline = [read.get(Pull, pull_id) for pull_id in session.baseline]
        recalibrations = recalibrations_of(read, pulls)
        standing = calibrations_during(read, cell, pulls)
        following = calibrations_after(read, cell, pulls)
        earlier = knock_in_earlier_sessions(read, session)
    place = Place(session, engine, cell, standard, recalibrations)
    reckoned = {
        pull.id: reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place)
        for pull in underway.each(pulls)
    }
    line = Line(
        session,
        pulls,
        {pull.id: set_ups[pull.setup_id].fingerprint for pull in pulls},
        {pull_id: one.score.corrected for pull_id, one in reckoned.items()},
    )
    base = baseline_of(line, baseline, known.prior(BAND).percent)
    elsewhere = (
        lay_out(desk, baseline[0].session_id, standard=place.standard_key)
        if base.elsewhere
        else None
    )
    bench = Bench(
        session=session,
        engine=engine,
        build=build,
        cell=cell,
        pulls=pulls,
        set_ups=set_ups,
        airs=airs,
        traces=traces,
        reckoned=reckoned,
        line=line,
        baseline=base,
        elsewhere=elsewhere,
        learned=known,
        timed=tuple(timed(pull, set_ups[pull.setup_id], airs, build.id) for pull in pulls),
        earlier=earlier,
        calibrations=standing,
        calibrations_after=following,
        recalibrations=recalibrations,
    )
    bench = replace(bench, groups=groups_of(line, base, known, barred_set_ups(bench)))
    desk.judged[key] = ((stamp, history), bench)
    while len(desk.judged) > MOST_HELD:
        del desk.judged[next(iter(desk.judged))]
    return bench


def _stands(desk: Desk, elsewhere: Bench | None, standard: str) -> bool:
    """Whether the session that a baseline was taken from is as it was."""
    return elsewhere is None or lay_out(desk, elsewhere.session.id, standard=standard) is elsewhere
