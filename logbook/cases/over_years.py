"""An engine over the years: best power by build, and what speaks for wear, with control limits.

What is followed, and how a session becomes one value, says `year_points`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of
from logbook.cases.place import band_of
from logbook.cases.year_points import DOWN, MEASURES, UP, Measure, Point, points_of
from logbook.engineering.correction import standard as named
from logbook.records.engine import Engine
from logbook.records.times import moment_of
from logbook.store.over_years import SessionBest, sessions_of_engine

if TYPE_CHECKING:
    from logbook.store.reader import Reader
    from logbook.verdict.control import ControlChart, Trend

SESSIONS_LOOKED_BACK = 200
Footing = tuple[str, str, tuple[float, float] | None]
"""Build (id), standard and band (rpm): powers that differ in one of them are not compared."""

_YEAR_S = 365.25 * 86_400.0

BEYOND, JUMPED, SHIFTED = "beyond", "jumped", "shifted"
TREND, STEADY, FEW = "trend", "steady", "few"
SIGNS = {BEYOND: "⚠", JUMPED: "⚠", SHIFTED: "⚠", TREND: "↗", STEADY: "=", FEW: "·"}
FALLING_SIGN = "↘"


@dataclass(frozen=True, slots=True)
class Sister:
    """The same measure of another engine of the family."""

    tag: str
    last: float
    last_day: str
    center: float
    count: int


@dataclass(frozen=True, slots=True)
class Series:
    """One measure over time, oldest first. The chart's center is the newest build's, its limits
    come from what two values of one build differ by; the trend is per year, within builds.
    `state` is the word's code, `sentence` says it; `worse`: it goes the way of wear."""

    measure: Measure
    points: tuple[Point, ...]
    chart: ControlChart
    trend: Trend | None
    state: str
    sentence: str
    worse: bool
    sisters: tuple[Sister, ...]

    @property
    def sign(self) -> str:
        """Beside the words."""
        falling = self.trend is not None and self.trend.slope < 0
        return FALLING_SIGN if self.state == TREND and falling else SIGNS[self.state]


@dataclass(frozen=True, slots=True)
class BuildBest:
    """A build with its best corrected power under one standard and over one band (rpm; ``None`` of
    a peak), on a day of the cell's calendar, and of how many sessions."""

    build: str
    standard: str
    power_kw: float
    is_band: bool
    band_rpm: tuple[float, float] | None
    at: str
    day: str
    sessions: int


@dataclass(frozen=True, slots=True)
class OverYears:
    """An engine over the years. Powers are followed under `standard` and over `band_rpm`, those of
    the newest session with a band average; channels over that band too. `notes` say what was left
    out."""

    engine: Engine
    standard: str
    band_rpm: tuple[float, float] | None
    builds: tuple[BuildBest, ...]
    series: tuple[Series, ...]
    notes: tuple[str, ...]


def over_years(desk: Desk, tag: str) -> OverYears:
    """Best power by build, and every measure that was ever taken, for an engine and its family."""
    with desk.book.reading() as read:
        engine = engine_of(read, tag)
        sessions = sessions_of_engine(read, engine.id, limit=SESSIONS_LOOKED_BACK)
        standard, band = _footing(sessions, engine)
        own = points_of(read, engine, sessions, standard, band)
        sisters = [
            (sister.tag, points_of(
                read,
                sister,
                sessions_of_engine(read, sister.id, limit=SESSIONS_LOOKED_BACK),
                standard,
                band,
            ))
            for sister in _sisters(read, engine)
        ]  # fmt: skip
    return OverYears(
        engine,
        standard,
        band,
        _by_build(sessions, engine),
        tuple(
            judge_series(
                measure,
                own[measure.key],
                [(name, points[measure.key]) for name, points in sisters],
            )
            for measure in MEASURES
            if own[measure.key]
        ),
        tuple(_notes(sessions, engine, standard, band)),
    )


def _sisters(read: Reader, engine: Engine) -> list[Engine]:
    """The other engines of the family, by tag."""
    if not engine.family:
        return []
    family = engine.family.casefold()
    return [
        other
        for other in read.where(Engine, order="tag")
        if other.id != engine.id and other.family.casefold() == family
    ]


def _footing(
    sessions: Sequence[SessionBest], engine: Engine
) -> tuple[str, tuple[float, float] | None]:
    """Standard and band of the newest session that has a band average: only its like stand beside
    it."""
    for session in reversed(sessions):
        if session.best_is_band:
            return session.standard, band_of(session, engine)
    return "", band_of(engine, engine)


def _notes(
    sessions: Sequence[SessionBest],
    engine: Engine,
    standard: str,
    band: tuple[float, float] | None,
) -> Iterable[str]:
    other = [s for s in sessions if s.best_power_kw is not None and s.standard != standard]
    if standard and other:
        yield (
            f"Under another standard than {named(standard).name}, and so not followed beside it:"
            f" {_counted(other)}"
        )
    elsewhere = [s for s in sessions if s.best_is_band and s.standard == standard
                 and band_of(s, engine) != band]  # fmt: skip
    if band and elsewhere:
        yield (
            f"Over another band than {band[0]:.0f}–{band[1]:.0f} rpm, and so not followed beside"
            f" it: {_counted(elsewhere)}"
        )
    peaks = [s for s in sessions if s.best_power_kw is not None and not s.best_is_band]
    if peaks:
        yield f"Peaks only, no band average to follow: {_counted(peaks)}"


def _counted(sessions: Sequence[SessionBest]) -> str:
    days = ", ".join(session.day for session in sessions[-3:])
    more = "" if len(sessions) <= 3 else f" and {len(sessions) - 3} more"
    return f"the session{'s' if len(sessions) > 1 else ''} of {days}{more}"


def _by_build(sessions: Sequence[SessionBest], engine: Engine) -> tuple[BuildBest, ...]:
    """The best of each build under each standard and over each band; a peak only where there is no
    band average."""
    best: dict[Footing, SessionBest] = {}
    counts: dict[Footing, int] = {}
    for session in sessions:
        if session.best_power_kw is None:
            continue
        key = session.build_id, session.standard, band_of(session, engine)
        counts[key] = counts.get(key, 0) + 1
        held = best.get(key)
        rank = session.best_is_band, session.best_power_kw
        if held is None or rank > (held.best_is_band, held.best_power_kw or 0.0):
            best[key] = session
    return tuple(
        BuildBest(
            s.build,
            s.standard,
            s.best_power_kw,
            s.best_is_band,
            key[2] if s.best_is_band else None,
            s.opened_at,
            s.day,
            counts[key],
        )
        for key, s in best.items()
        if s.best_power_kw is not None
    )


def judge_series(
    measure: Measure, points: Sequence[Point], sisters: Iterable[tuple[str, Sequence[Point]]]
) -> Series:
    """Limits and trend of one measure's points (at least one, oldest first), with those of the
    sisters by tag."""
    from logbook.verdict.control import individuals, trend

    values = [point.value for point in points]
    times = [moment_of(point.at).timestamp() / _YEAR_S for point in points]
    builds = [0, *accumulate(a.build != b.build for a, b in pairwise(points))]
    chart = individuals(values, builds, floor=-math.inf if measure.signed else 0.0)
    slope = trend(times, values, builds)
    state, sentence = _state(points, chart, slope)
    going = UP if slope is not None and slope.low > 0 else DOWN if slope and slope.high < 0 else ""
    if state in (BEYOND, JUMPED, SHIFTED):
        going = UP if values[-1] > chart.center else DOWN
    return Series(
        measure,
        tuple(points),
        chart,
        slope,
        state,
        sentence,
        bool(measure.worse) and going == measure.worse and state != STEADY,
        tuple(
            Sister(tag, found[-1].value, found[-1].day,
                   sum(p.value for p in found) / len(found), len(found))
            for tag, found in sisters
            if found
        ),
    )  # fmt: skip


def _state(points: Sequence[Point], chart: ControlChart, slope: Trend | None) -> tuple[str, str]:
    """The code and the words of where a series stands."""
    from logbook.verdict.control import LEAST_VALUES, LEVEL_WORD, RUN

    last = len(points) - 1
    if chart.low is None and chart.own < 2 <= chart.count:
        return FEW, f"the first value of {points[last].build}: nothing yet to set it against"
    if chart.low is None:
        needed = LEAST_VALUES - 1
        return FEW, f"limits need {needed} steps within a build; there are {chart.ranges}"
    if last in chart.beyond:
        return BEYOND, "the last value is beyond the control limits"
    if last in chart.jumps and _away(points, chart.center):
        return JUMPED, "the last value lies farther from the one before than chance explains"
    if last in chart.shifted:
        side = "above" if points[last].value > chart.center else "below"
        return SHIFTED, f"the last {RUN} or more all lie {side} the center"
    if slope is not None and slope.word != LEVEL_WORD:
        return TREND, f"{slope.word} over the years, beyond chance at 95 %"
    if chart.beyond:
        days = ", ".join(points[place].day for place in chart.beyond[-3:])
        return STEADY, f"within its limits now, beyond them on {days}"
    return STEADY, "within its control limits"


def _away(points: Sequence[Point], center: float) -> bool:
    """Whether the last step led away from the center: the one back from a wild value is as wide,
    and good news."""
    before, last = (abs(point.value - center) for point in points[-2:])
    return last > before
