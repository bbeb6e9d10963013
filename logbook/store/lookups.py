"""Small questions the use-cases ask of the book: the last pull, the best pull, what is missing."""

from __future__ import annotations

from typing import TypeVar

from logbook.records.pull import Pull
from logbook.store.reader import Reader
from logbook.store.tables import Identified, table_of

R = TypeVar("R", bound=Identified)

MOST_STARTS = 2  # one more than the one that is wanted

# In these queries `+c.version` keeps SQLite from beginning with the index on versions, which all
# scores of a book share; CROSS JOIN holds it to the sessions first.


def last_pull(read: Reader, session_id: str) -> Pull | None:
    """The session's pull with the highest number, excluded or not."""
    found = read.where(Pull, session_id=session_id, order="number", descending=True, limit=1)
    return found[0] if found else None


def last_pull_of_build(read: Reader, build_id: str) -> Pull | None:
    """The newest pull of any session of a build."""
    row = next(
        read.rows(
            "SELECT p.id FROM pulls p JOIN sessions s ON s.id = p.session_id"
            " WHERE s.build_id = ? AND p.withdrawn = 0 AND s.withdrawn = 0"
            " ORDER BY s.opened_at DESC, p.number DESC LIMIT 1",
            (build_id,),
        ),
        None,
    )
    return None if row is None else read.get(Pull, row[0])


def sessions_measured_from(read: Reader, session_id: str) -> list[str]:
    """The other sessions whose baseline lies in this one, oldest first."""
    rows = read.rows(
        "SELECT DISTINCT b.session_id FROM baseline_pulls b JOIN pulls p ON p.id = b.pull_id"
        " JOIN sessions s ON s.id = b.session_id"
        " WHERE p.session_id = ? AND b.session_id <> ? AND s.withdrawn = 0 ORDER BY s.opened_at",
        (session_id, session_id),
    )
    return [str(row[0]) for row in rows]


def sessions_changed_by(read: Reader, group: str) -> list[str]:
    """The sessions of which a change altered a field, or a field of their pulls or air; what it
    only entered does not count."""
    rows = read.rows(
        "SELECT DISTINCT session_id FROM ("
        " SELECT CASE f.record_type WHEN 'session' THEN f.record_id"
        "   WHEN 'pull' THEN (SELECT session_id FROM pulls WHERE id = f.record_id)"
        "   WHEN 'air reading' THEN (SELECT session_id FROM airs WHERE id = f.record_id)"
        "   END AS session_id"
        " FROM audit_fields f WHERE f.change_id = ? AND f.field IS NOT NULL"
        ") WHERE session_id IS NOT NULL",
        (group,),
    )
    return [str(row[0]) for row in rows]


def best_pull(
    read: Reader,
    engine_id: str,
    *,
    version: int,
    standard: str,
    before: str | None = None,
    build_id: str | None = None,
) -> str | None:
    """The id of the engine's best counted pull by stored corrected power under one standard, of
    sessions opened before a time, or of one build, where given; a peak only where there is no
    band average."""
    row = next(
        read.rows(
            "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
            " JOIN scores c ON c.pull_id = p.id AND +c.version = ?"
            " WHERE s.engine_id = ? AND s.withdrawn = 0 AND p.withdrawn = 0"
            " AND p.excluded_reason IS NULL AND c.power_kw IS NOT NULL AND c.standard = ?"
            " AND (? IS NULL OR s.opened_at < ?) AND (? IS NULL OR s.build_id = ?)"
            " ORDER BY c.corrected_band_power_kw IS NULL, c.power_kw DESC LIMIT 1",
            (version, engine_id, standard, before, before, build_id, build_id),
        ),
        None,
    )
    return None if row is None else str(row[0])


def starting(read: Reader, record: type[R], start: str) -> list[R]:
    """Up to two records whose id begins with `start`, to tell a unique beginning."""
    table = table_of(record)
    rows = read.rows(
        f"SELECT id FROM {table.name} WHERE id >= ? AND id < ? AND withdrawn = 0 LIMIT ?",
        (start.lower(), start.lower() + "g", MOST_STARTS),
    )
    return [read.get(record, row[0]) for row in list(rows)]


def factor_names(read: Reader) -> list[str]:
    """Every factor anybody has set, as written, most used first."""
    return [
        str(row[0])
        for row in read.rows(
            "SELECT factor FROM setup_levels GROUP BY factor_key ORDER BY count(*) DESC LIMIT 100"
        )
    ]


def samples_of_source(read: Reader, sha256: str) -> list[tuple[str, int, int]]:
    """(pull id, first, last sample in the file) of every pull of these bytes not taken back."""
    rows = read.rows(
        "SELECT p.id, p.first_in_file + coalesce(p.first_sample, t.first_sample),"
        " p.first_in_file + coalesce(p.last_sample, t.last_sample)"
        " FROM sources s JOIN pulls p ON p.source_id = s.id JOIN traces t ON t.pull_id = p.id"
        " WHERE s.sha256 = ? AND p.withdrawn = 0 ORDER BY 2",
        (sha256,),
    )
    return [(str(row[0]), int(row[1]), int(row[2])) for row in rows]


def samples_of_trace(read: Reader, pull_id: str) -> int:
    """How many samples the pull's trace has; 0 without one."""
    row = next(read.rows("SELECT samples FROM traces WHERE pull_id = ?", (pull_id,)), None)
    return 0 if row is None else int(row[0])


def source_hash(read: Reader, source_id: str) -> str:
    """The SHA-256 of a source, without loading its bytes."""
    return str(next(read.rows("SELECT sha256 FROM sources WHERE id = ?", (source_id,)))[0])


def source_name(read: Reader, source_id: str) -> str:
    """The file name of a source, without loading its bytes."""
    return str(next(read.rows("SELECT name FROM sources WHERE id = ?", (source_id,)))[0])


def pulls_without_scores(read: Reader, version: int) -> list[tuple[str, str]]:
    """(session id, pull id) of pulls with no stored figures of this version."""
    # The totals name the sessions where some are missing and an index the other versions, so
    # that no pull is visited in vain; CROSS JOIN holds the planner to that order.
    missing = read.rows(
        "SELECT p.session_id, p.id FROM session_totals t"
        " CROSS JOIN pulls p ON p.session_id = t.session_id"
        " WHERE t.pulls <> t.scored AND p.withdrawn = 0"
        " AND NOT EXISTS (SELECT 1 FROM scores c WHERE c.pull_id = p.id)"
    )
    other = read.rows(
        "WITH old(pull_id) AS (SELECT pull_id FROM scores WHERE version < ?1"
        " UNION ALL SELECT pull_id FROM scores WHERE version > ?1)"
        " SELECT p.session_id, p.id FROM old CROSS JOIN pulls p ON p.id = old.pull_id"
        " WHERE p.withdrawn = 0",
        (version,),
    )
    return [(str(row[0]), str(row[1])) for row in (*missing, *other)]


_LAST = (
    "last AS (SELECT id FROM sessions WHERE cell_id = ? AND opened_at < ? AND withdrawn = 0"
    " ORDER BY opened_at DESC LIMIT ?)"
)


def stamps_of_earlier_sessions(
    read: Reader, cell_id: str, *, before: str, version: int, sessions: int
) -> list[tuple[str, int, int]]:
    """Id, stamp and number of scored pulls of the sessions of `scores_of_earlier_sessions`: what
    changes whenever those rows do."""
    rows = read.rows(
        f"WITH {_LAST} SELECT last.id, coalesce(t.stamp, 0), (SELECT count(*) FROM pulls p"
        " JOIN scores c ON c.pull_id = p.id AND +c.version = ? WHERE p.session_id = last.id)"
        " FROM last LEFT JOIN stamps t ON t.session_id = last.id",
        (cell_id, before, sessions, version),
    )
    return [(str(row[0]), int(row[1]), int(row[2])) for row in rows]


def stamps_of_build(read: Reader, build_id: str, *, before: str) -> list[tuple[str, int]]:
    """Id and stamp of the sessions of a build that were opened before a time."""
    rows = read.rows(
        "SELECT s.id, coalesce(t.stamp, 0) FROM sessions s"
        " LEFT JOIN stamps t ON t.session_id = s.id"
        " WHERE s.build_id = ? AND s.opened_at < ? AND s.withdrawn = 0 ORDER BY s.id",
        (build_id, before),
    )
    return [(str(row[0]), int(row[1])) for row in rows]


def scores_of_earlier_sessions(
    read: Reader, cell_id: str, *, before: str, version: int, sessions: int
) -> list[tuple[str, int, str, float | None, float | None]]:
    """What the cell's last sessions before a time teach about its noise.

    A row per pull, by session and pull number: session id, pull number, fingerprint of the set-up
    (one of its own for each calibration that it is taken through), corrected band power and
    corrected peak power (kW; ``None`` for an excluded pull), at most `sessions` sessions.
    """
    rows = read.rows(
        f"WITH {_LAST} SELECT p.session_id, p.number,"
        " u.fingerprint || coalesce(' ' || p.recalibration_id, ''), c.corrected_band_power_kw,"
        " c.corrected_peak_power_kw FROM last CROSS JOIN pulls p ON p.session_id = last.id"
        " JOIN setups u ON u.id = p.setup_id LEFT JOIN scores c ON c.pull_id = p.id"
        " AND +c.version = ? AND p.excluded_reason IS NULL"
        " WHERE p.withdrawn = 0 ORDER BY p.session_id, p.number",
        (cell_id, before, sessions, version),
    )
    return [(str(row[0]), int(row[1]), str(row[2]), row[3], row[4]) for row in rows]


def session_means(
    read: Reader, cell_id: str, *, standard: str, version: int, sessions: int
) -> list[tuple[float, str, str]]:
    """(mean corrected band power in kW, build id, set-up fingerprint) of each set-up (one of its
    own for each calibration that it is taken through) in each of the cell's last `sessions`
    sessions under one standard, counted pulls only, newest first."""
    rows = read.rows(
        "WITH last AS (SELECT id, build_id, opened_at FROM sessions WHERE cell_id = ?"
        " AND standard = ? AND withdrawn = 0 ORDER BY opened_at DESC LIMIT ?)"
        " SELECT avg(c.corrected_band_power_kw), last.build_id,"
        " u.fingerprint || coalesce(' ' || p.recalibration_id, '') AS print FROM last"
        " CROSS JOIN pulls p ON p.session_id = last.id JOIN setups u ON u.id = p.setup_id"
        " JOIN scores c ON c.pull_id = p.id AND +c.version = ?"
        " WHERE p.withdrawn = 0 AND p.excluded_reason IS NULL AND c.corrected_band_power_kw > 0"
        " GROUP BY last.id, print ORDER BY last.opened_at DESC",
        (cell_id, standard, sessions, version),
    )
    return [(float(row[0]), str(row[1]), str(row[2])) for row in rows]


def standing_ids(
    read: Reader, cell_id: str, first: str, last: str, instrument: str | None = None
) -> list[str]:
    """The cell's calibrations that stood at any moment from `first` to `last` (stored times), by
    time: of each instrument the last one before `first`, and those in between."""
    rows = read.rows(
        "SELECT k.id FROM calibrations k WHERE k.cell_id = ?1 AND k.withdrawn = 0"
        " AND k.calibrated_at <= ?3 AND (?4 IS NULL OR k.instrument = ?4) AND NOT EXISTS"
        " (SELECT 1 FROM calibrations later WHERE later.cell_id = ?1 AND later.withdrawn = 0"
        " AND later.instrument = k.instrument AND lower(later.which) = lower(k.which)"
        " AND later.calibrated_at <= ?2"
        " AND (later.calibrated_at, later.id) > (k.calibrated_at, k.id))"
        " ORDER BY k.calibrated_at, k.id",
        (cell_id, first, last, instrument),
    )
    return [str(row[0]) for row in rows]


def standing_id(read: Reader, cell_id: str, at: str, instrument: str) -> str | None:
    """The last calibration of an instrument that stood at a stored time."""
    found = standing_ids(read, cell_id, at, at, instrument)
    return found[-1] if found else None
