"""Sessions made ready to be compared across years, without laying every curve out.

The stored figures serve where they are of the standard and band compared in; else they are
computed from the traces. What the judgement leaves out (excluded pulls, pulls that only warmed
the engine) is left out here by the same rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from logbook import underway
from logbook.cases.air_of_pulls import airs_of
from logbook.cases.desk import Desk
from logbook.cases.grouping import Line, baseline_of
from logbook.cases.history import BAND, Learned, learned
from logbook.cases.place import Place
from logbook.cases.recalibration import recalibrations_of
from logbook.cases.scales import main_scale
from logbook.cases.scoring import SCORE_VERSION, reckon, restated
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import Pull
from logbook.records.score import Figures, Score
from logbook.records.session import Session
from logbook.records.setup import SetUp
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.visits import Visit

CURVE_QUANTITIES = ("time", "engine speed", "torque", "power")


@dataclass(frozen=True, slots=True)
class Terms:
    """What days are compared on: a quantity, and where they must agree a standard and a band;
    ``None`` is each session's own."""

    quantity: str = BAND
    standard: str | None = None
    band: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Day:
    """One session for comparing. `pulls` count and have a figure; `labels` and `figures` are by
    pull id, `setups` by label, `of_print` gives the label of a set-up's fingerprint; `other_scale`
    are the numbers of pulls that are not taken through the same calibration as the most."""

    session: Session
    engine: Engine
    cell: Cell
    pulls: tuple[Pull, ...]
    labels: Mapping[str, int]
    figures: Mapping[str, Figures]
    setups: Mapping[int, SetUp]
    of_print: Mapping[str, int]
    visit: Visit
    other_scale: tuple[int, ...] = ()

    @property
    def band(self) -> tuple[float, float] | None:
        """The session's own band."""
        return Place(self.session, self.engine, self.cell).band

    def pulls_of(self, label: int) -> tuple[Pull, ...]:
        """The pulls of one set-up."""
        return tuple(pull for pull in self.pulls if self.labels[pull.id] == label)

    def numbers_of(self, labels: Iterable[int]) -> tuple[int, ...]:
        """The numbers of the pulls of some set-ups, in order."""
        wanted = set(labels)
        return tuple(pull.number for pull in self.pulls if self.labels[pull.id] in wanted)


@dataclass(slots=True)
class Almanac:
    """Days on one footing, made when they are asked for and kept."""

    desk: Desk
    read: Reader
    terms: Terms
    engines: dict[str, Engine] = field(default_factory=dict)
    cells: dict[str, Cell] = field(default_factory=dict)
    days: dict[str, Day | None] = field(default_factory=dict)
    _cells_learned: dict[str, Learned] = field(default_factory=dict)

    def of(self, session_ids: Iterable[str]) -> dict[str, Day]:
        """The days of these sessions that have anything to compare, newest first."""
        wanted = list(dict.fromkeys(session_ids))
        missing = [session_id for session_id in wanted if session_id not in self.days]
        if missing:
            self._load(missing)
        found = {i: day for i in wanted if (day := self.days.get(i)) is not None}
        return dict(sorted(found.items(), key=lambda p: p[1].session.opened_at, reverse=True))

    def _load(self, session_ids: Sequence[str]) -> None:
        sessions = {s.id: s for s in self.read.where(Session, id=set(session_ids))}
        pulls: dict[str, list[Pull]] = {i: [] for i in session_ids}
        for pull in self.read.where(Pull, session_id=set(session_ids), order="number"):
            pulls[pull.session_id].append(pull)
        everything = [pull for of_session in pulls.values() for pull in of_session]
        setups = self.read.setups({pull.setup_id for pull in everything})
        scores = self.read.scores([pull.id for pull in everything])
        prints = {setup_id: setup.fingerprint for setup_id, setup in setups.items()}
        # The newest first: what its cell has learned by then serves all of them.
        for session in sorted(sessions.values(), key=lambda s: s.opened_at, reverse=True):
            mine = pulls[session.id]
            place = self._place(session)
            figures = _stored(self.read, mine, scores, place)
            if figures is None:
                figures = figures_anew(self.read, mine, place)
            self.days[session.id] = self._day(place, mine, figures, setups, prints)

    def _place(self, session: Session) -> Place:
        if session.engine_id not in self.engines:
            self.engines[session.engine_id] = self.read.get(Engine, session.engine_id)
        if session.cell_id not in self.cells:
            self.cells[session.cell_id] = self.read.get(Cell, session.cell_id)
        engine, cell = self.engines[session.engine_id], self.cells[session.cell_id]
        return Place(session, engine, cell, self.terms.standard, other_band=self.terms.band)

    def _day(
        self,
        place: Place,
        pulls: Sequence[Pull],
        figures: Mapping[str, Figures],
        setups: Mapping[str, SetUp],
        prints: Mapping[str, str],
    ) -> Day | None:
        from logbook.verdict.visits import visit

        session, quantity = place.session, self.terms.quantity
        line = Line(
            session, tuple(pulls), {pull.id: prints[pull.setup_id] for pull in pulls}, figures
        )
        known = self._learned(session)
        prior = known.prior(quantity)
        named = [self.read.get(Pull, pull_id) for pull_id in session.baseline]
        # By the noise of a band average, whatever is compared: as `laying_out` does.
        warm = baseline_of(line, named, known.prior(BAND).percent).conditioning
        scores = {
            pull.id: score
            for pull in line.counted
            if pull.id not in warm and (score := figure_of(figures[pull.id], quantity))
        }
        have = [pull for pull in pulls if pull.id in scores]
        scale = main_scale(have)
        mine = tuple(pull for pull in have if pull.taken_through == scale)
        if not mine or min(scores[pull.id] for pull in mine) <= 0.0:
            return None
        of_print: dict[str, int] = {}
        for pull in mine:
            of_print.setdefault(line.prints[pull.id], len(of_print))
        labels = {pull.id: of_print[line.prints[pull.id]] for pull in mine}
        by_label = {labels[pull.id]: setups[pull.setup_id] for pull in mine}
        runs = line.runs()
        return Day(
            session=session,
            engine=place.engine,
            cell=place.cell,
            pulls=mine,
            labels=labels,
            figures=figures,
            setups=by_label,
            of_print=of_print,
            visit=visit(
                session.id,
                session.engine_id,
                session.build_id,
                session.cell_id,
                [pull.number for pull in mine],
                [labels[pull.id] for pull in mine],
                [scores[pull.id] for pull in mine],
                by_label,
                run=[runs[pull.id] for pull in mine],
                prior=prior,
                wander=known.wander(quantity),
            ),
            other_scale=tuple(pull.number for pull in have if pull.taken_through != scale),
        )

    def _learned(self, session: Session) -> Learned:
        """What a session's cell has learned, once for all its days here."""
        if session.cell_id not in self._cells_learned:
            _, found = learned(self.desk, self.read, session)
            self._cells_learned[session.cell_id] = found
        return self._cells_learned[session.cell_id]


def figure_of(figures: Figures, quantity: str) -> float | None:
    """The figure that a quantity is judged on."""
    return figures.band_power_kw if quantity == BAND else figures.peak_power_kw


def _stored(
    read: Reader, pulls: Sequence[Pull], scores: Mapping[str, Score], place: Place
) -> dict[str, Figures] | None:
    """The stored figures on the footing of `place`; ``None`` where they do not serve."""
    if place.band != Place(place.session, place.engine, place.cell).band:
        return None
    airs = airs_of(read, pulls) if place.standard_key != place.session.standard else {}
    found = {}
    for pull in pulls:
        score = scores.get(pull.id)
        if score is None or score.version != SCORE_VERSION:
            return None
        if score.standard == place.standard_key:
            figures: Figures | None = score.corrected
        else:
            figures = restated(pull, score, airs.get(pull.air_id), place)
        if figures is None:
            return None
        found[pull.id] = figures
    return found


def figures_anew(read: Reader, pulls: Sequence[Pull], place: Place) -> dict[str, Figures]:
    """Corrected figures under the standard and band of `place`, from what was recorded."""
    traces = read.traces([pull.id for pull in pulls], only=CURVE_QUANTITIES)
    airs = airs_of(read, pulls)
    place = replace(place, recalibrations=recalibrations_of(read, pulls))
    return {
        pull.id: reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place).score.corrected
        for pull in underway.each(pulls)
    }
