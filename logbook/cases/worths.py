"""What the set-up of a pull is worth against the baseline and against the pull before, or why
nothing can be said."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.between import same_set_up, worth_between
from logbook.cases.desk import Desk
from logbook.cases.grouping import Group
from logbook.cases.labels import pulls_words
from logbook.cases.results import Noise, Wander, Worth
from logbook.cases.scales import another_scale
from logbook.records.pull import Pull
from logbook.records.times import day_in

if TYPE_CHECKING:
    from logbook.verdict.judged import SetupJudgement
    from logbook.verdict.noise import Wander as VerdictWander

WORTH_SAYING_PERCENT = 0.1  # of torque: less is what rounding leaves (chosen, no source)


def worth_of(desk: Desk, bench: Bench, pull: Pull) -> Worth | None:
    """The verdict on a pull's set-up; ``None`` for the baseline's, or with nothing to judge by."""
    return worth_from_baseline(desk, bench, bench.group_of(pull.id), pull)


def own_difference(bench: Bench, group: Group | None, pull: Pull) -> float | None:
    """This pull alone against the baseline's mean, kW, without drift; ``None`` without either."""
    if group is None:
        return None
    base = [group.scores[p.id] for p in group.pulls if p.id in bench.baseline_pulls]
    return group.scores[pull.id] - sum(base) / len(base) if base else None


def worth_from_baseline(desk: Desk, bench: Bench, group: Group | None, pull: Pull) -> Worth | None:
    """The verdict on a pull's set-up, given the group that it is judged in."""
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


def wander_of(wander: VerdictWander) -> Wander:
    """Drift and re-setting error as the doors show them."""
    return Wander(wander.drift_percent, wander.resetting_percent, wander.source)


def worth_from_previous(bench: Bench, pull: Pull) -> tuple[Worth | None, str]:
    """What the pull's set-up is worth against that of the counted pull before, or why not."""
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
