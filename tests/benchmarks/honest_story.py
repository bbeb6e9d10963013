"""The demo's three years of two sisters told again and again, with other days each time.

Run with ``python -m tests.benchmarks.honest_story [--tellings N]``. What was run when stays as the
story has it, and what is true stays as the model has it; how every day reads, drifts and repeats is
drawn anew. Printed is how often the band of the rebuild's own worth holds the model's truth.
"""

from __future__ import annotations

import argparse
import os
from functools import cache

import numpy as np

from logbook.records.setup import Level, SetUp
from logbook.verdict.attribution import Attribution, attribute
from logbook.verdict.between import reproducibility
from logbook.verdict.evidence import Wanted
from logbook.verdict.noise import Noise
from logbook.verdict.visits import Across, Visit, visit
from seed_db.day import day_percent
from seed_db.story import StoryPull, StorySession, sessions
from seed_db.truth import corrected_band_power_kw, rebuild_percent

BEFORE, AFTER = "2023-04-22-hc-4a", ("2024-05-25-hc-4a", "2025-06-14-hc-4a")
PAIRS = 4  # the story's cell has so many degrees of freedom of its own


@cache
def family() -> tuple[StorySession, ...]:
    """Every session of the two sisters."""
    return tuple(s for s in sessions().values() if s.engine.tag.startswith("HC-4"))


@cache
def clean(key: str, number: int) -> float:
    """The corrected band power of a pull on a day that does nothing to it, kW."""
    session = sessions()[key]
    pull = session.pulls[number - 1]
    return corrected_band_power_kw(session, pull) / (1 + day_percent(session, pull) / 100)


def set_up(pull: StoryPull) -> SetUp:
    """The pull's set-up as the logbook keeps it."""
    return SetUp({name: Level(text) for name, text in pull.set_up.items()})


def again(session: StorySession, days: float, rng: np.random.Generator) -> Visit:
    """One session with another day."""
    offset = rng.normal(0.0, days)
    settings = {pull.run: rng.normal(0.0, session.day.resetting) for pull in session.pulls}
    numbers, labels, scores = [], [], []
    known: dict[str, int] = {}
    setups: dict[int, SetUp] = {}
    for pull in session.pulls:
        if pull.exclude:
            continue
        one = set_up(pull)
        label = known.setdefault(one.fingerprint, len(known))
        setups[label] = one
        day = offset + session.day.drift * (pull.number - 1) + settings[pull.run]
        day += rng.normal(0.0, session.day.noise)
        numbers.append(pull.number)
        labels.append(label)
        scores.append(clean(session.key, pull.number) * (1 + day / 100))
    return visit(
        session.key,
        session.engine.tag,
        session.build.label,
        session.cell.name,
        numbers,
        labels,
        scores,
        setups,
    )


def told(days: float, rng: np.random.Generator) -> Attribution:
    """What the book would make of the first sister's rebuild in one such telling."""
    visits = {session.key: again(session, days, rng) for session in family()}
    means = 90.0 * np.exp(rng.normal(0.0, days, 2 * PAIRS) / 100.0)
    between = reproducibility(means.tolist(), [place // 2 for place in range(means.size)])
    before, after = (set_up(sessions()[key].pulls[1]) for key in (BEFORE, AFTER[0]))

    def label(key: str, wanted: SetUp) -> int:
        setups = visits[key].setups
        return next(n for n, one in setups.items() if one.fingerprint == wanted.fingerprint)

    return attribute(
        Across(visits, {one.cell: between for one in visits.values()}, Noise(0.0, 0.0, "")),
        ({BEFORE: label(BEFORE, before)}, {key: label(key, after) for key in AFTER}),
        after.changed_from(before),
        Wanted(frozenset({("HC-4A", "build 1"), ("HC-4A", "build 2")}), before, after),
    )


def coverage(days: float, tellings: int, seed: int = 1) -> tuple[int, float]:
    """How many tellings hold the truth, and the mean width of their bands in percent."""
    rng = np.random.default_rng(seed)
    truth = rebuild_percent("HC-4A")
    bands = [told(days, rng).rest.interval_percent for _ in range(tellings)]
    held = sum(1 for low, high in bands if low <= truth <= high)
    return held, float(np.mean([high - low for low, high in bands]))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--tellings", type=int, default=500, metavar="N")
    tellings = parser.parse_args().tellings
    # Before numpy's first product: these matrices are too small to share between cores.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    print(f"The rebuild of HC-4A by itself: {rebuild_percent('HC-4A'):+.2f} % in the model")
    for days in (0.3, 0.5, 1.0):
        held, width = coverage(days, tellings)
        share = held / tellings
        error = np.sqrt(max(share * (1 - share), 0.5 / tellings) / tellings)
        print(
            f"days {days:.1f} %: the band holds it {100 * share:5.1f} ±{100 * error:.1f} %,"
            f" mean width {width:.1f} %",
            flush=True,
        )


if __name__ == "__main__":
    main()
