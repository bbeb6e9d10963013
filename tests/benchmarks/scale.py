"""Ten years of history: what a list, a search, a session costs in a large book.

Run with ``python -m tests.benchmarks.scale BOOK [--runs N]``; ``tests.benchmarks.big_book`` makes
the book. Each search is timed in turns, over a plain connection, beside the SQL that somebody who
knows the tables would write for it (`asked`), and beside the fetch of the very same rows by their
ids, which need not be looked for at all (`by id`); printed are medians in milliseconds. Opening a
session loads its traces, computes its figures and judges it, with nothing held before.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import statistics
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from logbook.cases import finding, judge, sessions
from logbook.cases.desk import Desk, open_desk
from logbook.cases.engines import list_engines
from tests.benchmarks.figures import figure

LISTED = ("a page of sessions", "a session opened and judged", "the answer for a pull of it")
_LEAST_MS = 1.0  # below it neither is waited for

_WORDS = "p.id IN (SELECT d.pull_id FROM search_index x JOIN search_documents d ON d.docid = x.rowid WHERE search_index MATCH '{}')"  # noqa: E501
_LEVEL = "p.setup_id IN (SELECT setup_id FROM setup_levels WHERE factor_key = '{}' AND {})"
_OUT_OF = "s.engine_id IN (SELECT id FROM engines WHERE tag LIKE '{0}' OR name LIKE '%{0}%')"
_FUEL = "(p.fuel_id IN (SELECT id FROM fuels WHERE name LIKE '%race%') OR {})".format(
    _LEVEL.format("fuel", "text LIKE '%race%'")
)

# What is typed in the search box, and what is asked in SQL.
QUERIES = {
    "plug": _WORDS.format("plug*"),
    "oil": _WORDS.format("oil*"),
    "engine:F1-A": _OUT_OF.format("F1-A"),
    "engine:F3 plug": _OUT_OF.format("F3%") + " AND " + _WORDS.format("plug*"),
    "timing:>33": _LEVEL.format("timing", "number > 33"),
    "timing:31 power:>370hp": _LEVEL.format("timing", "number = 31") + " AND c.power_kw > 275.909",
    "timing:32..34 power:>370hp": _LEVEL.format("timing", "number BETWEEN 32 AND 34")
    + " AND c.power_kw > 275.909",
    'fuel:race "oil a little hot"': _FUEL + " AND " + _WORDS.format('"oil a little hot"'),
    "knock:heard": "p.knock = 'heard'",
    "date:2024-03..": "p.at >= '2024-03-01'",
    "header:2 -plug": _LEVEL.format("header", "text = '2 in'")
    + " AND NOT "
    + _WORDS.format("plug*"),
    "belt sq": _WORDS.format("belt sq*"),
    "excluded:yes": "p.excluded_reason IS NOT NULL",
    "oil:>220F": "p.oil_c > 104.4444",
}
BARE = """
SELECT p.id, p.session_id, e.tag, b.label, p.at, p.number, p.notes, c.corrected_band_power_kw,
  (SELECT number FROM setup_levels WHERE setup_id = p.setup_id AND factor_key = 'timing'),
  f.name, s.standard, p.excluded_reason
FROM pulls p JOIN sessions s ON s.id = p.session_id JOIN engines e ON e.id = s.engine_id
JOIN builds b ON b.id = s.build_id LEFT JOIN fuels f ON f.id = p.fuel_id
LEFT JOIN scores c ON c.pull_id = p.id WHERE {what} ORDER BY p.at DESC LIMIT 200
"""


def timed(job: Callable[[], object]) -> float:
    """Milliseconds that a job takes."""
    began = time.perf_counter()
    job()
    return (time.perf_counter() - began) * 1000


def searches(desk: Desk, book: Path, runs: int) -> None:
    """Every query beside the same in SQL, and beside the bare fetch of its rows."""
    bare = sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)

    def fetch(what: str, parameters: Sequence[str] = ()) -> list[tuple[object, ...]]:
        return bare.execute(BARE.format(what=what), parameters).fetchall()

    print(f"{'search, first page':30}{'rows':>5}{'ms':>7}{'most':>7}{'asked':>7}{'x':>6}"
          f"{'by id':>7}{'x':>6}")  # fmt: skip
    worst = most = 0.0
    for query, sql in QUERIES.items():
        ids = [row.pull_id for row in finding.find(desk, query)]
        asked = [row[0] for row in fetch(sql)]
        assert sorted(map(str, asked)) == sorted(ids), query  # or another question is timed
        by_id = f"p.id IN ({','.join('?' * len(ids))})"
        jobs: tuple[Callable[[], object], ...] = (
            lambda query=query: finding.find(desk, query),  # type: ignore[misc]
            lambda sql=sql: fetch(sql),  # type: ignore[misc]
            lambda by_id=by_id, ids=ids: fetch(by_id, ids),  # type: ignore[misc]
        )
        times = [[timed(job) for job in jobs] for _ in range(runs)]
        ours, theirs, least = (statistics.median(column) for column in zip(*times, strict=True))
        worst, most = max(worst, ours), max(most, ours / max(theirs, _LEAST_MS))
        print(f"{query:30}{len(ids):5}{ours:7.1f}{max(row[0] for row in times):7.1f}"
              f"{theirs:7.1f}{ours / theirs:6.1f}{least:7.1f}{ours / least:6.1f}")  # fmt: skip
    figure("slowest search, first page", worst, 50, "ms")
    figure(f"a search against the same asked in SQL, if over {_LEAST_MS:g} ms", most, 2)
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
        if name in LISTED:
            figure(name, statistics.median(times), 100, "ms")


def size(book: Path) -> None:
    """The book's bytes against those of the files it keeps."""
    db = sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)
    files = db.execute("SELECT coalesce(sum(size_bytes), 0) FROM sources").fetchone()[0]
    pulls = db.execute("SELECT count(*) FROM pulls").fetchone()[0]
    db.close()
    held = book.stat().st_size
    print(f"{pulls:,} pulls, {held / 2**20:,.0f} MB")
    if files:
        figure("the book's bytes against its files'", held / files, 1.1)


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
