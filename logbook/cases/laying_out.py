"""Laying a session out on the bench: loaded, computed and judged once, and kept in memory."""

from __future__ import annotations

from dataclasses import replace

from logbook import underway
from logbook.cases.air_of_pulls import airs_of
from logbook.cases.bench import Bench
from logbook.cases.calibration_view import calibrations_after, calibrations_during
from logbook.cases.desk import Desk
from logbook.cases.grouping import Line, baseline_of, groups_of
from logbook.cases.history import BAND, learned
from logbook.cases.permitted import barred_set_ups, knock_in_earlier_sessions, timed
from logbook.cases.place import Place
from logbook.cases.recalibration import recalibrations_of
from logbook.cases.scoring import reckon
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.store import lookups

MOST_HELD = 6  # sessions kept laid out: some megabytes each with their traces


def lay_out(desk: Desk, session_id: str, *, standard: str | None = None) -> Bench:
    """Load, compute and judge a session; kept in memory until one of its inputs changes."""
    with desk.book.reading() as read:
        stamp = read.stamp(session_id)
        key = f"{session_id} {standard or ''}"
        session = read.get(Session, session_id)
        # What earlier sessions say: the session's own stamp does not tell when that changes.
        past, known = learned(desk, read, session)
        history = past, lookups.stamps_of_build(read, session.build_id, before=session.opened_at)
    held = desk.judged.pop(key, None)
    if (
        held is not None
        and held[0] == (stamp, history)
        and _stands(desk, held[1].elsewhere, standard or session.standard)
    ):
        bench: Bench = held[1]
        desk.judged[key] = held  # last used last
        return bench
    with desk.book.reading() as read:
        engine = read.get(Engine, session.engine_id)
        build = read.get(Build, session.build_id)
        cell = read.get(Cell, session.cell_id)
        pulls = tuple(read.where(Pull, session_id=session_id, order="number"))
        set_ups = read.setups({pull.setup_id for pull in pulls})
        traces = read.traces([pull.id for pull in pulls])
        airs = airs_of(read, pulls)
        baseline = [read.get(Pull, pull_id) for pull_id in session.baseline]
        recalibrations = recalibrations_of(read, pulls)
        standing = calibrations_during(read, cell, pulls)
        following = calibrations_after(read, cell, pulls)
        earlier = knock_in_earlier_sessions(read, session)
    place = Place(session, engine, cell, standard, recalibrations)
    reckoned = {
        pull.id: reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place)
        for pull in underway.each(pulls)
    }
    line = Line(
        session,
        pulls,
        {pull.id: set_ups[pull.setup_id].fingerprint for pull in pulls},
        {pull_id: one.score.corrected for pull_id, one in reckoned.items()},
    )
    base = baseline_of(line, baseline, known.prior(BAND).percent)
    elsewhere = (
        lay_out(desk, baseline[0].session_id, standard=place.standard_key)
        if base.elsewhere
        else None
    )
    bench = Bench(
        session=session,
        engine=engine,
        build=build,
        cell=cell,
        pulls=pulls,
        set_ups=set_ups,
        airs=airs,
        traces=traces,
        reckoned=reckoned,
        line=line,
        baseline=base,
        elsewhere=elsewhere,
        learned=known,
        timed=tuple(timed(pull, set_ups[pull.setup_id], airs, build.id) for pull in pulls),
        earlier=earlier,
        calibrations=standing,
        calibrations_after=following,
        recalibrations=recalibrations,
    )
    bench = replace(bench, groups=groups_of(line, base, known, barred_set_ups(bench)))
    desk.judged[key] = ((stamp, history), bench)
    while len(desk.judged) > MOST_HELD:
        del desk.judged[next(iter(desk.judged))]
    return bench


def _stands(desk: Desk, elsewhere: Bench | None, standard: str) -> bool:
    """Whether the session that a baseline was taken from is as it was."""
    return elsewhere is None or lay_out(desk, elsewhere.session.id, standard=standard) is elsewhere
