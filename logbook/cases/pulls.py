"""Pulls: logging with carry-forward, excluding, correcting, and the air between pulls."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from logbook.cases.air import latest_air, view_air
from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of, match_fuel
from logbook.cases.entry import PullEntry, ReadEntry, read_air, read_entry
from logbook.cases.field_lists import PEAK_FIELDS, READING_FIELDS
from logbook.cases.fields import LONGEST_NOTE, read_band, read_level
from logbook.cases.files import file_of
from logbook.cases.kinds import torque_state
from logbook.cases.place import Place
from logbook.cases.rescoring import rescore
from logbook.cases.results import AirView, Logged
from logbook.cases.samples import moved_edges, refuse_taken
from logbook.cases.scoring import reckon
from logbook.cases.sessions import by_id_or_start, last_session, opened, session_of
from logbook.cases.typed import attributes, merged_typed, read_time
from logbook.records.air import AirReading
from logbook.records.calibration import LOAD_CELL
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.ids import new_id
from logbook.records.pull import OBSERVED, Pull
from logbook.records.session import CLOSED, OPEN, Session
from logbook.records.setup import FUEL, SetUp
from logbook.records.trace import Source
from logbook.refusals import BadInput, Conflict, NotFound
from logbook.store import lookups
from logbook.store.change import Change
from logbook.store.reader import Reader
from logbook.store.traces import StoredTrace, stored_trace

if TYPE_CHECKING:
    from logbook.intake import ReadFile

# What goes on being true from one pull to the next; readings and remarks of a pull do not.
CARRIED = ("throttle_open", "sweep_direction", "sweep_start_rpm", "sweep_rate_rpm_s", "oil_hours")


def add_pull(desk: Desk, entry: PullEntry) -> Logged:
    """Log a pull: everything is read and checked first, then written in one transaction."""
    given = read_given(entry, file_of(desk, entry))
    with desk.book.changing(who=desk.who, what="Pull logged") as change:
        logged = log_in(change, desk, entry, given, _session(change, desk, entry))
        change.what = f"Pull {logged.number} logged"
        return logged


def read_given(entry: PullEntry, file: ReadFile | None) -> ReadEntry:
    """An entry read and checked as far as that goes without a session."""
    given = read_entry(entry, file)
    _check_state(entry.torque_state)
    return given


def log_in(
    change: Change,
    desk: Desk,
    entry: PullEntry,
    given: ReadEntry,
    session: Session,
    *,
    carry: bool = True,
) -> Logged:
    """Log a pull in a session, within a change that may hold more.

    Without `carry` nothing is taken over from the pull before, not even the air: of the past
    only what was written down is known.
    """
    cell, engine = change.get(Cell, session.cell_id), change.get(Engine, session.engine_id)
    last = lookups.last_pull(change, session.id) if carry else None
    at = read_time(entry.at, cell.time_zone) if entry.at else desk.timestamp()
    air = _air(change, entry, given, session, cell, at, carry=carry)
    state, cautions = torque_state(change, entry, given.file)
    before = starting_set_up(change, session) if carry else SetUp({})
    pull_id, trace = new_id(), stored_trace(given.trace) if given.trace is not None else None
    pull = Pull(
        id=pull_id,
        session_id=session.id,
        number=change.next_number(session.id),
        at=at,
        kind=given.kind,
        air_id=air.id if air else None,
        source_id=_keep_source(change, desk, given, pull_id, trace),
        first_in_file=given.file.first_in_file if given.file else 0,
        torque_state=state,
        calibration_id=lookups.standing_id(change, cell.id, at, LOAD_CELL),
        typed=given.typed,
        minutes_since_last=_minutes(last, at),
        **_set_up(change, given, before),
        **{**{name: getattr(last, name) for name in CARRIED if last}, **given.values},
    )
    reckoned = reckon(pull, given.trace, air, Place(session, engine, cell))
    change.insert(pull)
    if trace is not None:
        change.put_trace(pull.id, trace)
    change.put_scores([reckoned.score])
    return Logged(
        pull_id=pull.id,
        session_id=session.id,
        number=pull.number,
        undo_group=change.group,
        cautions=(*given.cautions, *cautions, *reckoned.cautions),
    )


def _check_state(state: str | None) -> None:
    if state not in (None, OBSERVED):
        from logbook.engineering.correction import standard

        standard(state)


def _session(change: Change, desk: Desk, entry: PullEntry) -> Session:
    if entry.session_id and not entry.new_session:
        session = session_of(change, entry.session_id, tag=entry.engine_tag)
        if session.status == CLOSED:
            raise Conflict("this session is closed", where="Session",
                           wanted="an open session, or reopen it")  # fmt: skip
        if entry.engine_tag and engine_of(change, entry.engine_tag).id != session.engine_id:
            raise Conflict("this session is of another engine", where="Session")
        _refuse_other_settings(entry, session)
        return session
    if not entry.engine_tag:
        raise BadInput("neither a session nor an engine was given", where="Pull",
                       wanted="an engine's tag")  # fmt: skip
    last = last_session(change, engine_of(change, entry.engine_tag).id)
    if last and last.status == OPEN and not entry.new_session:
        _refuse_other_settings(entry, last)
        return last
    return opened(
        change,
        desk,
        entry.engine_tag,
        standard=entry.standard,
        band=entry.band,
        at=entry.at,
        given={},
    )


def _refuse_other_settings(entry: PullEntry, session: Session) -> None:
    """Band and standard may be said again with every pull, but not be other ones."""
    from logbook.engineering.correction import standard

    band = (session.band_low_rpm, session.band_high_rpm)
    other_standard = entry.standard and standard(entry.standard).key != session.standard
    if other_standard or (entry.band and read_band(entry.band) != band):
        raise Conflict(
            "band and standard belong to the session and are taken when it opens",
            where="Session",
            wanted="a new session, or a change of this one",
        )


def _air(
    change: Change,
    entry: PullEntry,
    given: ReadEntry,
    session: Session,
    cell: Cell,
    at: str,
    *,
    carry: bool,
) -> AirReading | None:
    before = latest_air(change, session.id) if carry else None
    if not given.air:
        return before
    reading = read_air(
        given.air,
        cell=cell,
        read_at=at,
        session_id=session.id,
        before=before,
        units=entry.units,
        sea_level=entry.sea_level,
    )
    change.insert(reading)
    return reading


def _set_up(change: Change, given: ReadEntry, before: SetUp) -> dict[str, Any]:
    set_up = before.with_levels(given.levels)
    fuel = set_up.level(FUEL)
    on_file = match_fuel(change, fuel.text) if fuel else None
    return {
        "setup_id": change.put_setup(set_up),
        "fuel_id": on_file.id if on_file else None,
    }


def starting_set_up(read: Reader, session: Session) -> SetUp:
    """What the next pull carries forward: the last pull's set-up, at first that of the last
    pull of this build."""
    pull = lookups.last_pull(read, session.id) or lookups.last_pull_of_build(read, session.build_id)
    return read.setup(pull.setup_id) if pull else SetUp({})


def _keep_source(
    change: Change, desk: Desk, given: ReadEntry, pull_id: str, trace: StoredTrace | None
) -> str | None:
    file = given.file
    if file is None:
        return None
    refuse_taken(change, file)
    source = Source(
        id=new_id(),
        sha256=file.sha256,
        name=file.name,
        taken_at=desk.timestamp(),
        content=file.content,
        signature=file.signature,
    )
    of_one_pull = len(file.parts) <= 1 and file.first_in_file == 0
    return change.put_source(source, pull_id=pull_id, trace=trace if of_one_pull else None)


def _minutes(last: Pull | None, at: str) -> float | None:
    if last is None:
        return None
    from logbook.records.times import moment_of

    minutes = (moment_of(at) - moment_of(last.at)).total_seconds() / 60
    return minutes if minutes >= 0 else None


def find_pull(desk: Desk, ref: str) -> Pull:
    """The pull that `ref` names: its id, the start of it, or ENGINE/DATE/NUMBER
    (ENGINE/last/NUMBER too)."""
    with desk.book.reading() as read:
        return pull_of(read, ref)


def pull_of(read: Reader, ref: str) -> Pull:
    """`find_pull` inside an open reading or change."""
    head, slash, number = ref.strip().rpartition("/")
    if not slash:
        pull: Pull = by_id_or_start(read, Pull, ref.strip(), "Pull")
        return pull
    session = session_of(read, head)
    if number.isdecimal() and len(number) < 9:
        found = read.find_one(Pull, session_id=session.id, number=int(number), withdrawn=False)
        if found:
            return found
    raise NotFound(f"no pull {number[:20]!r} in that session", where="Pull",
                   wanted="ENGINE/DATE/NUMBER, such as RB-2/2026-03-14/7")  # fmt: skip


def new_air(
    desk: Desk,
    session_id: str,
    fields: Mapping[str, str],
    *,
    units: str | None,
    sea_level: bool = False,
    instrument: str = "",
    read_at: str | None = None,
) -> AirView:
    """Take down a new reading between pulls; the next pull carries it. `instrument` names the
    one that told it (nobody typed it then); `read_at` is when, now unless told."""
    what = "Air told by its instrument" if instrument else "Air read"
    with desk.book.changing(who=desk.who, what=what) as change:
        session = change.get(Session, session_id)
        cell = change.get(Cell, session.cell_id)
        reading = read_air(
            {key: text for key, text in fields.items() if text.strip()},
            cell=cell,
            read_at=read_at or desk.timestamp(),
            session_id=session_id,
            before=None if instrument else latest_air(change, session_id),
            units=units,
            sea_level=sea_level,
        )
        if instrument:
            reading = replace(reading, instrument=instrument)
        change.insert(reading)
    return view_air(reading, session, cell, desk.timestamp())


def exclude(desk: Desk, pull_id: str, reason: str) -> str:
    """Leave a pull out of the judgement; it stays visible. A reason is required."""
    cleaned = reason.strip()
    if not cleaned or len(cleaned) > LONGEST_NOTE:
        raise BadInput("a pull is excluded only for a reason", where="Reason",
                       wanted="such as oil cold")  # fmt: skip
    with desk.book.changing(who=desk.who, what="Pull excluded", why=cleaned) as change:
        pull = change.get(Pull, pull_id)
        if pull.excluded_reason is not None:
            raise Conflict(f"pull {pull.number} is already excluded", where="Pull")
        change.what = f"Pull {pull.number} excluded"
        change.update(Pull, pull_id, excluded_reason=cleaned)
        return change.group


def include(desk: Desk, pull_id: str) -> str:
    """Let an excluded pull count again."""
    with desk.book.changing(who=desk.who, what="Pull counts again") as change:
        pull = change.get(Pull, pull_id)
        if pull.excluded_reason is None:
            raise Conflict(f"pull {pull.number} counts already", where="Pull")
        change.what = f"Pull {pull.number} counts again"
        change.update(Pull, pull_id, excluded_reason=None)
        return change.group


def change_pull(
    desk: Desk,
    pull_id: str,
    fields: Mapping[str, str],
    *,
    set_up: Mapping[str, str | None] | None = None,
    samples: str | None = None,
    units: str | None = None,
    why: str,
) -> str:
    """Correct a finished pull. The old values stay in the audit trail with the reason.

    `samples` moves the edges of a trace: first and last sample in its file, from 1.
    """
    if not why.strip():
        raise BadInput("a finished pull is changed only for a reason", where="Why",
                       wanted="such as wrong jets written down")  # fmt: skip
    values, typed = attributes(Pull, PEAK_FIELDS + READING_FIELDS, fields, units)
    levels = {
        name: read_level(name, text) if text else None for name, text in (set_up or {}).items()
    }
    with desk.book.changing(who=desk.who, what="Pull corrected", why=why.strip()) as change:
        pull = change.get(Pull, pull_id)
        change.what = f"Pull {pull.number} corrected"
        if levels:
            corrected = change.setup(pull.setup_id).with_levels(levels)
            fuel = corrected.level(FUEL)
            on_file = match_fuel(change, fuel.text) if fuel else None
            values["setup_id"] = change.put_setup(corrected)
            values["fuel_id"] = on_file.id if on_file else None
        if samples:
            values |= moved_edges(change, pull, samples)
        changed = replace(pull, typed=merged_typed(pull.typed, typed), **values)
        change.update(Pull, pull_id, typed=changed.typed, **values)
        rescore(change, pull.session_id, [pull_id])
        return change.group
