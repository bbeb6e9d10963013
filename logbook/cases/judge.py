"""The answers: a session's list and the chosen pull against baseline and the pull before."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from logbook.cases.air import latest_air, view_air
from logbook.cases.bench import Bench, lay_out
from logbook.cases.between import same_set_up, worth_between
from logbook.cases.cautions import (
    LOOK_FOR_A_CAUSE_PERCENT,
    missing_limit,
    pull_cautions,
    ready_items,
)
from logbook.cases.curves import curve_view, difference_view
from logbook.cases.desk import Desk
from logbook.cases.grouping import Group
from logbook.cases.history import BAND
from logbook.cases.labels import pulls_words
from logbook.cases.pulls import pull_of
from logbook.cases.results import (
    AirView,
    AnswerView,
    Drift,
    Noise,
    PullRow,
    PullStory,
    SessionView,
    Wander,
    Worth,
)
from logbook.cases.scales import another_scale, scale_cautions
from logbook.records.caution import Caution
from logbook.records.engine import Fuel
from logbook.records.pull import Pull
from logbook.records.times import day_in
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.verdict.difference import SessionJudgement
    from logbook.verdict.judged import SetupJudgement
    from logbook.verdict.noise import Wander as VerdictWander

# What is shown beside the answer: label, kind of quantity, pull attribute, trace quantity.
BESIDE_THE_ANSWER = (
    ("Manifold vacuum", "vacuum", "manifold_vacuum_kpa", "manifold vacuum"),
    ("Crankcase vacuum", "vacuum", "crankcase_vacuum_kpa", "crankcase vacuum"),
    ("Blow-by", "volume_flow", "blow_by_m3_h", "blow-by"),
)

WORTH_SAYING_PERCENT = 0.1
ASSUMED_SOURCE = "assumed"


def session_view(desk: Desk, session_id: str) -> SessionView:
    """The Session screen's header, list and status lines; pulls newest first."""
    from logbook.engineering.correction import standard

    bench = lay_out(desk, session_id)
    with desk.book.reading() as read:
        reading = latest_air(read, session_id)
    air = view_air(reading, bench.session, bench.cell, desk.timestamp()) if reading else None
    main = main_group(bench)
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
    previous, why_no_previous = _from_previous(bench, pull)
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
        own_difference_kw=_own_difference(bench, group, pull),
        worth=_worth_from_baseline(desk, bench, group, pull),
        cautions=pull_cautions(bench, pull),
    )


def worth_of(desk: Desk, bench: Bench, pull: Pull) -> Worth | None:
    """The verdict on a pull's set-up; ``None`` for the baseline's, or with nothing to judge by."""
    return _worth_from_baseline(desk, bench, bench.group_of(pull.id), pull)


def _pull_before(bench: Bench, pull: Pull) -> Pull | None:
    """The pull before, excluded ones too: what was changed was changed all the same."""
    earlier = [other for other in bench.pulls if other.number < pull.number]
    return earlier[-1] if earlier else None


def _own_difference(bench: Bench, group: Group | None, pull: Pull) -> float | None:
    if group is None:
        return None
    base = [group.scores[p.id] for p in group.pulls if p.id in bench.baseline_pulls]
    return group.scores[pull.id] - sum(base) / len(base) if base else None


def _worth_from_baseline(desk: Desk, bench: Bench, group: Group | None, pull: Pull) -> Worth | None:
    if group is None or pull.id in bench.baseline_pulls:
        return None
    if bench.elsewhere is not None:
        return worth_between(
            desk, bench.elsewhere, bench.baseline_pulls, bench, same_set_up(bench, pull)
        )
    judged = group.judgement.by_setup.get(group.labels[pull.id])
    if judged is None:
        return None
    found = worth(group.quantity, judged)
    against = _torque_against(group, pull, found.percent)
    return replace(found, reason=f"{found.reason} {against}") if against else found


def _torque_against(group: Group, pull: Pull, percent: float) -> str:
    """Said where the band average of torque points the other way than that of power."""
    torque_percent = group.torque_percent.get(group.labels[pull.id], 0.0)
    if torque_percent * percent >= 0 or abs(torque_percent) < WORTH_SAYING_PERCENT:
        return ""
    return f"The band average of torque points the other way: {torque_percent:+.1f} %."


def worth(quantity: str, judged: SetupJudgement) -> Worth:
    """A judged difference as the doors show it."""
    return Worth(
        quantity=quantity,
        difference_kw=judged.difference,
        percent=judged.percent,
        interval_kw=judged.interval,
        verdict=judged.verdict,
        noise=Noise(judged.noise.percent, judged.noise.degrees_of_freedom, judged.noise.source),
        pulls=judged.pulls,
        baseline_pulls=judged.from_pulls,
        more_pulls=judged.more_pulls,
        reason=judged.reason,
        wander=wander_of(judged.wander),
        settle_by=(
            judged.next_pulls.count(judged.setup),
            judged.next_pulls.count(judged.from_setup),
        ),
    )


def _drift(judged: SessionJudgement) -> Drift:
    drift = judged.drift
    return Drift(drift.percent_per_pull, drift.standard_error, wander_of(judged.wander))


def wander_of(wander: VerdictWander) -> Wander:
    """Drift and re-setting error as the doors show them."""
    return Wander(wander.drift_percent, wander.resetting_percent, wander.source)


def _from_previous(bench: Bench, pull: Pull) -> tuple[Worth | None, str]:
    previous, group = bench.before(pull), bench.group_of(pull.id)
    if group is None:
        return None, why_none(bench, pull)
    if previous is None:
        return None, "There is no pull before this one"
    if previous.id not in group.scores:
        other = f"Pull {previous.number} was judged on another figure"
        return None, another_scale(pull, previous) or other
    before, after = group.labels[previous.id], group.labels[pull.id]
    if before == after:
        return None, f"A repeat of pull {previous.number}"
    return worth(group.quantity, group.judgement.between(before, after)), ""


def why_none(bench: Bench, pull: Pull) -> str:
    """Why a pull has no worth, in a sentence."""
    if pull.excluded_reason is not None:
        return f"Excluded: {pull.excluded_reason}"
    if pull.id in bench.baseline_pulls:
        return "This pull is part of the baseline"
    score = bench.reckoned[pull.id].score
    if score.factor is None and score.corrected.peak_power_kw is None:
        return "Nothing can be corrected: " + (
            "there is no air reading" if pull.air_id is None else "see the cautions"
        )
    group = bench.group_of(pull.id)
    if group is None:
        return "The pull has no power to judge"
    if not any(p.id in bench.baseline_pulls for p in group.pulls):
        if not bench.baseline_pulls:
            return "There is no baseline yet"
        base = [p for p in bench.pulls if p.id in bench.baseline_pulls]
        if base and (why := another_scale(pull, base[0])):
            return why
        return (
            f"Judged on {group.quantity} among pulls of its kind, and none of the baseline's is"
            " of that kind"
        )
    return "A pull before the baseline: conditioning"


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


def main_group(bench: Bench) -> Group | None:
    """The group whose noise and drift head the screen: band averages where there are any."""
    return next((g for g in bench.groups if g.quantity == BAND), None) or (
        bench.groups[0] if bench.groups else None
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


def readings(bench: Bench, pull: Pull) -> tuple[tuple[str, str, float], ...]:
    """The vacuums and blow-by of a pull: typed, else read off the trace (manifold vacuum at
    peak power, the others averaged over the band)."""
    found = []
    for label, kind, attribute, quantity in BESIDE_THE_ANSWER:
        value = getattr(pull, attribute)
        if value is None:
            value = _from_trace(bench, pull, quantity)
        if value is not None:
            found.append((label, kind, value))
    return tuple(found)


def _from_trace(bench: Bench, pull: Pull, quantity: str) -> float | None:
    trace = bench.traces.get(pull.id)
    channel, speed = (trace.of(quantity), trace.of("engine speed")) if trace else (None, None)
    if trace is None or channel is None or speed is None:
        return None
    from logbook.engineering.readings import channel_at, channel_mean

    taken = slice(trace.first_sample, trace.last_sample + 1)
    score = bench.reckoned[pull.id].score
    peak_rpm = score.observed.peak_power_rpm or score.corrected.peak_power_rpm
    if quantity == "manifold vacuum" and peak_rpm is not None:
        return channel_at(speed.si()[taken], channel.si()[taken], peak_rpm)
    return channel_mean(speed.si()[taken], channel.si()[taken], bench.place.band)


def baseline_label(bench: Bench) -> str:
    """What a session is measured from: ``first set-up, pulls 1–3``."""
    numbers = [p.number for p in bench.pulls if p.id in bench.baseline_pulls]
    if bench.elsewhere is not None:
        numbers = [p.number for p in bench.elsewhere.pulls if p.id in bench.baseline_pulls]
        day = day_in(bench.elsewhere.session.opened_at, bench.elsewhere.cell.time_zone)
        return f"session of {day}, {pulls_words(numbers)}"
    if not numbers:
        return "none yet"
    named = "" if bench.session.baseline else "first set-up, "
    return f"{named}{pulls_words(numbers)}"
