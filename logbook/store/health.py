"""A look at the book's health that changes nothing: it is opened to be read only."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path

from logbook.store.migrations import pending
from logbook.store.trouble import check_place, in_words, opening


@dataclass(frozen=True, slots=True)
class Health:
    """What a look tells. Bytes of the book and of what waits in its write-ahead log; the steps
    that opening it would make; what SQLite's quick check finds; how many engines, pulls and
    waiting files; when something was entered last (UTC, ISO 8601; ``""`` for never)."""

    bytes: int
    log_bytes: int
    steps: tuple[str, ...]
    damage: tuple[str, ...]
    engines: int
    pulls: int
    waiting: int
    last_entry_at: str


def health(path: Path) -> Health:
    """Look at the book. Raises `BookTrouble` where it cannot be read or is none."""
    path = path.expanduser()
    check_place(path, create=False)
    beside = path.with_name(f"{path.name}-wal")
    with opening(path):
        db = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=5.0)
    try:
        with in_words(path):
            steps = tuple(step.name for step in pending(db, path))
            found = [str(row[0]) for row in db.execute("PRAGMA quick_check(5)")]
            damage = () if found == ["ok"] else tuple(found)
            tables = {str(row[0]) for row in db.execute("SELECT name FROM sqlite_schema")}
            return Health(
                bytes=path.stat().st_size,
                log_bytes=beside.stat().st_size if beside.exists() else 0,
                steps=steps,
                damage=damage,
                engines=_count(db, tables, "engines", "withdrawn = 0"),
                pulls=_count(db, tables, "pulls", "withdrawn = 0"),
                waiting=_count(db, tables, "landings", "state = 'waiting'"),
                last_entry_at=_last(db, tables),
            )
    finally:
        db.close()


def _count(db: sqlite3.Connection, tables: set[str], table: str, which: str) -> int:
    if table not in tables:
        return 0  # an older book, or one that nothing was ever written to
    return int(db.execute(f"SELECT count(*) FROM {table} WHERE {which}").fetchone()[0])


def _last(db: sqlite3.Connection, tables: set[str]) -> str:
    if "audit_changes" not in tables:
        return ""
    found = db.execute("SELECT max(at) FROM audit_changes").fetchone()[0]
    return str(found or "")
