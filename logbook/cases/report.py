"""What a printed report tells: a session, a build or an engine, gathered once for any format."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases import ledger, sessions, timing
from logbook.cases.air import view_air
from logbook.cases.bench import Bench
from logbook.cases.closing import closing
from logbook.cases.desk import Desk
from logbook.cases.judge import answer, session_view
from logbook.cases.laying_out import lay_out
from logbook.cases.pull_readings import readings
from logbook.plain import capital
from logbook.records.engine import Fuel
from logbook.records.pull import Pull
from logbook.refusals import Conflict
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.cases.calibration_view import CalibrationView
    from logbook.cases.closing import Closing
    from logbook.cases.ledger import LedgerView
    from logbook.cases.results import (
        AirView,
        AnswerView,
        PullRow,
        SessionView,
        Worth,
    )
    from logbook.cases.timing import TimingView
    from logbook.records.setup import FactorChange

LEAST_TIMINGS = 2
MOST_CURVES = 4


@dataclass(frozen=True, slots=True)
class Made:
    """When and by whom a report was made (UTC), and from which book."""

    at: str
    who: str
    book: str


@dataclass(frozen=True, slots=True)
class SetUpWorth:
    """One set-up of a session that was judged: its pulls, how it differs from the baseline's
    and its worth."""

    pulls: tuple[int, ...]
    changed: tuple[FactorChange, ...]
    worth: Worth


@dataclass(frozen=True, slots=True)
class AirUsed:
    """One air reading with what followed from it, and the pulls it corrected."""

    view: AirView
    pulls: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FileUsed:
    """One source file, its SHA-256 and the pull that was taken from it."""

    pull: int
    name: str
    sha256: str


@dataclass(frozen=True, slots=True, eq=False)
class SessionReport:
    """A session for print. `answer` is that of the last set-up that is not the baseline's (of
    the last pull that counts where there is no other), ``None`` without pulls; `readings` are
    by pull id, as `AnswerView.readings`; `calibrations` those of the cell that stood for any
    of its pulls."""

    made: Made
    view: SessionView
    answer: AnswerView | None
    set_ups: tuple[SetUpWorth, ...]
    closing: Closing
    ledger: LedgerView | None
    why_no_ledger: str
    timing: TimingView | None
    airs: tuple[AirUsed, ...]
    readings: Mapping[str, tuple[tuple[str, str, float], ...]]
    fuels: tuple[Fuel, ...]
    calibrations: tuple[CalibrationView, ...]
    files: tuple[FileUsed, ...]


def session_report(desk: Desk, ref: str) -> SessionReport:
    """Everything a session's report tells. `ref` as for `sessions.find_session`."""
    session = sessions.find_session(desk, ref)
    view, bench = session_view(desk, session.id), lay_out(desk, session.id)
    chosen = standing_for(view)
    try:
        steps, why = ledger.ledger_view(desk, session.id), ""
    except Conflict as conflict:
        steps, why = None, f"{capital(conflict.what)}."
    timed = timing.timing_view(desk, session.id)
    several = len({tested.timing_deg for tested in timed.tested}) >= LEAST_TIMINGS
    return SessionReport(
        made=made_by(desk),
        view=view,
        answer=answer(desk, session.id, chosen.pull.id) if chosen else None,
        set_ups=tuple(set_ups_of(view, bench)),
        closing=closing(desk, session.id),
        ledger=steps,
        why_no_ledger=why,
        timing=timed if several else None,
        airs=tuple(_airs(bench)),
        readings={pull.id: readings(bench, pull) for pull in bench.pulls},
        fuels=_fuels(desk, bench),
        calibrations=bench.calibrations,
        files=tuple(_files(desk, bench)),
    )


def made_by(desk: Desk) -> Made:
    """Now, by whoever is at the desk."""
    return Made(desk.timestamp(), desk.who, desk.book.path.name)


def standing_for(view: SessionView) -> PullRow | None:
    """The last pull with a worth; else the last that counts, else the last (newest first)."""
    judged = (row for row in view.rows if row.worth is not None)
    counted = (row for row in view.rows if row.pull.excluded_reason is None)
    return next(judged, None) or next(counted, None) or next(iter(view.rows), None)


def set_ups_of(view: SessionView, bench: Bench) -> Iterable[SetUpWorth]:
    """The judged set-ups of a session in the order of their first pull."""
    home = bench.elsewhere or bench
    base = next((pull for pull in home.pulls if pull.id in bench.baseline_pulls), None)
    found: dict[tuple[int, ...], SetUpWorth] = {}
    for row in reversed(view.rows):
        if row.worth is not None and base is not None and row.worth.pulls not in found:
            changed = row.setup.changed_from(home.set_ups[base.setup_id])
            found[row.worth.pulls] = SetUpWorth(row.worth.pulls, changed, row.worth)
    return found.values()


def _airs(bench: Bench) -> Iterable[AirUsed]:
    by_air: dict[str, list[Pull]] = {}
    for pull in bench.pulls:
        if pull.air_id is not None and pull.air_id in bench.airs:
            by_air.setdefault(pull.air_id, []).append(pull)
    for air_id, pulls in by_air.items():
        reading = bench.airs[air_id]
        view = view_air(reading, bench.session, bench.cell, reading.read_at)
        yield AirUsed(view, tuple(pull.number for pull in pulls))


def _fuels(desk: Desk, bench: Bench) -> tuple[Fuel, ...]:
    wanted = dict.fromkeys(pull.fuel_id for pull in bench.pulls if pull.fuel_id is not None)
    with desk.book.reading() as read:
        return tuple(read.get(Fuel, fuel_id) for fuel_id in wanted)


def _files(desk: Desk, bench: Bench) -> Iterable[FileUsed]:
    with desk.book.reading() as read:
        for pull in bench.pulls:
            if pull.source_id is not None:
                name = lookups.source_name(read, pull.source_id)
                yield FileUsed(pull.number, name, lookups.source_hash(read, pull.source_id))
