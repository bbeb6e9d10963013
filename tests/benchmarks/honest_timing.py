"""Torque given away by the timing advice, against the habits of the trade, truth known."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from logbook.verdict.bounds import RETARD_ASSUMED_DEG, STEP_BEYOND_CLEAN_DEG, Bounds
from logbook.verdict.loss_curves import ASSUMED_LOSS, loss_percent
from logbook.verdict.next_timing import STOP_BELOW_PERCENT, next_timing
from logbook.verdict.timing import fit_timing, timing_pulls
from tests.benchmarks.cell_of_known_truth import Array, Cell

START, LOWEST, HIGHEST, LIMIT = 30.0, 24.0, 36.0, 40.0
PULLS = (3, 4, 5, 6)

# Loss in percent at so many degrees from the best. None is of the family that the advice
# believes in but the first, and that at a curvature it does not expect.
CURVES: dict[str, Callable[[Array], Array]] = {
    "parabola, flat": lambda x: 100.0 * 2.5e-4 * x**2,
    "parabola, sharp": lambda x: 100.0 * 7e-4 * x**2,
    "lopsided to advance": lambda x: 100.0 * np.where(x < 0.0, 2.5e-4, 7e-4) * x**2,
    "lopsided to retard": lambda x: 100.0 * np.where(x < 0.0, 7e-4, 2.5e-4) * x**2,
    "flat top": lambda x: 100.0 * (1e-4 * x**2 + 8e-6 * x**4),
}


@dataclass(frozen=True, slots=True)
class TimingRow:
    """Mean torque given away, percent, after n pulls: by the advice with its Monte-Carlo error,
    by the better of the habits with n and with 2n pulls, with theirs."""

    curve: str
    cell: Cell
    pulls: int
    advice: float
    advice_error: float
    habit: float
    habit_twice: float
    habit_twice_error: float


@dataclass(frozen=True, slots=True)
class StoppedRow:
    """Where the advice's own stop rule ends it: mean pulls taken and torque given away then."""

    curve: str
    cell: Cell
    pulls: float
    given_away: float
    error: float


def errors(pulls: int, sets: int, cell: Cell, rng: np.random.Generator) -> Array:
    """Noise, drift and a re-setting error for every pull, shape (pulls, sets)."""
    drift = cell.drift * np.arange(pulls)[:, None]
    spread = float(np.hypot(cell.noise, cell.resetting))
    return np.asarray(drift + rng.normal(0.0, spread, (pulls, sets)))


def ladder(
    loss: Callable[[Array], Array], best: Array, pulls: int, cell: Cell, rng: np.random.Generator
) -> Array:
    """A ladder of timings about the start, 2° apart or closer to stay within 12°; the highest
    number wins."""
    step = min(2.0, 12.0 / (pulls - 1))
    rungs = START + step * (np.arange(pulls) - (pulls - 1) / 2.0)
    seen = -loss(rungs[:, None] - best[None, :]) + errors(pulls, best.size, cell, rng)
    return loss(rungs[np.argmax(seen, axis=0)] - best)


def climb(
    loss: Callable[[Array], Array], best: Array, pulls: int, cell: Cell, rng: np.random.Generator
) -> Array:
    """Two degrees up while the number rises; if the first step up falls, down instead; the
    highest number wins."""
    error = errors(pulls, best.size, cell, rng)
    top = np.full(best.size, START)
    number = -loss(top - best) + error[0]
    step = np.full(best.size, 2.0)
    climbing = np.ones(best.size, dtype=np.bool_)
    for pull in range(1, pulls):
        there = top + step
        seen = -loss(there - best) + error[pull]
        higher = climbing & (seen > number)
        turns = climbing & ~higher & (step > 0.0) & (top == START)
        climbing &= higher | turns
        step = np.where(turns, -2.0, step)
        top, number = np.where(higher, there, top), np.where(higher, seen, number)
    return loss(top - best)


def permitted(pulled: list[float]) -> Bounds:
    """The bounds of an engine that is listened to at every pull and never knocks."""
    high = min(LIMIT, max(pulled) + STEP_BEYOND_CLEAN_DEG)
    return Bounds(START - RETARD_ASSUMED_DEG, high, "", (), LIMIT)


def advised(
    loss: Callable[[Array], Array], best: float, cell: Cell, rng: np.random.Generator
) -> tuple[list[float], int, float]:
    """One session that follows the advice: torque given away after each of `PULLS`, and the
    pulls taken and torque given away where the stop rule would have ended it."""
    most = max(PULLS)
    noise = rng.normal(0.0, cell.noise, most) + cell.drift * np.arange(most)
    timings: list[float] = []
    torques: list[float] = []
    given_away: list[float] = []
    stopped: tuple[int, float] | None = None
    next_deg, block = START, rng.normal(0.0, cell.resetting)
    while len(timings) < most:
        if timings and next_deg != timings[-1]:
            block = rng.normal(0.0, cell.resetting)
        lost = float(loss(np.array(next_deg - best)))
        torques.append(100.0 - lost + block + noise[len(timings)])
        timings.append(next_deg)
        advice = next_timing(
            timing_pulls(np.arange(1, len(timings) + 1), timings, torques),
            permitted(timings),
            present_deg=START,
            stop_below_percent=0.0,
        )
        now, after = advice.gives_away_now, advice.gives_away_after
        if advice.now_deg is None or now is None or after is None:
            raise AssertionError("the simulated engine never stops the advice")
        lost_now = float(loss(np.array(advice.now_deg - best)))
        if len(timings) in PULLS:
            given_away.append(lost_now)
        if stopped is None and now - after < STOP_BELOW_PERCENT:
            stopped = (len(timings), lost_now)
        next_deg = advice.next_deg if advice.next_deg is not None else advice.now_deg
    return given_away, *(stopped or (most, given_away[-1]))


def timing_rows(
    sets: int, *, seed: int = 2, cells: tuple[Cell, ...]
) -> Iterator[tuple[list[TimingRow], StoppedRow]]:
    """Every curve and cell; the best lies anywhere in 24–36°."""
    for name, loss in CURVES.items():
        for cell in cells:
            rng = np.random.default_rng(seed)
            bests = np.linspace(LOWEST, HIGHEST, sets)
            sessions = [advised(loss, float(best), cell, rng) for best in bests]
            given = np.array([session[0] for session in sessions])
            many = np.tile(bests, 40)
            better = {
                pulls: min(
                    (habit(loss, many, pulls, cell, rng) for habit in (ladder, climb)),
                    key=np.mean,
                )
                for pulls in sorted({*PULLS, *(2 * n for n in PULLS)})
            }
            rows = [
                TimingRow(
                    name,
                    cell,
                    n,
                    float(given[:, i].mean()),
                    float(given[:, i].std(ddof=1) / np.sqrt(sets)),
                    float(better[n].mean()),
                    float(better[2 * n].mean()),
                    float(better[2 * n].std() / np.sqrt(many.size)),
                )
                for i, n in enumerate(PULLS)
            ]
            ends = np.array([session[2] for session in sessions])
            stopped = StoppedRow(
                name,
                cell,
                float(np.mean([session[1] for session in sessions])),
                float(ends.mean()),
                float(ends.std(ddof=1) / np.sqrt(sets)),
            )
            yield rows, stopped


@dataclass(frozen=True, slots=True)
class BestRow:
    """How often the reported 95 % interval of the best timing holds it, on a sweep up and down
    by 2°, with room for lopsided torque and as a plain parabola; and the interval's median
    width, degrees."""

    lopsided: float
    covered: float
    width: float
    covered_plain: float
    sets: int


def best_rows(sets: int, *, seed: int = 3, cell: Cell) -> Iterator[BestRow]:
    """Engines whose torque leans by so many standard deviations of what is believed."""
    timing = np.concatenate([np.arange(22.0, 39.0, 2.0), np.arange(38.0, 21.0, -2.0)])
    for times in (0.0, 1.0, 2.0):
        rng = np.random.default_rng(seed)
        held, plain, widths = 0, 0, []
        for _ in range(sets):
            best = rng.uniform(28.0, 32.0)
            lost = loss_percent(timing - best, 4e-4, times * ASSUMED_LOSS.lopsided_sd)
            torque = 100.0 - lost + errors(timing.size, 1, cell, rng)[:, 0]
            pulls = timing_pulls(range(timing.size), timing, torque)
            low, high = fit_timing(pulls).interval_deg
            if low is not None and high is not None:
                held += low <= best <= high
                widths.append(high - low)
            low, high = fit_timing(pulls, lopsided_sd=0.0).interval_deg
            plain += low is not None and high is not None and low <= best <= high
        width = float(np.median(widths)) if widths else float("nan")
        yield BestRow(times, held / sets, width, plain / sets, sets)
