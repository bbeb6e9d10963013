"""Undo and redo from the audit trail."""

from __future__ import annotations

from dataclasses import dataclass, replace

from logbook.cases.desk import Desk
from logbook.cases.rejudged import Rejudged, and_what_changed
from logbook.cases.rescoring import rescore, unscored
from logbook.refusals import Conflict
from logbook.store import lookups
from logbook.store.audit import ChangeGroup
from logbook.store.change import Change

LOOK_BACK = 200


@dataclass(frozen=True, slots=True)
class Undone:
    """What an undo (or redo) did, in a sentence, and what that did to the judgement."""

    sentence: str
    group: str
    rejudged: tuple[Rejudged, ...] = ()


def undo_last(desk: Desk) -> Undone:
    """Take the last change back that has not been taken back yet."""
    with desk.book.reading() as read:
        changes = read.changes(LOOK_BACK, by_people=True)
    group = next((g for g in changes if g.undone_by is None and g.undoes is None), None)
    if group is None:
        raise Conflict("there is nothing to take back", where="Undo")
    return _judged_anew(desk, group.group)


def redo_last(desk: Desk) -> Undone:
    """Bring the last change back that was taken back, unless something was logged since."""
    with desk.book.reading() as read:
        changes = read.changes(LOOK_BACK, by_people=True)
    undos = {g.group for g in changes if g.undoes is not None}
    for group in changes:
        if group.undone_by is not None or group.undoes in undos:
            continue  # came to nothing, or is itself a redo
        if group.undoes is None:
            break  # something new was done since
        return _judged_anew(desk, group.group)
    raise Conflict("nothing was taken back last", where="Redo")


def _judged_anew(desk: Desk, group: str) -> Undone:
    """Invert a change group, and say what that did to the judgement of what it had altered."""
    with desk.book.reading() as read:
        altered = lookups.sessions_changed_by(read, group)
    undone, rejudged = and_what_changed(desk, altered, lambda: undo_group(desk, group))
    return replace(undone, rejudged=tuple(one for one in rejudged if one.anything))


def undo_group(desk: Desk, group: str) -> Undone:
    """Invert one change group as a new change, and compute anew what hung on it."""
    with desk.book.changing(who=desk.who, what="") as change:
        change.undo(group)
        _rescore_what_is_missing(change)
        return Undone(change.what, change.group)


def _rescore_what_is_missing(change: Change) -> None:
    for session_id, pull_ids in unscored(change).items():
        rescore(change, session_id, pull_ids)


def history(desk: Desk, limit: int = 50) -> list[ChangeGroup]:
    """The last changes, newest first: who, when, what, why, and whether taken back."""
    with desk.book.reading() as read:
        return read.changes(limit)
