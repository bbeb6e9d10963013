"""What can be laid over each other for an engine: its builds, a session, its sisters."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.cases.builds import builds_of
from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of
from logbook.cases.family import Family
from logbook.cases.labels import session_label
from logbook.records.engine import Build
from logbook.records.session import Session

MOST_BUILDS, MOST_SESSIONS, MOST_SISTERS = 4, 3, 3


@dataclass(frozen=True, slots=True)
class Offer:
    """Two sides by their ids, with the words for them; the right one is the newer."""

    left: str
    right: str
    left_words: str
    right_words: str


def offered(desk: Desk, tag: str, session_id: str | None = None) -> list[Offer]:
    """For an engine: its newest build over the earlier ones, newest first, a session (the newest
    without one) over those before it, and the newest build over each sister's."""
    with desk.book.reading() as read:
        engine = engine_of(read, tag)
        family = Family.of(read, engine)
        run = {run.build_id for run in family.runs}
        builds = [build for build in reversed(builds_of(read, engine.id)) if build.id in run]
        found = [
            Offer(before.id, builds[0].id, before.label, builds[0].label)
            for before in builds[1 : 1 + MOST_BUILDS]
        ]
        sessions = list(
            dict.fromkeys(one.session_id for one in family.runs if one.engine_id == engine.id)
        )
        at = sessions.index(session_id) if session_id in sessions else 0
        labels = {
            session: session_label(read, read.get(Session, session))
            for session in sessions[at : at + 1 + MOST_SESSIONS]
        }
        this, *earlier = labels or [""]
        found += [Offer(before, this, labels[before], labels[this]) for before in earlier]
        sisters = [one for one in family.engines.values() if one.id != engine.id]
        for sister in sisters[:MOST_SISTERS] if builds else []:
            newest = next((one for one in family.runs if one.engine_id == sister.id), None)
            if newest is not None:
                label = read.get(Build, newest.build_id).label
                words = f"{engine.tag} {builds[0].label}"
                found.append(Offer(newest.build_id, builds[0].id, f"{sister.tag} {label}", words))
    return found
