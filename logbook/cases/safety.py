"""Backup, the check that the book is whole and its figures are true, and saving a damaged one."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import fields, replace
from pathlib import Path

from logbook.cases.agreement import disagreements
from logbook.cases.desk import Desk, open_desk
from logbook.cases.laying_out import lay_out
from logbook.cases.rescoring import rescore, unscored
from logbook.cases.scoring import SCORE_VERSION
from logbook.records.attachment import Attachment
from logbook.records.score import Figures, Score
from logbook.records.session import Session
from logbook.refusals import Refusal
from logbook.store import attached, safety
from logbook.store.backups import kept_copies
from logbook.store.rescue import Rescued
from logbook.store.rescue import rescue as rescue_into

MOST_LOSSES = 20


def backup(desk: Desk, path: Path) -> Path:
    """A checked copy of the book at `path`, its attached files beside it, taken while it may be
    in use. Attached files that are missing are left out: `verify` names them."""
    return safety.backup(desk.book, path)


def verify(desk: Desk) -> list[str]:
    """Everything that is wrong with the book, in sentences; empty when it is whole.

    Besides the store's own checks (pages, references, search index, source hashes, traces) the
    stored figures are computed anew, and values are compared with what they were typed as.
    """
    problems = safety.verify(desk.book)
    if problems:
        return problems
    problems = [*_spoiled_values(desk), *_false_figures(desk)]
    with desk.book.reading() as read:
        missing = unscored(read)
    if missing:
        count = sum(len(ids) for ids in missing.values())
        problems.append(
            f"{count} pulls have no stored figures of this version: they are computed"
            " when the app opens, or by `logbook verify --refresh`"
        )
    return problems


def _spoiled_values(desk: Desk) -> list[str]:
    """What is stored otherwise than it was typed."""
    with desk.book.reading() as read:
        return list(disagreements(read))


def _false_figures(desk: Desk) -> Iterator[str]:
    """Stored figures of this version that are not what is computed."""
    with desk.book.reading() as read:
        sessions: list[Session] = read.where(Session)
    for session in sessions:
        try:
            bench = lay_out(desk, session.id)
        except Refusal as refusal:
            yield f"session {session.id} cannot be judged: {refusal.sentence}"
            continue
        with desk.book.reading() as read:
            stored = read.scores([pull.id for pull in bench.pulls])
        desk.judged.clear()  # a big book must not be held in memory
        for pull in bench.pulls:
            kept = stored.get(pull.id)
            if kept is not None and kept.version == SCORE_VERSION:
                yield from _differs(kept, bench.reckoned[pull.id].score)


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


def rescue(damaged: Path, new: Path, *, who: str) -> Rescued:
    """Copy everything readable of a damaged book into a new one, with its figures computed.

    The damaged file is only read. Raises `Conflict` where `new` exists, `BookTrouble` where
    nothing can be read.
    """
    rescued = rescue_into(damaged, new, who=who)
    desk = open_desk(new, create=False, who=who)
    try:
        # A figure was computed from the whole record: where it differs, something in it is not.
        spoiled = (*_spoiled_values(desk), *_false_figures(desk), *_files_lost(desk, damaged))
        with desk.book.changing(who=desk.who, what="Figures computed anew") as change:
            for session in change.where(Session):
                # One that cannot be judged is named above, and stays without figures.
                with suppress(Refusal):
                    rescore(change, session.id)
    finally:
        desk.close()
    return replace(rescued, lost=(*rescued.lost, *spoiled))


def _files_lost(desk: Desk, damaged: Path) -> list[str]:
    """Bring the attached files along from beside the damaged book; a sentence for each lost."""
    with desk.book.reading() as read:
        lost = attached.bring(damaged, desk.book.path, attached.hashes(read))
        names = {one.sha256: one.name for one in read.where(Attachment, with_withdrawn=True)}
    return [f"attached file {names[one]}: it is not beside the damaged book" for one in lost]


def what_can_be_saved(damaged: Path) -> list[str]:
    """Sentences on what `rescue` would bring out of a damaged book, and which backup is newest.

    It is tried for real, into a file that is deleted again.
    """
    said = []
    try:
        with tempfile.TemporaryDirectory(prefix=".rescue-", dir=damaged.parent) as folder:
            rescued = rescue_into(damaged, Path(folder) / "trial.db", who="")
    except (Refusal, OSError) as trouble:
        sentence = trouble.sentence if isinstance(trouble, Refusal) else trouble.strerror
        said.append(f"What can be saved could not be tried: {sentence}")
    else:
        counts = ", ".join(f"{noun} {count}" for noun, count in rescued.saved.items() if count)
        said.append(f"`logbook rescue` can save: {counts or 'nothing'}.")
        said += [f"It would lose: {loss}." for loss in rescued.lost[:MOST_LOSSES]]
        if len(rescued.lost) > MOST_LOSSES:
            said.append(f"It would lose {len(rescued.lost) - MOST_LOSSES} more.")
    copies = kept_copies(damaged)
    if copies:
        said.append(f"The newest automatic backup: {copies[0].path} ({copies[0].taken_at} UTC).")
    return said
