"""Which pulls of a session are judged among themselves, on what figure, from which baseline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.history import BAND, PEAK, TORQUE, Learned
from logbook.records.pull import KNOCK_HEARD, Pull
from logbook.records.score import Figures
from logbook.records.session import CLOSED, Session

if TYPE_CHECKING:
    from logbook.verdict.difference import SessionJudgement


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """The pulls of a session that are judged among themselves, on one quantity and one scale:
    all as the load cell showed them, or all taken through one calibration (`scale`, its id).

    `labels` gives the set-up's label of each pull, 0 for the baseline's; `scores` is in kW;
    `torque_percent` is what each set-up is worth on the band average of torque, by label, empty
    where not every pull has one.
    """

    quantity: str
    scale: str | None
    pulls: tuple[Pull, ...]
    labels: Mapping[str, int]
    scores: Mapping[str, float]
    judgement: SessionJudgement
    torque_percent: Mapping[int, float]


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A session's pulls in order with what tells them apart. `prints` and `figures` (corrected)
    are by pull id."""

    session: Session
    pulls: tuple[Pull, ...]
    prints: Mapping[str, str]
    figures: Mapping[str, Figures]

    @property
    def counted(self) -> tuple[Pull, ...]:
        """The pulls that are not excluded."""
        return tuple(pull for pull in self.pulls if pull.excluded_reason is None)

    def runs(self) -> dict[str, int]:
        """The run without re-setting each pull belongs to; an excluded pull of another set-up
        breaks a run as any other does."""
        runs: dict[str, int] = {}
        run, last = 0, None
        for pull in self.pulls:
            if last is not None and self.prints[pull.id] != last:
                run += 1
            runs[pull.id], last = run, self.prints[pull.id]
        return runs


@dataclass(frozen=True, slots=True)
class Baseline:
    """What a session is measured from. `setup` is the fingerprint, ``None`` where there is no
    baseline here; `pulls` are ids; `elsewhere` says that they are another session's;
    `conditioning` are pulls of it that only warmed the engine; `unsettled` that no two of its
    first pulls have agreed yet."""

    setup: str | None = None
    pulls: frozenset[str] = frozenset()
    elsewhere: bool = False
    conditioning: frozenset[str] = frozenset()
    unsettled: bool = False


def baseline_of(line: Line, named: Sequence[Pull], noise_percent: float) -> Baseline:
    """Named pulls are the baseline with every later repeat of their set-up; otherwise the first
    counted pull's set-up with all its repeats, less the first pulls that only warmed the engine:
    those before two consecutive ones agree within 2 `noise_percent`."""
    here = [pull for pull in named if pull.session_id == line.session.id]
    if named and not here:
        return Baseline(None, frozenset(pull.id for pull in named), elsewhere=True)
    counted = line.counted
    first = min(here, key=lambda pull: pull.number) if here else counted[0] if counted else None
    if first is None:
        return Baseline()
    setup = line.prints[first.id]
    mine = [pull for pull in counted if line.prints[pull.id] == setup]
    if here:
        warm = [pull.id for pull in mine if pull.number < first.number]
        unsettled = False
    else:
        warm, unsettled = _conditioning(line, mine, noise_percent)
    pulls = frozenset(pull.id for pull in mine if pull.id not in warm)
    return Baseline(setup, pulls, conditioning=frozenset(warm), unsettled=unsettled)


def _conditioning(line: Line, baseline: list[Pull], noise_percent: float) -> tuple[list[str], bool]:
    """(pulls that only warmed the engine, whether none have agreed yet) of the first run."""
    from logbook.verdict.between import conditioning

    runs = line.runs()
    scored = [
        (pull.id, power)
        for pull in baseline
        if runs[pull.id] == runs[baseline[0].id]
        and pull.taken_through == baseline[0].taken_through
        and (power := _power(line.figures[pull.id])) is not None
        and power > 0
    ]
    count = conditioning([power for _, power in scored], noise_percent)
    if count == len(scored):
        return [], count > 0
    return [pull_id for pull_id, _ in scored[:count]], False


def _power(figures: Figures) -> float | None:
    return figures.band_power_kw if figures.band_power_kw is not None else figures.peak_power_kw


def groups_of(
    line: Line, baseline: Baseline, learned: Learned, barred_set_ups: Mapping[str, str]
) -> tuple[Group, ...]:
    """The groups, band averages first, of each figure the scale first that most of the baseline
    is on; pulls without a corrected figure are in none. `barred_set_ups` (fingerprints) are not
    advised again, each with the sentence why."""
    scored: dict[str, dict[str, float]] = {BAND: {}, PEAK: {}, TORQUE: {}}
    torques: dict[str, tuple[float, float]] = {}
    for pull in line.counted:
        if pull.id in baseline.conditioning:
            continue
        figures = line.figures[pull.id]
        if figures.band_power_kw is not None:
            scored[BAND][pull.id] = figures.band_power_kw
        elif figures.peak_power_kw is not None:
            scored[PEAK][pull.id] = figures.peak_power_kw
        elif figures.peak_torque_nm is not None and figures.peak_torque_rpm is not None:
            torques[pull.id] = figures.peak_torque_nm, figures.peak_torque_rpm
    scored[TORQUE] = _as_power(torques)
    # What was not loaded has no percent, and must not keep the others from being judged.
    for scores in scored.values():
        for pull_id in [pull_id for pull_id, score in scores.items() if not score > 0]:
            del scores[pull_id]
    return tuple(
        _group(quantity, scale, line, scores, baseline.setup, learned, barred_set_ups)
        for quantity, together in scored.items()
        for scale, scores in _by_scale(line, together, baseline)
    )


def _by_scale(
    line: Line, scores: Mapping[str, float], baseline: Baseline
) -> list[tuple[str | None, dict[str, float]]]:
    """Scores told apart by the calibration that they are taken through: a load cell that showed
    2 % too much and was put right for some of the pulls is no gain of the others."""
    found: dict[str | None, dict[str, float]] = {}
    for pull in line.counted:
        if pull.id in scores:
            found.setdefault(pull.taken_through, {})[pull.id] = scores[pull.id]
    return sorted(found.items(), key=lambda scale: -len(baseline.pulls & scale[1].keys()))


def _as_power(torques: Mapping[str, tuple[float, float]]) -> dict[str, float]:
    """Typed torques as the power they make at their mean speed, kW: percents stay torque's."""
    if not torques:
        return {}
    from logbook.engineering.engine import power_kw

    speed = sum(rpm for _, rpm in torques.values()) / len(torques)
    return {pull_id: power_kw(torque, speed) for pull_id, (torque, _) in torques.items()}


def _group(
    quantity: str,
    scale: str | None,
    line: Line,
    scores: Mapping[str, float],
    base_print: str | None,
    learned: Learned,
    barred_set_ups: Mapping[str, str],
) -> Group:
    from logbook.verdict.difference import judge

    mine = tuple(pull for pull in line.pulls if pull.id in scores)
    order = list(dict.fromkeys([base_print, *(line.prints[pull.id] for pull in mine)]))
    labels = {pull.id: order.index(line.prints[pull.id]) for pull in mine}
    runs = line.runs()
    judgement = judge(
        [pull.number for pull in mine],
        [labels[pull.id] for pull in mine],
        [scores[pull.id] for pull in mine],
        baseline=0,
        prior=learned.prior(quantity),
        wander=learned.wander(quantity),
        worth_having_percent=line.session.worth_having_percent,
        closed=line.session.status == CLOSED,
        run=[runs[pull.id] for pull in mine],
        advice_barred=barred(line.session, line.pulls),
        barred_setups={
            label: why
            for label, fingerprint in enumerate(order)
            if (why := barred_set_ups.get(fingerprint or ""))
        },
    )
    on_torque = _on_torque(line, mine, judgement)
    return Group(quantity, scale, mine, labels, scores, judgement, on_torque)


def _on_torque(line: Line, pulls: tuple[Pull, ...], judged: SessionJudgement) -> dict[int, float]:
    from logbook.verdict.difference import on_another_score

    torques = [line.figures[pull.id].band_torque_nm for pull in pulls]
    known = [torque for torque in torques if torque is not None and torque > 0]
    return on_another_score(judged, known) if len(known) == len(pulls) else {}


def barred(session: Session, pulls: Sequence[Pull]) -> str:
    """Why no further pull may be advised, as a sentence, or ``""``."""
    from logbook.verdict.bounds import advice_barred

    if pulls and pulls[-1].knock == KNOCK_HEARD:
        return f"Knock was heard on pull {pulls[-1].number}: back off first."
    return advice_barred(
        [alarm for pull in pulls for alarm in pull.alarms],
        pulls_taken=len(pulls),
        budget=session.pull_budget,
    )
