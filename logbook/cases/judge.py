"""The answers: a session's list and the chosen pull against baseline and the pull before."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.cases.air import latest_air, view_air
from logbook.cases.bench import Bench
from logbook.cases.cautions import (
    LOOK_FOR_A_CAUSE_PERCENT,
    missing_limit,
    pull_cautions,
    ready_items,
)
from logbook.cases.curves import curve_view, difference_view
from logbook.cases.desk import Desk
from logbook.cases.laying_out import lay_out
from logbook.cases.pull_readings import readings
from logbook.cases.pulls import pull_of
from logbook.cases.results import (
    AirView,
    AnswerView,
    Drift,
    Noise,
    PullRow,
    PullStory,
    SessionView,
)
from logbook.cases.scales import scale_cautions
from logbook.cases.worths import (
    baseline_label,
    own_difference,
    wander_of,
    why_none,
    worth_from_baseline,
    worth_from_previous,
)
from logbook.records.caution import Caution
from logbook.records.engine import Fuel
from logbook.records.pull import Pull
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.verdict.difference import SessionJudgement

ASSUMED_SOURCE = "assumed"


def session_view(desk: Desk, session_id: str) -> SessionView:
    """The Session screen's header, list and status lines; pulls newest first."""
    from logbook.engineering.correction import standard

    bench = lay_out(desk, session_id)
    with desk.book.reading() as read:
        reading = latest_air(read, session_id)
    air = view_air(reading, bench.session, bench.cell, desk.timestamp()) if reading else None
    main = bench.main_group
    judged = main.judgement if main else None
    rows = tuple(row_of(desk, bench, pull) for pull in reversed(bench.pulls))
    return SessionView(
        session=bench.session,
        engine=bench.engine,
        build=bench.build,
        cell=bench.cell,
        standard_name=standard(bench.session.standard).name,
        rows=rows,
        baseline_label=baseline_label(bench),
        noise=Noise(judged.noise.percent, judged.noise.degrees_of_freedom, judged.noise.source)
        if judged
        else None,
        drift=_drift(judged) if judged else None,
        air=air,
        ready=ready_items(bench.engine, bench.pulls[-1] if bench.pulls else None),
        cautions=(
            *(missing_limit(bench.engine, rows[0].setup) if rows else ()),
            *_unsettled(bench),
            *scale_cautions(bench),
            *_noisy(judged),
            *(rows[0].cautions if rows else ()),
        ),
    )


def answer(desk: Desk, session_id: str, pull_id: str) -> AnswerView:
    """The answer for one pull of a session."""
    bench = lay_out(desk, session_id)
    pull = bench.pull(pull_id)
    row = row_of(desk, bench, pull)
    previous, why_no_previous = worth_from_previous(bench, pull)
    reference = _reference_pull(bench, pull)
    return AnswerView(
        row=row,
        air=_air_at(bench, pull),
        from_baseline=row.worth,
        from_previous=previous,
        why_none=why_none(bench, pull) if row.worth is None else why_no_previous,
        curve=curve_view(bench, pull),
        reference=curve_view(bench, reference) if reference else None,
        difference=difference_view(bench, pull),
        readings=readings(bench, pull),
    )


def pull_story(desk: Desk, ref: str) -> PullStory:
    """One pull with all its context, by id or ENGINE/DATE/NUMBER."""
    with desk.book.reading() as read:
        pull = pull_of(read, ref)
        fuel = read.get(Fuel, pull.fuel_id) if pull.fuel_id else None
        source = lookups.source_name(read, pull.source_id) if pull.source_id else None
    bench = lay_out(desk, pull.session_id)
    row = row_of(desk, bench, bench.pull(pull.id))
    return PullStory(
        row=row,
        session=bench.session,
        engine=bench.engine,
        build=bench.build,
        cell=bench.cell,
        fuel=fuel,
        air=_air_at(bench, pull),
        worth=row.worth,
        source_name=source,
        samples=_samples(bench, pull),
        why_none=why_none(bench, pull) if row.worth is None else "",
    )


def _samples(bench: Bench, pull: Pull) -> tuple[int, int] | None:
    """First and last sample of the pull in its file, counted from 1."""
    trace = bench.traces.get(pull.id)
    if trace is None:
        return None
    begin = pull.first_in_file + 1
    return begin + trace.first_sample, begin + trace.last_sample


def row_of(desk: Desk, bench: Bench, pull: Pull) -> PullRow:
    """The list line of one pull of a session that is laid out."""
    set_up = bench.set_ups[pull.setup_id]
    before = _pull_before(bench, pull)
    group = bench.group_of(pull.id)
    return PullRow(
        pull=pull,
        setup=set_up,
        score=bench.reckoned[pull.id].score,
        changed=set_up.changed_from(bench.set_ups[before.setup_id]) if before else (),
        is_baseline=pull.id in bench.baseline_pulls,
        own_difference_kw=own_difference(bench, group, pull),
        worth=worth_from_baseline(desk, bench, group, pull),
        cautions=pull_cautions(bench, pull),
    )


def _pull_before(bench: Bench, pull: Pull) -> Pull | None:
    """The pull before, excluded ones too: what was changed was changed all the same."""
    earlier = [other for other in bench.pulls if other.number < pull.number]
    return earlier[-1] if earlier else None


def _drift(judged: SessionJudgement) -> Drift:
    drift = judged.drift
    return Drift(drift.percent_per_pull, drift.standard_error, wander_of(judged.wander))


def _unsettled(bench: Bench) -> tuple[Caution, ...]:
    if not bench.baseline.unsettled:
        return ()
    return (
        Caution(
            "baseline-unsettled",
            "No two of the first pulls agree yet: pull the baseline again before anything is"
            " changed",
        ),
    )


def _noisy(judged: SessionJudgement | None) -> tuple[Caution, ...]:
    """The day repeats worse than a sound cell does."""
    if judged is None or judged.noise.source == ASSUMED_SOURCE:
        return ()
    if judged.noise.percent <= LOOK_FOR_A_CAUSE_PERCENT:
        return ()
    return (
        Caution(
            "noisy-session",
            f"Repeats scatter by {judged.noise.percent:.2f} %; above"
            f" {LOOK_FOR_A_CAUSE_PERCENT:g} % look for a cause before anything is judged",
        ),
    )


def _reference_pull(bench: Bench, pull: Pull) -> Pull | None:
    """The pull whose curve lies under the chosen one: the baseline's last before it, or for a
    baseline pull the one before."""
    base = [p for p in bench.pulls if p.id in bench.baseline_pulls and p.id != pull.id]
    earlier = [p for p in base if p.number < pull.number]
    return earlier[-1] if earlier else base[0] if base else None


def _air_at(bench: Bench, pull: Pull) -> AirView | None:
    reading = bench.airs.get(pull.air_id)
    return view_air(reading, bench.session, bench.cell, pull.at) if reading else None
