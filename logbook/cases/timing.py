"""The timing of a session: what the pulls say, and which timing to pull next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from logbook.cases.bench import Bench
from logbook.cases.cautions import pull_cautions
from logbook.cases.desk import Desk
from logbook.cases.history import BAND, PEAK
from logbook.cases.laying_out import lay_out
from logbook.cases.permitted import bounds_now
from logbook.cases.scales import main_scale
from logbook.records.caution import Caution
from logbook.records.pull import Pull
from logbook.records.setup import SetUp
from logbook.refusals import Conflict

if TYPE_CHECKING:
    from logbook.verdict.bounds import Bounds
    from logbook.verdict.fit import Array
    from logbook.verdict.next_timing import NextTiming
    from logbook.verdict.timing import DrawnCurve, TimingPulls
    from logbook.verdict.timing_trust import TimingAnswer

# The figures that can stand for torque, the steadiest first: label, attribute, quantity.
SCORED_ON = (
    ("band average of torque", "band_torque_nm", BAND),
    ("peak torque", "peak_torque_nm", PEAK),
    ("peak power", "peak_power_kw", PEAK),
)
DRAWN_POINTS = 61


@dataclass(frozen=True, slots=True)
class TestedTiming:
    """One pull with a timing: its number, timing in degrees, and torque in percent of the best
    (of the fitted greatest, or of the greatest pulled where nothing is fitted). `used`: it lies
    near enough to the best to be fitted."""

    pull_id: str
    number: int
    timing_deg: float
    percent: float
    knock: str
    used: bool


@dataclass(frozen=True, slots=True)
class TimingView:
    """Everything the Timing screen and `logbook timing` show.

    `answer` and `advice` are the judgement's own results; ``None`` where no pull has a timing,
    and then `why_none` says so. `scored_on` names the figure. `left_out` is (pull id, number,
    why). `all_timings_deg` is the top of a parabola through every timing pulled, to be set beside
    the best: over a wide sweep torque is lopsided and it comes out too
    late. `drawn` is the fitted curve with its band, in the figure's unit, `unit` that of 100 %.
    """

    session_id: str
    engine_tag: str
    scored_on: str
    answer: TimingAnswer | None
    advice: NextTiming | None
    bounds: Bounds
    tested: tuple[TestedTiming, ...]
    left_out: tuple[tuple[str, int, str], ...]
    all_timings_deg: float | None
    drawn: DrawnCurve | None
    unit: float
    limit_deg: float | None
    thirds_rpm: tuple[tuple[float, float], ...]
    cautions: tuple[Caution, ...]
    why_none: str

    @property
    def used(self) -> tuple[str, ...]:
        """The ids of the pulls that the fit rests on."""
        return tuple(tested.pull_id for tested in self.tested if tested.used)


def timing_view(desk: Desk, session_id: str) -> TimingView:
    """Judge the timings of a session for the set-up of its last counted pull."""
    from logbook.verdict.comparable import differing_in_timing_only

    bench = lay_out(desk, session_id)
    present = _present(bench)
    excluded = [pull.excluded_reason for pull in bench.pulls]
    set_ups = [bench.set_ups[pull.setup_id] for pull in bench.pulls]
    sorted_out = differing_in_timing_only(set_ups, present, excluded)
    label, attribute, quantity = _figure(bench, sorted_out.used)
    used, left_out = [], [(bench.pulls[o.place], o.why) for o in sorted_out.left_out]
    scale = main_scale(bench.pulls[place] for place in sorted_out.used)
    for place in sorted_out.used:
        pull = bench.pulls[place]
        value = getattr(bench.reckoned[pull.id].score.corrected, attribute)
        if value is None or not value > 0:
            left_out.append((pull, f"It has no corrected {label}"))
        elif pull.taken_through != scale:
            left_out.append((pull, "It is taken through another calibration than the most"))
        else:
            used.append(pull)
    bounds = bounds_now(bench, _timing(bench, used[0]) if used else None)
    if not used:
        return _nothing(bench, bounds, left_out, label)
    return _judged(bench, used, left_out, bounds, (label, attribute, quantity))


def _present(bench: Bench) -> SetUp:
    counted = bench.line.counted
    return bench.set_ups[counted[-1].setup_id] if counted else SetUp({})


def _figure(bench: Bench, places: tuple[int, ...]) -> tuple[str, str, str]:
    """The steadiest figure that at least half of the pulls have."""
    scores = [bench.reckoned[bench.pulls[place].id].score.corrected for place in places]
    for choice in SCORED_ON:
        have = sum(getattr(score, choice[1]) is not None for score in scores)
        if have and 2 * have >= len(scores):
            return choice
    return SCORED_ON[0]


def _judged(
    bench: Bench,
    used: list[Pull],
    left_out: list[tuple[Pull, str]],
    bounds: Bounds,
    figure: tuple[str, str, str],
) -> TimingView:
    import numpy as np

    from logbook.verdict.next_timing import next_timing
    from logbook.verdict.timing import draw, fit_timing, timing_pulls
    from logbook.verdict.timing_trust import judge_timing

    label, attribute, quantity = figure
    runs = bench.line.runs()
    timings = {pull.id: _timing(bench, pull) for pull in used}
    torque = [getattr(bench.reckoned[p.id].score.corrected, attribute) for p in used]
    pulls: TimingPulls = timing_pulls(
        [pull.number for pull in used],
        [timings[pull.id] for pull in used],
        torque,
        run=[runs[pull.id] for pull in used],
        prior=bench.learned.prior(quantity),
        wander=bench.learned.wander(quantity),
    )
    thirds = _thirds(bench)
    answer = judge_timing(pulls, third_torques=_third_torques(bench, used, thirds))
    if answer.settle_deg is not None and (answer.stop or not bounds.permits(answer.settle_deg)):
        answer = replace(answer, settle_deg=None)  # advice like any other
    advice = next_timing(pulls, bounds, present_deg=timings[used[0].id], stop=answer.stop)
    unit = answer.fit.greatest or max(torque)
    drawn = None
    if answer.fit.parabola is not None:
        spread = [*timings.values(), *([answer.fit.best_deg] if answer.fit.best_deg else [])]
        drawn = draw(
            answer.fit.parabola, np.linspace(min(spread) - 1, max(spread) + 1, DRAWN_POINTS)
        )
    return TimingView(
        session_id=bench.session.id,
        engine_tag=bench.engine.tag,
        scored_on=label,
        answer=answer,
        advice=advice,
        bounds=bounds,
        tested=tuple(
            TestedTiming(p.id, p.number, timings[p.id], 100.0 * t / unit, p.knock, bool(near))
            for p, t, near in zip(used, torque, answer.fit.used, strict=True)
        ),
        left_out=_listed([*left_out, *_far(used, answer)]),
        all_timings_deg=fit_timing(pulls, near_percent=None).top_deg,
        drawn=drawn,
        unit=unit,
        limit_deg=bench.engine.limit_timing_deg,
        thirds_rpm=thirds,
        cautions=_cautions(bench),
        why_none="",
    )


def _far(used: list[Pull], answer: TimingAnswer) -> list[tuple[Pull, str]]:
    """The pulls too far from the best for the parabola, with the reason."""
    from logbook.verdict.timing import NEAR_THE_BEST_PERCENT

    why = f"Its torque is more than {NEAR_THE_BEST_PERCENT:g} % below the best: outside the fit"
    return [(p, why) for p, near in zip(used, answer.fit.used, strict=True) if not near]


def _nothing(
    bench: Bench, bounds: Bounds, left_out: list[tuple[Pull, str]], label: str
) -> TimingView:
    return TimingView(
        session_id=bench.session.id,
        engine_tag=bench.engine.tag,
        scored_on=label,
        answer=None,
        advice=None,
        bounds=bounds,
        tested=(),
        left_out=_listed(left_out),
        all_timings_deg=None,
        drawn=None,
        unit=1.0,
        limit_deg=bench.engine.limit_timing_deg,
        thirds_rpm=_thirds(bench),
        cautions=_cautions(bench),
        why_none="No counted pull has a timing and a corrected torque yet",
    )


def _listed(left_out: list[tuple[Pull, str]]) -> tuple[tuple[str, int, str], ...]:
    ordered = sorted(left_out, key=lambda item: item[0].number)
    return tuple((pull.id, pull.number, why) for pull, why in ordered)


def _timing(bench: Bench, pull: Pull) -> float:
    timing = bench.set_ups[pull.setup_id].timing_deg
    if timing is None:
        raise Conflict(f"pull {pull.number} has no timing", where="Timing")
    return timing


def _thirds(bench: Bench) -> tuple[tuple[float, float], ...]:
    """The three thirds of the band, rpm; empty without a band."""
    if bench.place.band is None:
        return ()
    low, high = bench.place.band
    edges = [low + (high - low) * part / 3 for part in range(4)]
    return tuple(pairwise(edges))


def _third_torques(
    bench: Bench, used: list[Pull], thirds: tuple[tuple[float, float], ...]
) -> Array | None:
    """Mean corrected torque in each third, shape (pulls, 3), rows by pull number."""
    import numpy as np

    from logbook.engineering.trace import band_average

    curves = [bench.reckoned[pull.id].corrected for pull in used]
    if not thirds or any(curve is None for curve in curves):
        return None
    means = [
        [
            band_average(curve.speed_rpm, curve.torque_nm, *third, reach=curve.reach_rpm)
            for third in thirds
        ]
        for curve in curves
        if curve is not None
    ]
    return np.array(means, dtype=np.float64)


def _cautions(bench: Bench) -> tuple[Caution, ...]:
    """What stands beside any advice: the last pull's cautions; the bounds name a missing limit."""
    return pull_cautions(bench, bench.pulls[-1]) if bench.pulls else ()
