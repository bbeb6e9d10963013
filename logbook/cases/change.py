"""Undo and redo from the audit trail."""

from __future__ import annotations

from logbook.cases.desk import Desk
from logbook.cases.results import Undone
from logbook.cases.scoring import rescore, unscored
from logbook.refusals import Conflict
from logbook.store.change import Change
from logbook.store.reader import ChangeGroup

LOOK_BACK = 200


def undo_last(desk: Desk) -> Undone:
    """Take the last change back that has not been taken back yet."""
    with desk.book.reading() as read:
        group = next(
            (g for g in read.changes(LOOK_BACK) if g.undone_by is None and g.undoes is None), None
        )
    if group is None:
        raise Conflict("there is nothing to take back", where="Undo")
    return undo_group(desk, group.group)


def redo_last(desk: Desk) -> Undone:
    """Bring the last change back that was taken back, unless something was logged since."""
    with desk.book.reading() as read:
        newest = next((g for g in read.changes(LOOK_BACK) if g.undone_by is None), None)
    if newest is None or newest.undoes is None:
        raise Conflict("nothing was taken back last", where="Redo")
    return undo_group(desk, newest.group)


def undo_group(desk: Desk, group: str) -> Undone:
    """Invert one change group as a new change, and compute anew what hung on it."""
    with desk.book.changing(who=desk.who, what="Undo") as change:
        undone = change.undo(group)
        _rescore_what_is_missing(change)
        return Undone(_sentence(undone), change.group)


def _sentence(undone: ChangeGroup) -> str:
    if undone.undoes is not None:
        return f"Brought back: {undone.what}"
    return f"Taken back: {undone.what}"


def _rescore_what_is_missing(change: Change) -> None:
    for session_id, pull_ids in unscored(change).items():
        rescore(change, session_id, pull_ids)


def history(desk: Desk, limit: int = 50) -> list[ChangeGroup]:
    """The last changes, newest first: who, when, what, why, and whether taken back."""
    with desk.book.reading() as read:
        return read.changes(limit)
