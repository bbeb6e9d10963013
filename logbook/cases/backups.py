"""The backup that is made by itself when a session closes."""

from __future__ import annotations

from pathlib import Path

from logbook.cases.desk import Desk
from logbook.records.caution import Caution
from logbook.refusals import Refusal
from logbook.store import backups


def after_closing(desk: Desk) -> tuple[Path | None, tuple[Caution, ...]]:
    """Back the book up and forget copies beyond the number kept.

    What goes wrong (a full disk, a folder that may not be written) is a caution: the session
    is closed already, and stays so.
    """
    if desk.backups_kept <= 0:
        return None, ()
    try:
        made = desk.book.keep_copy(backups.CLOSED)
    except Refusal as refusal:
        return None, (
            Caution("no-backup", f"No backup was made of this session: {refusal.sentence}"),
        )
    return made, _forget_old(desk)


def _forget_old(desk: Desk) -> tuple[Caution, ...]:
    try:
        backups.prune(desk.book.path, desk.backups_kept)
    except OSError as trouble:
        return (
            Caution(
                "old-backups", f"Old backups could not be deleted ({trouble.strerror or trouble})"
            ),
        )
    return ()
