"""A session laid out on the bench: everything the judgement of its pulls needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from logbook.cases.calibration_view import CalibrationView
from logbook.cases.grouping import Baseline, Group, Line
from logbook.cases.history import BAND, Learned
from logbook.cases.place import Place
from logbook.cases.recalibration import Recalibration
from logbook.cases.scoring import Reckoned
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.setup import SetUp
from logbook.records.trace import Trace

if TYPE_CHECKING:
    from logbook.verdict.bounds import TimedPull


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """A session with its pulls (by number, excluded ones too), set-ups, airs, curves and the
    judgement of each group. `elsewhere` is the session that the baseline is taken from, where it is
    another; `learned` is what the cell's earlier sessions say, `calibrations` those of the cell
    that stood for any of the pulls, `calibrations_after` the next of each instrument,
    `recalibrations` those that pulls are taken through (by id); `timed` are the pulls as the bounds
    of advice see them, `earlier` those of the build's earlier sessions that somebody listened
    to."""

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

    @property
    def baseline_set_up(self) -> SetUp | None:
        """The set-up of the baseline's first pull, here or elsewhere; ``None`` without one."""
        at = self.elsewhere or self
        base = next((pull for pull in at.pulls if pull.id in self.baseline_pulls), None)
        return at.set_ups[base.setup_id] if base else None

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

    @property
    def main_group(self) -> Group | None:
        """The group whose noise and drift head the screen: band averages where there are any."""
        of_bands = (group for group in self.groups if group.quantity == BAND)
        return next(of_bands, self.groups[0] if self.groups else None)
