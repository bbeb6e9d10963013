"""A session laid out on the bench: everything the judgement of its pulls needs, loaded once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.history import BAND, PEAK, learned_priors
from logbook.cases.scoring import Place, Reckoned, airs_of, reckon
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine
from logbook.records.pull import KNOCK_HEARD, Pull
from logbook.records.session import CLOSED, Session
from logbook.records.setup import SetUp
from logbook.records.trace import Trace

if TYPE_CHECKING:
    from logbook.verdict.difference import SessionJudgement
    from logbook.verdict.noise import Prior


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """The pulls of a session that are judged among themselves, on one quantity.

    `labels` gives the set-up's label of each pull; `judgement` is ``None`` where no pull counts.
    """

    quantity: str
    pulls: tuple[Pull, ...]
    labels: Mapping[str, int]
    scores: Mapping[str, float]
    judgement: SessionJudgement | None


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """A session with its pulls (by number, excluded ones too), set-ups, airs, curves and the
    judgement of each group. `prints` tells by pull id which pulls have the same set-up;
    `baseline_pulls` are the ids the session is measured from."""

    session: Session
    engine: Engine
    build: Build
    cell: Cell
    pulls: tuple[Pull, ...]
    set_ups: Mapping[str, SetUp]
    airs: Mapping[str | None, AirReading]
    traces: Mapping[str, Trace]
    reckoned: Mapping[str, Reckoned]
    prints: Mapping[str, str]
    baseline_pulls: frozenset[str]
    groups: tuple[Group, ...]

    def group_of(self, pull_id: str) -> Group | None:
        """The group a pull is judged in; ``None`` for an excluded pull or one without score."""
        return next((group for group in self.groups if pull_id in group.scores), None)

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
        priors = learned_priors(read, session)  # other sessions': the stamp does not tell
        held = desk.judged.get(key)
        if held is not None and held[0] == (stamp, priors):
            bench: Bench = held[1]
            return bench
        engine = read.get(Engine, session.engine_id)
        build = read.get(Build, session.build_id)
        cell = read.get(Cell, session.cell_id)
        pulls = tuple(read.where(Pull, session_id=session_id, order="number"))
        set_ups = read.setups({pull.setup_id for pull in pulls})
        traces = read.traces([pull.id for pull in pulls])
        airs = airs_of(read, pulls)
        baseline = [read.get(Pull, pull_id) for pull_id in session.baseline]
    place = Place(session, engine, cell, standard)
    reckoned = {
        pull.id: reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place) for pull in pulls
    }
    prints = {pull.id: set_ups[pull.setup_id].fingerprint for pull in pulls}
    base_print, base_pulls = _baseline(session, pulls, prints, baseline)
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
        prints=prints,
        baseline_pulls=base_pulls,
        groups=_groups(session, pulls, prints, reckoned, base_print, base_pulls, priors),
    )
    desk.judged[key] = ((stamp, priors), bench)
    return bench


def _baseline(
    session: Session, pulls: tuple[Pull, ...], prints: Mapping[str, str], named: list[Pull]
) -> tuple[str | None, frozenset[str]]:
    """(set-up, pulls) everything is measured from; no set-up where it is another session's.

    Named pulls are the baseline with every later repeat of their set-up in this session; pulls
    of it before the first named one are taken as conditioning. Otherwise the first counted
    pull's set-up with all its repeats.
    """
    counted = [pull for pull in pulls if pull.excluded_reason is None]
    here = [pull for pull in named if pull.session_id == session.id]
    if named and not here:
        return None, frozenset(pull.id for pull in named)
    first = min(here, key=lambda pull: pull.number) if here else counted[0] if counted else None
    if first is None:
        return None, frozenset()
    return prints[first.id], frozenset(
        pull.id
        for pull in counted
        if prints[pull.id] == prints[first.id] and pull.number >= first.number
    )


def _groups(
    session: Session,
    pulls: tuple[Pull, ...],
    prints: Mapping[str, str],
    reckoned: Mapping[str, Reckoned],
    base_print: str | None,
    baseline: frozenset[str],
    priors: Mapping[str, Prior],
) -> tuple[Group, ...]:
    scored: dict[str, dict[str, float]] = {BAND: {}, PEAK: {}}
    for pull in pulls:
        if pull.excluded_reason is not None:
            continue
        if prints[pull.id] == base_print and pull.id not in baseline:
            continue  # conditioning pulls before the named baseline
        figures = reckoned[pull.id].score.corrected
        if figures.band_power_kw is not None:
            scored[BAND][pull.id] = figures.band_power_kw
        elif figures.peak_power_kw is not None:
            scored[PEAK][pull.id] = figures.peak_power_kw
    return tuple(
        _group(quantity, session, pulls, prints, scores, base_print, priors.get(quantity))
        for quantity, scores in scored.items()
        if scores
    )


def _group(
    quantity: str,
    session: Session,
    pulls: tuple[Pull, ...],
    prints: Mapping[str, str],
    scores: Mapping[str, float],
    base_print: str | None,
    learned: Prior | None,
) -> Group:
    from logbook.verdict.difference import judge
    from logbook.verdict.noise import ASSUMED, ASSUMED_PEAKS

    mine = tuple(pull for pull in pulls if pull.id in scores)
    order = list(dict.fromkeys([base_print, *(prints[pull.id] for pull in mine)]))
    labels = {pull.id: order.index(prints[pull.id]) for pull in mine}
    runs = _runs(pulls, prints)
    positive = all(score > 0 for score in scores.values())
    judgement = (
        judge(
            [pull.number for pull in mine],
            [labels[pull.id] for pull in mine],
            [scores[pull.id] for pull in mine],
            baseline=0,
            prior=learned or (ASSUMED if quantity == BAND else ASSUMED_PEAKS),
            worth_having_percent=session.worth_having_percent,
            closed=session.status == CLOSED,
            run=[runs[pull.id] for pull in mine],
            advice_barred=_barred(session, pulls),
        )
        if positive
        else None
    )
    return Group(quantity, mine, labels, scores, judgement)


def _runs(pulls: tuple[Pull, ...], prints: Mapping[str, str]) -> dict[str, int]:
    """The run without re-setting each pull belongs to; an excluded pull of another set-up
    breaks a run as any other does."""
    runs: dict[str, int] = {}
    run, last = 0, None
    for pull in pulls:
        if last is not None and prints[pull.id] != last:
            run += 1
        runs[pull.id], last = run, prints[pull.id]
    return runs


def _barred(session: Session, pulls: tuple[Pull, ...]) -> str:
    """Why no further pull may be advised, or ``""``."""
    alarmed = next((pull for pull in reversed(pulls) if pull.alarms), None)
    if alarmed:
        return f"pull {alarmed.number} had an alarm: {', '.join(alarmed.alarms)}"
    if pulls and pulls[-1].knock == KNOCK_HEARD:
        return f"knock was heard on pull {pulls[-1].number}"
    if session.pull_budget is not None and len(pulls) >= session.pull_budget:
        return f"the session's budget of {session.pull_budget} pulls is used up"
    return ""
