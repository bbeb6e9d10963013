"""Due marks: what the shop wants looked at after so many pulls, minutes or days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from logbook.cases.builds import build_of
from logbook.cases.by_id import by_id
from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of, name_of
from logbook.cases.field_lists import DUE_FIELDS
from logbook.cases.typed import attributes, merged_typed, read_time
from logbook.records.due_mark import DueMark
from logbook.records.engine import Build, Engine
from logbook.records.ids import new_id
from logbook.records.times import moment_of
from logbook.refusals import BadInput, Conflict
from logbook.store.reader import Reader
from logbook.store.wear import run_since

SOON = 0.9  # of a limit: time to get what is needed (no source)
_LIMITS = ("limit_pulls", "limit_minutes", "limit_days")


@dataclass(frozen=True, slots=True)
class DueState:
    """A mark and how far it is. `minutes` are recorded ones; of `untimed` pulls none are.

    `share` is the largest part of a limit that is used up, 1 at the limit.
    """

    mark: DueMark
    engine: Engine
    build: Build | None
    pulls: int
    minutes: float
    days: int
    untimed: int
    share: float

    @property
    def is_due(self) -> bool:
        """A limit is reached."""
        return self.share >= 1.0

    @property
    def is_soon(self) -> bool:
        """Not due, but nine tenths of a limit are used up."""
        return SOON <= self.share < 1.0


def add_due(
    desk: Desk,
    tag: str,
    what: str,
    typed: Mapping[str, str],
    *,
    build: str | None = None,
    since: str = "",
    units: str | None = None,
) -> DueState:
    """Set a mark on an engine, or with `build` on one build of it, counted from `since` (a time,
    UTC where it has no offset; else now). `typed` has keys of `DUE_FIELDS`."""
    values, texts = attributes(DueMark, DUE_FIELDS, typed, units)
    what = name_of(what, "What is due")
    if not any(values.get(limit) for limit in _LIMITS):
        raise BadInput("no limit was given", where=what, wanted="pulls, minutes or days")
    with desk.book.changing(who=desk.who, what=f"Due mark {what} of {tag} set") as change:
        engine = engine_of(change, tag)
        mark = DueMark(
            id=new_id(),
            engine_id=engine.id,
            what=what,
            since_at=_since(since, desk),
            build_id=build_of(change, engine, build).id if build is not None else None,
            typed=texts,
            **values,
        )
        if any(
            other.what.casefold() == what.casefold() and other.build_id == mark.build_id
            for other in change.where(DueMark, engine_id=engine.id)
        ):
            raise Conflict(f"{engine.tag} has a due mark {what!r} already", where="Due mark",
                           wanted="a change of that one, or another name")  # fmt: skip
        change.insert(mark)
        return state_of(change, mark, desk)


def change_due(
    desk: Desk,
    mark_id: str,
    typed: Mapping[str, str],
    *,
    units: str | None = None,
    why: str = "",
) -> DueState:
    """Set other limits or another note; an empty text takes a limit away."""
    values, texts = attributes(DueMark, DUE_FIELDS, typed, units)
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        old = mark_of(change, mark_id)
        if not any(values.get(limit, getattr(old, limit)) for limit in _LIMITS):
            raise BadInput("no limit would be left", where=old.what,
                           wanted="pulls, minutes or days, or drop the mark")  # fmt: skip
        change.update(DueMark, old.id, typed=merged_typed(old.typed, texts), **values)
        change.what = f"Due mark {old.what} changed"
        return state_of(change, change.get(DueMark, old.id), desk)


def done_due(desk: Desk, mark_id: str, *, since: str = "", why: str = "") -> DueState:
    """It was done (oil changed, springs checked): count from `since`, or from now."""
    return _touch(desk, mark_id, {"since_at": _since(since, desk)}, "done", why)


def drop_due(desk: Desk, mark_id: str, *, why: str = "") -> DueState:
    """Take a mark away."""
    return _touch(desk, mark_id, {"withdrawn": True}, "taken away", why)


def _touch(desk: Desk, mark_id: str, values: dict[str, Any], done: str, why: str) -> DueState:
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        mark = mark_of(change, mark_id)
        change.update(DueMark, mark.id, **values)
        engine = change.get(Engine, mark.engine_id)
        change.what = f"{mark.what} of {engine.tag} {done}"
        return state_of(change, change.get(DueMark, mark.id), desk)


def _since(text: str, desk: Desk) -> str:
    return read_time(text, "UTC", field="Since") if text else desk.timestamp()


def list_due(desk: Desk, tag: str | None = None) -> list[DueState]:
    """The marks of an engine, or of all, the most used up first."""
    with desk.book.reading() as read:
        marks = (
            read.where(DueMark)
            if tag is None
            else read.where(DueMark, engine_id=engine_of(read, tag).id)
        )
        states = [state_of(read, mark, desk) for mark in marks]
    return sorted(states, key=lambda state: -state.share)


def state_of(read: Reader, mark: DueMark, desk: Desk) -> DueState:
    """How far a mark is at the desk's present time."""
    run = run_since(read, mark.engine_id, mark.build_id, mark.since_at)
    minutes = run.seconds / 60.0
    days = max(0, (desk.now() - moment_of(mark.since_at)).days)
    used = ((mark.limit_pulls, run.pulls), (mark.limit_minutes, minutes), (mark.limit_days, days))
    return DueState(
        mark=mark,
        engine=read.get(Engine, mark.engine_id),
        build=read.get(Build, mark.build_id) if mark.build_id else None,
        pulls=run.pulls,
        minutes=minutes,
        days=days,
        untimed=run.untimed,
        share=max((so_far / limit for limit, so_far in used if limit), default=0.0),
    )


def mark_of(read: Reader, text: str) -> DueMark:
    """The mark whose id begins so. Raises `NotFound`."""
    return by_id(read, DueMark, text, listed_by="due list")
