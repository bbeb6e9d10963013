"""Ten years of history: what a list, a search, a session costs in a large book.

Run with ``python -m tests.benchmarks.scale BOOK [--runs N]``; ``tests.benchmarks.big_book`` makes
the book. Each search is timed beside the bare SQLite query that fetches the very same rows by
their ids over one plain connection, in turns; printed are medians in milliseconds, and the ratio.
Opening a session loads its traces, computes its figures and judges it, with nothing held before.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import statistics
import time
from collections.abc import Callable
from pathlib import Path

from logbook.cases import finding, judge, sessions
from logbook.cases.desk import Desk, open_desk
from logbook.cases.engines import list_engines

QUERIES = (
    "plug", "oil", "engine:F1-A", "engine:F3 plug", "timing:>33", "timing:32..34 power:>370hp",
    'fuel:race "oil a little hot"', "knock:heard", "date:2024-03..", "header:2 -plug", "belt sq",
    "excluded",
)  # fmt: skip
BARE = """
SELECT p.id, p.session_id, e.tag, b.label, p.at, p.number, p.notes, c.corrected_band_power_kw,
  (SELECT number FROM setup_levels WHERE setup_id = p.setup_id AND factor_key = 'timing'),
  f.name, s.standard, p.excluded_reason
FROM pulls p JOIN sessions s ON s.id = p.session_id JOIN engines e ON e.id = s.engine_id
JOIN builds b ON b.id = s.build_id LEFT JOIN fuels f ON f.id = p.fuel_id
LEFT JOIN scores c ON c.pull_id = p.id WHERE p.id IN ({marks}) ORDER BY p.at DESC
"""


def timed(job: Callable[[], object]) -> float:
    """Milliseconds that a job takes."""
    began = time.perf_counter()
    job()
    return (time.perf_counter() - began) * 1000


def searches(desk: Desk, book: Path, runs: int) -> None:
    """Every query beside the bare fetch of its rows."""
    bare = sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)
    print(f"{'search, first page':34}{'rows':>6}{'ms':>8}{'most':>8}{'bare':>8}{'ratio':>7}")
    worst = 0.0
    for query in QUERIES:
        ids = [row.pull_id for row in finding.find(desk, query)]
        sql = BARE.format(marks=",".join("?" * len(ids)))
        ours, theirs = [], []
        for _ in range(runs):
            ours.append(timed(lambda query=query: finding.find(desk, query)))  # type: ignore[misc]
            theirs.append(timed(lambda sql=sql, ids=ids: bare.execute(sql, ids).fetchall()))  # type: ignore[misc]
        a, b = statistics.median(ours), statistics.median(theirs)
        worst = max(worst, a)
        print(f"{query:34}{len(ids):6}{a:8.1f}{max(ours):8.1f}{b:8.1f}{a / b:7.1f}")
    print(f"slowest median {worst:.1f} ms")
    bare.close()


def lists(desk: Desk, runs: int) -> None:
    """The engines, a page of sessions, a session opened cold, an answer, two builds compared."""
    newest = sessions.list_sessions(desk, limit=min(runs, 10))  # as many as are kept laid out

    def cold(session_id: str) -> None:
        desk.judged.clear()
        judge.session_view(desk, session_id)

    opened = [timed(lambda one=one: cold(one.id)) for one in newest]  # type: ignore[misc]
    pulls = [judge.session_view(desk, one.id).rows[0].pull for one in newest]
    answers = [
        timed(lambda one=one: judge.answer(desk, one.session_id, one.id))  # type: ignore[misc]
        for one in pulls
    ]
    for name, times in (
        ("engines", [timed(lambda: list_engines(desk)) for _ in range(runs)]),
        ("a page of sessions", [timed(lambda: sessions.list_sessions(desk)) for _ in range(runs)]),
        ("a session opened and judged", opened),
        ("the answer for a pull of it", answers),
    ):
        print(f"{name:40}{statistics.median(times):8.1f}{max(times):8.1f}")


def size(book: Path) -> None:
    """The book's bytes against those of the files it keeps."""
    db = sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)
    files = db.execute("SELECT coalesce(sum(size_bytes), 0) FROM sources").fetchone()[0]
    pulls = db.execute("SELECT count(*) FROM pulls").fetchone()[0]
    db.close()
    held = book.stat().st_size
    ratio = f", {held / files:.2f} x its files" if files else ""
    print(f"{pulls:,} pulls, {held / 2**20:,.0f} MB{ratio}")


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("book", type=Path)
    parser.add_argument("--runs", type=int, default=15)
    given = parser.parse_args()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the app has it
    size(given.book)
    desk = open_desk(given.book, create=False)
    try:
        searches(desk, given.book, given.runs)
        print(f"{'':40}{'ms':>8}{'most':>8}")
        lists(desk, given.runs)
    finally:
        desk.close()


if __name__ == "__main__":
    main()
