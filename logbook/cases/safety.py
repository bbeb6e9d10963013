"""Backup, and the check that the book is whole and its computed figures are true."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

from logbook.cases.bench import lay_out
from logbook.cases.desk import Desk
from logbook.cases.scoring import SCORE_VERSION, rescore, unscored
from logbook.records.score import Figures, Score
from logbook.records.session import Session
from logbook.store import safety


def backup(desk: Desk, path: Path) -> Path:
    """A checked copy of the book at `path`, taken while it may be in use."""
    return safety.backup(desk.book, path)


def verify(desk: Desk) -> list[str]:
    """Everything that is wrong with the book, in sentences; empty when it is whole.

    Besides the store's own checks (pages, references, search index, source hashes, traces) the
    stored figures are computed anew and compared.
    """
    problems = safety.verify(desk.book)
    if problems:
        return problems
    with desk.book.reading() as read:
        sessions: list[Session] = read.where(Session)
        missing = unscored(read)
    for session in sessions:
        bench = lay_out(desk, session.id)
        with desk.book.reading() as read:
            stored = read.scores([pull.id for pull in bench.pulls])
        desk.judged.clear()  # a big book must not be held in memory
        for pull in bench.pulls:
            kept = stored.get(pull.id)
            if kept is not None and kept.version == SCORE_VERSION:
                problems += _differs(kept, bench.reckoned[pull.id].score)
    if missing:
        count = sum(len(ids) for ids in missing.values())
        problems.append(f"{count} pulls have no stored figures of this version: refresh them")
    return problems


def _differs(stored: Score, computed: Score) -> list[str]:
    for side in ("observed", "corrected"):
        for slot in fields(Figures):
            a = getattr(getattr(stored, side), slot.name)
            b = getattr(getattr(computed, side), slot.name)
            if (a is None) != (b is None) or (a is not None and abs(a - b) > 1e-9 * abs(b)):
                return [f"pull {stored.pull_id}: stored {side} {slot.name} {a} is computed as {b}"]
    return []


def refresh_scores(desk: Desk) -> int:
    """Compute the stored figures that are missing or of an older version; how many there were."""
    with desk.book.reading() as read:
        missing = unscored(read)
    for session_id, pull_ids in missing.items():
        with desk.book.changing(who=desk.who, what="Figures computed anew") as change:
            rescore(change, session_id, pull_ids)
    return sum(len(ids) for ids in missing.values())
