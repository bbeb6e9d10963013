"""The single checks of `verify`: each yields a sentence for everything that is wrong."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator

from logbook.records.setup import Level, SetUp
from logbook.store import codec, sources
from logbook.store.migrations import expected

# More of one kind of problem helps nobody.
_MOST = 20


def word_index(db: sqlite3.Connection) -> Iterator[str]:
    """The search index fits the texts it was made from. Takes the writer's lock for a moment."""
    # SQLite asks for this check by a statement that looks like writing; it writes nothing.
    db.execute("BEGIN IMMEDIATE")
    try:
        db.execute("INSERT INTO search_index (search_index, rank) VALUES ('integrity-check', 1)")
    except sqlite3.DatabaseError as error:
        if not str(getattr(error, "sqlite_errorname", "")).startswith("SQLITE_CORRUPT"):
            raise
        yield "the search index does not fit the texts it was made from"
    finally:
        db.execute("ROLLBACK")


def _pages(db: sqlite3.Connection) -> Iterator[str]:
    for (line,) in db.execute(f"PRAGMA integrity_check({_MOST})"):
        if line != "ok":
            yield f"damaged file: {line}"


def _references(db: sqlite3.Connection) -> Iterator[str]:
    for table, row, target, _ in db.execute("PRAGMA foreign_key_check").fetchmany(_MOST):
        place = f"{table} row {row}" if row is not None else f"a row of {table}"
        yield f"{place} refers to something that is not in {target}"


def _made_objects(db: sqlite3.Connection) -> Iterator[str]:
    found = {
        str(name): str(sql)
        for name, sql in db.execute(
            "SELECT name, sql FROM sqlite_schema WHERE type IN ('trigger', 'view')"
        )
    }
    for name, statement in expected().items():
        kind = statement.split(maxsplit=2)[1].lower()
        if name not in found:
            yield f"the {kind} {name} is missing"
        elif found[name] != statement.rstrip(";"):
            yield f"the {kind} {name} was altered"


def _documents(db: sqlite3.Connection) -> Iterator[str]:
    stale = db.execute(
        "SELECT t.pull_id, d.pull_id IS NULL"
        " FROM search_texts t LEFT JOIN search_documents d ON d.pull_id = t.pull_id"
        " WHERE d.text IS NOT t.text OR d.docid / 1000000 IS NOT t.second"
        " OR d.session_id IS NOT t.session_id OR d.setup_id IS NOT t.setup_id"
    )
    for pull_id, missing in stale.fetchmany(_MOST):
        yield f"pull {pull_id}: its search text is {'missing' if missing else 'stale'}"
    extra = db.execute(
        "SELECT pull_id FROM search_documents d WHERE NOT EXISTS"
        " (SELECT 1 FROM pulls p WHERE p.id = d.pull_id AND p.withdrawn = 0)"
    )
    for (pull_id,) in extra.fetchmany(_MOST):
        yield f"pull {pull_id}: it was taken back but is still searched"


def _totals(db: sqlite3.Connection) -> Iterator[str]:
    wrong = db.execute(
        "SELECT s.id FROM sessions s LEFT JOIN session_totals t ON t.session_id = s.id"
        " LEFT JOIN (SELECT p.session_id, count(*) AS pulls, count(c.pull_id) AS scored,"
        " coalesce(max(CASE WHEN p.excluded_reason IS NULL THEN c.corrected_band_power_kw END),"
        " max(CASE WHEN p.excluded_reason IS NULL THEN c.corrected_peak_power_kw END)) AS best"
        " FROM pulls p"
        " LEFT JOIN scores c ON c.pull_id = p.id WHERE p.withdrawn = 0 GROUP BY p.session_id) n"
        " ON n.session_id = s.id WHERE t.pulls IS NOT coalesce(n.pulls, 0)"
        " OR t.scored IS NOT coalesce(n.scored, 0) OR t.best_power_kw IS NOT n.best"
    )
    for (session_id,) in wrong.fetchmany(_MOST):
        yield f"session {session_id}: its totals in the lists are wrong"


def _baselines(db: sqlite3.Connection) -> Iterator[str]:
    listed = "SELECT s.id, j.value FROM sessions s JOIN json_each(s.baseline) j"
    kept = "SELECT session_id, pull_id FROM baseline_pulls"
    wrong = db.execute(
        f"SELECT * FROM ({listed} EXCEPT {kept}) UNION SELECT * FROM ({kept} EXCEPT {listed})"
    )
    for session_id, pull_id in wrong.fetchmany(_MOST):
        yield f"session {session_id}: its baseline and baseline_pulls differ in pull {pull_id}"


def _set_ups(db: sqlite3.Connection) -> Iterator[str]:
    levels: dict[str, dict[str, Level]] = {}
    prints: dict[str, str] = {}
    for setup_id, fingerprint, factor, text, number, unit in db.execute(
        "SELECT s.id, s.fingerprint, l.factor, l.text, l.number, l.unit FROM setups s"
        " LEFT JOIN setup_levels l ON l.setup_id = s.id ORDER BY s.id, l.position"
    ):
        prints[setup_id] = fingerprint
        of_setup = levels.setdefault(setup_id, {})
        if factor is not None:
            of_setup[factor] = Level(text, number, unit)
    for setup_id, found in levels.items():
        if SetUp(found).fingerprint != prints[setup_id]:
            yield f"set-up {setup_id}: its factors are not those it was entered with"


def _sources(db: sqlite3.Connection) -> Iterator[str]:
    for kept in sources.kept(db):
        try:
            sources.check(kept, sources.channels_of(db, kept.trace_pull_id))
        except ValueError as error:
            yield f"source file {kept.name}: {error}"


def _traces(db: sqlite3.Connection) -> Iterator[str]:
    for pull_id, name, decimals, samples, longest, crc32, base, width, digits, listed in db.execute(
        "SELECT c.pull_id, c.name, c.decimals, c.samples, t.samples, c.crc32, c.base, c.width,"
        " c.digits, c.listed FROM channels c JOIN traces t ON t.pull_id = c.pull_id"
    ):
        stored = codec.Stored(base, width, digits, listed)
        try:
            values = codec.decode(stored, decimals)
        except ValueError as error:
            yield f"pull {pull_id}: channel {name} cannot be read ({error})"
            continue
        if not len(values) == samples == longest:
            yield f"pull {pull_id}: channel {name} has {len(values)} of {longest} samples"
        elif stored.crc32 != crc32:
            yield f"pull {pull_id}: channel {name} is not as it was stored"
    row = db.execute(
        "SELECT coalesce((SELECT max(samples) FROM traces), 0), (SELECT count(*) FROM"
        " sample_numbers), (SELECT coalesce(max(sample) + 1, 0) FROM sample_numbers)"
    ).fetchone()
    if row[1] != row[2] or row[0] > row[1]:
        yield "sample_numbers has gaps: the view trace_points would leave samples out"


Check = Callable[[sqlite3.Connection], Iterator[str]]

CHECKS: tuple[Check, ...] = (
    _pages,
    _references,
    _made_objects,
    _documents,
    _totals,
    _baselines,
    _set_ups,
    _sources,
    _traces,
)

# Those of what a person entered; the others look at what is computed from it.
ENTERED: tuple[Check, ...] = (
    _pages,
    _references,
    _set_ups,
    _sources,
    _traces,
)
