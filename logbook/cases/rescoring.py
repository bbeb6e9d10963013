"""Stored figures made anew: of a session, an engine, or wherever they are missing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from logbook.cases.air_of_pulls import airs_of
from logbook.cases.place import Place
from logbook.cases.recalibration import recalibrations_of
from logbook.cases.scoring import SCORE_VERSION, reckon
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import Pull
from logbook.records.session import Session

if TYPE_CHECKING:
    from logbook.store.change import Change
    from logbook.store.reader import Reader


def rescore(change: Change, session_id: str, pull_ids: Iterable[str] | None = None) -> None:
    """Compute and store the figures of a session's pulls (or of some) inside a change."""
    session = change.get(Session, session_id)
    pulls = change.where(Pull, session_id=session_id)
    if pull_ids is not None:
        wanted = set(pull_ids)
        pulls = [pull for pull in pulls if pull.id in wanted]
    place = Place(
        session,
        change.get(Engine, session.engine_id),
        change.get(Cell, session.cell_id),
        recalibrations=recalibrations_of(change, pulls),
    )
    traces = change.traces([pull.id for pull in pulls])
    airs = airs_of(change, pulls)
    change.put_scores(
        [reckon(pull, traces.get(pull.id), airs.get(pull.air_id), place).score for pull in pulls]
    )


def rescore_engine(change: Change, engine_id: str) -> None:
    """Compute and store the figures of every pull of an engine inside a change."""
    for session in change.where(Session, engine_id=engine_id):
        rescore(change, session.id)


def unscored(read: Reader) -> dict[str, list[str]]:
    """Pulls without stored figures of the present version: session id → pull ids."""
    from logbook.store.lookups import pulls_without_scores

    missing: dict[str, list[str]] = {}
    for session_id, pull_id in pulls_without_scores(read, SCORE_VERSION):
        missing.setdefault(session_id, []).append(pull_id)
    return missing
