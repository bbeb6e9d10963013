"""Sessions: opening with the safety list, changing, choosing the baseline, closing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from logbook import underway
from logbook.cases.backups import after_closing
from logbook.cases.builds import build_of
from logbook.cases.desk import Desk
from logbook.cases.engines import cell_of, engine_of
from logbook.cases.fields import LONGEST_NOTE, read_band
from logbook.cases.labels import local_day
from logbook.cases.rescoring import rescore
from logbook.cases.results import Closed
from logbook.cases.typed import nearest, read_time
from logbook.records.cell import Cell
from logbook.records.ids import new_id
from logbook.records.lists import SessionRow
from logbook.records.pull import Pull
from logbook.records.session import CLOSED, OPEN, POWER_SOURCES, Session
from logbook.refusals import BadInput, Conflict, NotFound
from logbook.store import lookups, overview
from logbook.store.change import Change
from logbook.store.reader import Reader

SAFETY_PREFACE = (
    "The logbook neither controls nor protects: the emergency stop and every shut-down work"
    " without it. Local codes, the engine's and the fuel's data sheets and licensed practice"
    " come first."
)
SAFETY_LIST: tuple[tuple[str, str], ...] = (
    ("air", "Ventilation runs; the carbon monoxide alarm is on and tested"),
    ("fuel", "No fuel vapor; drums grounded; extinguishers at hand. Methanol burns invisibly"),
    ("guards", "Guards closed; nobody in the plane of driveshaft or flywheel during a pull"),
    ("people", "Hearing and eye protection on; two people in the building"),
    ("shutdown", "Overspeed and low-oil-pressure shut-down proved before the first loaded pull"),
    ("timing", "Timing stays within the sheet's limits: back off and stop at any knock, rising"
               " exhaust temperature spread or specks on a plug; too late burns valves"),
    ("locked", "Timing light, lash, plugs and dead weights only with the engine stopped and"
               " locked out"),
)  # fmt: skip
FIRST_CELL = "Cell 1"
_CHANGEABLE = (
    "purpose", "operator", "notes", "plan", "accessories", "exhaust", "oil", "power_rating",
)  # fmt: skip


def open_session(
    desk: Desk,
    tag: str,
    *,
    build: str | None = None,
    cell: str | None = None,
    purpose: str = "",
    operator: str = "",
    standard: str | None = None,
    band: str | None = None,
    safety_checked: tuple[str, ...] = (),
    baseline: tuple[str, ...] = (),
    power_source: str = "recorded",
    worth_having: float | None = None,
    pull_budget: int | None = None,
    accessories: str = "",
    exhaust: str = "",
    oil: str = "",
    notes: str = "",
    at: str | None = None,
) -> Session:
    """Open a session of an engine; what is not given comes from its last session, the engine's
    sheet and the cell. A build that is not on file yet is entered."""
    with desk.book.changing(who=desk.who, what=f"Session of {tag} opened") as change:
        return opened(
            change,
            desk,
            tag,
            build=build,
            cell=cell,
            standard=standard,
            band=band,
            at=at,
            given={
                "purpose": purpose,
                "operator": operator,
                "safety_checked": safety_checked,
                "baseline": baseline,
                "power_source": power_source,
                "worth_having_percent": worth_having,
                "pull_budget": pull_budget,
                "accessories": accessories,
                "exhaust": exhaust,
                "oil": oil,
                "notes": notes,
            },
        )


def opened(
    change: Change,
    desk: Desk,
    tag: str,
    *,
    build: str | None = None,
    cell: str | None = None,
    standard: str | None = None,
    band: str | None = None,
    at: str | None = None,
    given: Mapping[str, Any],
) -> Session:
    """`open_session` inside a change that may hold more, such as the first pull."""
    from logbook.engineering.correction import standard as known_standard

    engine = engine_of(change, tag)
    last = last_session(change, engine.id)
    place = _cell(change, desk, cell, last)
    stated = {key: value for key, value in given.items() if value not in (None, "")}
    low, high = read_band(band) if band else (None, None)
    session = Session(
        id=new_id(),
        engine_id=engine.id,
        build_id=build_of(change, engine, build).id,
        cell_id=place.id,
        opened_at=read_time(at, place.time_zone) if at else desk.timestamp(),
        standard=known_standard(standard).key if standard else place.standard,
        band_low_rpm=low if band else engine.band_low_rpm,
        band_high_rpm=high if band else engine.band_high_rpm,
        **{
            "operator": desk.who,
            "worth_having_percent": place.worth_having_percent,
            "accessories": last.accessories if last else "",
            "exhaust": last.exhaust if last else "",
            "oil": last.oil if last else "",
            **stated,
        },
    )
    _check(change, session)
    change.insert(session)
    return session


def _cell(change: Change, desk: Desk, name: str | None, last: Session | None) -> Cell:
    if name:
        return cell_of(change, name)
    if last:
        return change.get(Cell, last.cell_id)
    cells = change.where(Cell)
    if cells:
        return cells[0]
    cell = Cell(id=new_id(), name=FIRST_CELL, units=desk.units)
    change.insert(cell)
    return cell


def last_session(read: Reader, engine_id: str) -> Session | None:
    """The engine's newest session."""
    sessions = read.where(Session, engine_id=engine_id, order="opened_at", descending=True, limit=1)
    return sessions[0] if sessions else None


def _check(read: Reader, session: Session) -> None:
    if session.power_source not in POWER_SOURCES:
        raise BadInput(f"{session.power_source!r} is not a source of power", where="Power from",
                       wanted="one of " + ", ".join(POWER_SOURCES))  # fmt: skip
    if not 0.01 <= session.worth_having_percent <= 20:
        raise BadInput("outside 0.01–20 %", where="Worth having", wanted="such as 0.5")
    if session.pull_budget is not None and not 1 <= session.pull_budget <= 500:
        raise BadInput("outside 1–500 pulls", where="Pull budget")
    if len(session.notes) > LONGEST_NOTE:
        raise BadInput(f"a note may have at most {LONGEST_NOTE} characters", where="Note")
    unknown = set(session.safety_checked) - {key for key, _ in SAFETY_LIST}
    if unknown:
        raise BadInput(f"{sorted(unknown)[0]!r} is not on the safety list", where="Safety list",
                       wanted="some of " + ", ".join(key for key, _ in SAFETY_LIST))  # fmt: skip
    _check_baseline(read, session.baseline)


def check_safety(desk: Desk, session_id: str, ticked: Iterable[str]) -> Session:
    """Say what of the safety list is ticked for an open session. Raises `Conflict` for a closed
    one, `BadInput` for what is not on the list."""
    keys = tuple(key for key, _ in SAFETY_LIST)
    wanted = set(ticked)
    unknown = wanted.difference(keys)
    if unknown:
        raise BadInput(f"{sorted(unknown)[0]!r} is not on the safety list", where="Safety list",
                       wanted="some of " + ", ".join(keys))  # fmt: skip
    with desk.book.changing(who=desk.who, what="Safety list checked") as change:
        session = session_of(change, session_id)
        if session.status != OPEN:
            raise Conflict("this session is closed", where="Safety list", wanted="an open session")
        change.update(Session, session.id, safety_checked=tuple(k for k in keys if k in wanted))
        return change.get(Session, session.id)


def _check_baseline(read: Reader, pull_ids: tuple[str, ...]) -> list[Pull]:
    pulls = [read.get(Pull, pull_id) for pull_id in pull_ids]
    if len({read.setup(pull.setup_id).fingerprint for pull in pulls}) > 1:
        raise BadInput(
            "the pulls have different set-ups",
            where="Baseline",
            wanted="pulls of one set-up, so that a change has one meaning",
        )
    if len({pull.session_id for pull in pulls}) > 1:
        raise BadInput("the pulls are of different sessions", where="Baseline",
                       wanted="pulls of one session")  # fmt: skip
    for pull in pulls:
        if pull.excluded_reason is not None:
            raise BadInput(f"pull {pull.number} is excluded", where="Baseline",
                           wanted="pulls that count")  # fmt: skip
    return pulls


def list_sessions(
    desk: Desk, tag: str | None = None, limit: int = 200, offset: int = 0
) -> list[SessionRow]:
    """Sessions, newest first, of one engine or of all."""
    with desk.book.reading() as read:
        engine_id = engine_of(read, tag).id if tag else None
        return overview.session_rows(read, engine_id, limit=limit, offset=offset)


def find_session(desk: Desk, ref: str, *, tag: str | None = None) -> Session:
    """The session that `ref` names: its id or the start of it, ``last``, ``ENGINE/last`` or
    ``ENGINE/2026-03-14`` (the newest of that day, in the cell's zone)."""
    with desk.book.reading() as read:
        return session_of(read, ref, tag=tag)


def session_of(read: Reader, ref: str, *, tag: str | None = None) -> Session:
    """`find_session` inside an open reading or change."""
    ref = ref.strip()
    engine_part, _, day = ref.rpartition("/")
    if engine_part or ref == "last":
        chosen_tag = engine_part or tag
        engine = engine_of(read, chosen_tag) if chosen_tag else None
        owned: dict[str, Any] = {"engine_id": engine.id} if engine else {}
        sessions: list[Session] = read.where(Session, order="opened_at", descending=True, **owned)
        for session in sessions:
            if day == "last" or local_day(read, session) == day:
                return session
        raise NotFound(f"no session {ref[:60]!r}", where="Session",
                       wanted="ENGINE/last or ENGINE/2026-03-14")  # fmt: skip
    found: Session = by_id_or_start(read, Session, ref, "Session")
    return found


def by_id_or_start(read: Reader, cls: type[Any], ref: str, what: str) -> Any:
    """A record by its id, or by the first eight or more characters of it when only one fits."""
    found = read.find_one(cls, id=ref)
    if found:
        return found
    starts = lookups.starting(read, cls, ref) if len(ref) >= 8 else []
    if len(starts) == 1:
        return starts[0]
    said = "fits several" if starts else "names none in this book"
    raise NotFound(f"{ref[:60]!r} {said}", where=what, wanted="an id, or ENGINE/last")


def change_session(
    desk: Desk,
    session_id: str,
    *,
    why: str = "",
    standard: str | None = None,
    band: str | None = None,
    power_source: str | None = None,
    worth_having: float | None = None,
    pull_budget: int | None = None,
    **words: str,
) -> Session:
    """Change a session's standard, band, purpose …; every figure follows at once.

    A `pull_budget` of 0 takes the budget away. `words` are `purpose`, `operator`, `notes`,
    `plan`, `accessories`, `exhaust`, `oil`, `power_rating`.
    """
    from logbook.engineering.correction import standard as known_standard

    unknown = set(words) - set(_CHANGEABLE)
    if unknown:
        raise BadInput(f"a session has no {sorted(unknown)[0]!r}", wanted=nearest("", _CHANGEABLE))
    values: dict[str, Any] = dict(words)
    if standard is not None:
        values["standard"] = known_standard(standard).key
    if band is not None:
        values["band_low_rpm"], values["band_high_rpm"] = read_band(band)
    if power_source is not None:
        values["power_source"] = power_source
    if worth_having is not None:
        values["worth_having_percent"] = worth_having
    if pull_budget is not None:
        values["pull_budget"] = pull_budget or None
    with desk.book.changing(who=desk.who, what="Session changed", why=why) as change:
        session = change.get(Session, session_id)
        changed = replace(session, **values)
        _check(change, changed)
        change.update(Session, session_id, **values)
        if {"standard", "band_low_rpm", "power_source"} & set(values):
            rescore(change, session_id)
    return changed


def set_baseline(desk: Desk, session_id: str, pull_ids: tuple[str, ...]) -> str:
    """Measure the session from these pulls (of one set-up); empty: from its first set-up.

    Returns the change group, so that it can be undone.
    """
    with desk.book.changing(who=desk.who, what="Baseline changed") as change:
        _check_baseline(change, pull_ids)
        change.update(Session, session_id, baseline=tuple(pull_ids))
        return change.group


def close_session(desk: Desk, session_id: str) -> Closed:
    """Close a session; its verdicts become final where its baseline has been returned to.

    The book is backed up afterwards; what hinders that is a caution.
    """
    with desk.book.changing(who=desk.who, what="Session closed") as change:
        session = change.get(Session, session_id)
        if session.status == CLOSED:
            raise Conflict("this session is already closed", where="Session")
        change.update(Session, session_id, status=CLOSED, closed_at=desk.timestamp())
        closed = change.get(Session, session_id)
    underway.say("backing the book up")
    return Closed(closed, *after_closing(desk))


def reopen_session(desk: Desk, session_id: str) -> Session:
    """Open a closed session again."""
    with desk.book.changing(who=desk.who, what="Session reopened") as change:
        session = change.get(Session, session_id)
        if session.status == OPEN:
            raise Conflict("this session is open", where="Session")
        change.update(Session, session_id, status=OPEN, closed_at=None)
        return change.get(Session, session_id)
