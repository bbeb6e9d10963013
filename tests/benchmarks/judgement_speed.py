"""How long a session of 60 pulls takes to be judged again, and a next-timing answer.

Run with ``python -m tests.benchmarks.judgement_speed [--pulls N]``. A book with one session is
made in a temporary folder: every pull a sweep of 301 samples with four channels, a timing sweep
of 20 set-ups pulled three times each. Printed are minima over several runs of the thread's own
time (what it takes on a machine that does nothing else), the time to read the same traces from
SQLite beside them, and what is aimed at.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tests.benchmarks.figures import figure

if TYPE_CHECKING:
    import numpy as np

AIM_JUDGED_S, AIM_NEXT_S = 0.050, 0.300


def sweep(rng: np.random.Generator, timing: float) -> str:
    """An invented sweep file: 4000–7000 rpm by 10, a torque hump that timing scales."""
    import numpy as np

    speed = np.arange(4000.0, 7001.0, 10.0)
    worth = 1.0 - 4e-4 * (timing - 33.0) ** 2 + rng.normal(0.0, 0.002)
    torque = worth * (400.0 - ((speed - 5000.0) / 150.0) ** 2) + rng.normal(0.0, 0.5, speed.size)
    lines = ["Engine speed [rpm],Torque [lb-ft],Manifold vacuum [inHg],Blow-by [cfm]"]
    lines += [
        f"{n:.0f},{t:.2f},{0.4 + (n - 4000.0) / 4000.0:.2f},{1.2 + n / 9000.0:.3f}"
        for n, t in zip(speed, torque, strict=True)
    ]
    return "\n".join(lines) + "\n"


def quickest(what: Callable[[], object], runs: int = 15) -> float:
    """The least time of several runs, the figure least moved by what else the machine does."""
    times = []
    for _ in range(runs):
        started = time.thread_time()
        what()
        times.append(time.thread_time() - started)
    return min(times)


def measure(folder: Path, count: int) -> None:
    """Fill a book and print the figures."""
    import numpy as np

    from logbook.cases import engines, pulls, sessions
    from logbook.cases.desk import open_desk
    from logbook.cases.entry import PullEntry
    from logbook.cases.history import SESSIONS_LOOKED_BACK
    from logbook.cases.laying_out import lay_out
    from logbook.verdict import bounds, difference, next_timing, timing, timing_trust, wander

    clock = iter(datetime(2026, 3, 14, tzinfo=UTC) + timedelta(minutes=n) for n in range(10**6))
    desk = open_desk(folder / "book.db", who="KL", units="us", now=lambda: next(clock))
    engines.add_cell(desk, "North", {"altitude": "1250 ft"})
    engines.add_engine(desk, "RB-2", {"cylinders": "8", "bore": "4.25 in", "stroke": "3.75 in",
                                      "limit-timing": "45"}, band="4500-6500")  # fmt: skip
    session = sessions.open_session(desk, "RB-2", purpose="speed", operator="KL")
    rng = np.random.default_rng(1)
    air = {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"}
    for number in range(count):
        degrees = 24.0 + (number // 3) % 20
        path = folder / f"run-{number:03}.csv"
        path.write_text(sweep(rng, degrees))
        pulls.add_pull(
            desk,
            PullEntry(
                session_id=session.id,
                trace=path,
                set_up={"timing": f"{degrees:g}"},
                fields=air if number == 0 else {},
                torque_state="observed",
            ),
        )
    with desk.book.reading() as read:
        ids = [pull.id for pull in lay_out(desk, session.id).pulls]
        reading = quickest(lambda: read.traces(ids))

    def again() -> None:
        desk.judged.clear()
        lay_out(desk, session.id)

    whole = quickest(again)
    bench = lay_out(desk, session.id)
    group = bench.groups[0]
    numbers = [pull.number for pull in group.pulls]
    labels = [group.labels[pull.id] for pull in group.pulls]
    scores = [group.scores[pull.id] for pull in group.pulls]
    verdicts = quickest(lambda: difference.judge(numbers, labels, scores, baseline=0))
    noisy = np.array(scores) * (1.0 + rng.normal(0.0, 0.006, count))
    apart = list(range(count))
    worst = quickest(lambda: difference.judge(numbers, apart, noisy, baseline=0))
    past = [
        wander.past_session(range(12), [0, 0, 1, 1, 2, 2] * 2, 100.0 + rng.normal(0.0, 0.3, 12))
        for _ in range(SESSIONS_LOOKED_BACK)
    ]
    learned = quickest(lambda: wander.learned_wander(past), runs=3)
    timings = [bench.set_ups[pull.setup_id].timing_deg for pull in group.pulls]
    pulled = timing.timing_pulls(numbers, np.array(timings, dtype=np.float64), scores)
    permitted = bounds.Bounds(24.0, 44.0, "", (), 45.0)

    def advise() -> None:
        timing_trust.judge_timing(pulled)
        next_timing.next_timing(pulled, permitted, present_deg=30.0)

    advised = quickest(advise)
    first = timing.timing_pulls(numbers[:1], [30.0], scores[:1])
    early = quickest(lambda: next_timing.next_timing(first, permitted, present_deg=30.0))
    desk.close()
    set_ups = len(set(labels))
    print(f"{count} pulls of 301 samples, {set_ups} set-ups:")
    print(f"  reading the traces from SQLite       {1e3 * reading:7.1f} ms")
    print(f"  loading and judging the session      {1e3 * whole:7.1f} ms")
    print(f"  learning from {len(past)} earlier sessions, once {1e3 * learned:5.1f} ms")
    computed = whole - reading
    for name, took, aim in (
        ("computation after loading", computed, AIM_JUDGED_S),
        ("of it verdicts on all set-ups", verdicts, AIM_JUDGED_S),
        ("verdicts, every pull a set-up", worst, AIM_JUDGED_S),
        ("best and next timing, all pulls", advised, AIM_NEXT_S),
        ("next timing after the first pull", early, AIM_NEXT_S),
    ):
        figure(f"judging {count} pulls: {name}", 1e3 * took, 1e3 * aim, "ms")


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description="How long the judgement takes.")
    parser.add_argument("--pulls", type=int, default=60, metavar="N")
    count = max(parser.parse_args().pulls, 4)
    # Before numpy comes in, as the program does it: these matrices are too small to share.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    with tempfile.TemporaryDirectory() as folder:
        measure(Path(folder), count)


if __name__ == "__main__":
    main()
