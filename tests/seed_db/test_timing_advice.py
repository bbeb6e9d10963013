"""The advice against the model's truth: as good as the story's operator, in no more pulls."""

from __future__ import annotations

import pytest

from logbook.verdict.bounds import TimedPull, bounds
from logbook.verdict.conditions import Conditions
from logbook.verdict.next_timing import NextTiming, next_timing
from logbook.verdict.timing import timing_pulls
from seed_db.model import knock_from
from seed_db.shop import fuels, si
from seed_db.story import StoryPull, StorySession, sessions
from seed_db.truth import another_pull, corrected_band_power_kw, given_away_percent
from seed_db.weather import true_air

SWEEPS = ("2023-10-14-pt-6", "2024-09-21-rb-8", "2026-06-20-hc-4a", "2026-11-14-rb-8")
SAME = Conditions("build", "fuel", "rest")


def operators_pulls(session: StorySession) -> int:
    """How many pulls the operator of the story had used when the timing was chosen."""
    return next(beat.end[0] for beat in session.beats if beat.what == "timing")


def follow_the_advice(session: StorySession, budget: int) -> tuple[NextTiming, list[StoryPull]]:
    """Two pulls where the operator began, then only what is advised, listening for knock."""
    start = float(session.pulls[0].set_up["timing"])
    pulls = [another_pull(session, number, start) for number in (1, 2)]
    while True:
        advice = _advice(session, pulls, start)
        if advice.next_deg is None or len(pulls) == budget:
            return advice, pulls
        pulls.append(another_pull(session, len(pulls) + 1, advice.next_deg))


def _advice(session: StorySession, pulls: list[StoryPull], start: float) -> NextTiming:
    timings = [float(pull.set_up["timing"]) for pull in pulls]
    within = bounds(
        [
            TimedPull(timing, _knock(session, pull), SAME)
            for timing, pull in zip(timings, pulls, strict=True)
        ],
        SAME,
        present_deg=start,
        limit_deg=si(session.engine.sheet["limit-timing"], "angle"),
        least_deg=si(session.engine.sheet["least-timing"], "angle"),
    )
    scores = [corrected_band_power_kw(session, pull) for pull in pulls]
    taken = timing_pulls([pull.number for pull in pulls], timings, scores)
    return next_timing(taken, within, present_deg=start)


def _knock(session: StorySession, pull: StoryPull) -> str:
    fuel = fuels()[pull.set_up["fuel"]]
    starts = knock_from(session.engine.family, fuel, true_air(session, pull.minute))
    return "heard" if float(pull.set_up["timing"]) >= starts else "none"


@pytest.mark.parametrize("key", SWEEPS)
def test_advice_reaches_the_true_best_in_no_more_pulls_than_the_operator(key: str) -> None:
    session = sessions()[key]
    used = operators_pulls(session)
    advice, pulls = follow_the_advice(session, used)
    assert len(pulls) <= used
    assert advice.now_deg is not None
    set_up = session.pulls[-1].set_up
    assert given_away_percent(session.engine, session.build, set_up, advice.now_deg) <= 0.1


@pytest.mark.parametrize("key", SWEEPS)
def test_advice_stays_below_the_limit_and_the_knock(key: str) -> None:
    session = sessions()[key]
    _, pulls = follow_the_advice(session, operators_pulls(session))
    limit = si(session.engine.sheet["limit-timing"], "angle")
    assert all(float(pull.set_up["timing"]) <= limit for pull in pulls)
    assert [_knock(session, pull) for pull in pulls] == ["none"] * len(pulls)
