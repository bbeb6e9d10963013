"""What the cell's earlier sessions say: how well it repeats, drifts and sets up again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import groupby
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.scoring import SCORE_VERSION
from logbook.records.session import Session
from logbook.store import lookups
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.noise import Prior, Wander

# Older than this a cell has been re-rigged more than once; and the look back stays quick.
SESSIONS_LOOKED_BACK = 60

BAND, PEAK, TORQUE = "band power", "peak power", "peak torque"
MOST_HELD = 12

# One pull of an earlier session: its number, set-up (fingerprint), run without re-setting, score.
PastPull = tuple[int, str, int, float]


@dataclass(frozen=True, slots=True)
class Learned:
    """What a cell has learned before a session, by quantity judged: the noise of a pull, and
    drift with re-setting error. A quantity whose history is too short is missing."""

    priors: Mapping[str, Prior] = field(default_factory=dict)
    wanders: Mapping[str, Wander] = field(default_factory=dict)

    def prior(self, quantity: str) -> Prior:
        """The noise of a pull before the session's own repeats: learned, else assumed."""
        return self.priors.get(quantity) or assumed_prior(quantity)

    def wander(self, quantity: str) -> Wander:
        """Drift and re-setting error: learned, else assumed."""
        from logbook.verdict.noise import ASSUMED_WANDER

        return self.wanders.get(quantity) or ASSUMED_WANDER


def learned(desk: Desk, read: Reader, session: Session) -> tuple[object, Learned]:
    """What the cell has learned before this session, with a key that changes whenever anything
    that it rests on does; computed once for each key."""
    key = tuple(
        lookups.stamps_of_earlier_sessions(
            read,
            session.cell_id,
            before=session.opened_at,
            version=SCORE_VERSION,
            sessions=SESSIONS_LOOKED_BACK,
        )
    )
    held = desk.learned.pop(session.id, None)
    found = held[1] if held is not None and held[0] == key else _learn(read, session)
    desk.learned[session.id] = (key, found)  # last used last
    while len(desk.learned) > MOST_HELD:
        del desk.learned[next(iter(desk.learned))]
    return key, found


def _learn(read: Reader, session: Session) -> Learned:
    from logbook.verdict.noise import learned_prior
    from logbook.verdict.wander import learned_wander, past_session

    past = _past_sessions(read, session)
    priors, wanders = {}, {}
    for quantity, sessions in past.items():
        spreads = [spread for one in sessions if (spread := _spread(one)) is not None]
        prior = learned_prior([s for s, _ in spreads], [df for _, df in spreads])
        if prior is not None:
            priors[quantity] = prior
        wander = learned_wander(
            [
                past_session(*zip(*_numbered(one), strict=True))
                for one in sessions
                if len(one) > 2
            ],
            prior or assumed_prior(quantity),
        )  # fmt: skip
        if wander is not None:
            wanders[quantity] = wander
    return Learned(priors, wanders)


def _past_sessions(read: Reader, session: Session) -> dict[str, list[list[PastPull]]]:
    """The counted pulls of the cell's earlier sessions by quantity judged. An excluded pull has
    no score but breaks a run as any other does."""
    rows = lookups.scores_of_earlier_sessions(
        read,
        session.cell_id,
        before=session.opened_at,
        version=SCORE_VERSION,
        sessions=SESSIONS_LOOKED_BACK,
    )
    past: dict[str, list[list[PastPull]]] = {BAND: [], PEAK: []}
    for _, pulls in groupby(rows, key=lambda row: row[0]):
        scored: dict[str, list[PastPull]] = {BAND: [], PEAK: []}
        run, last = 0, ""
        for _, number, fingerprint, band, peak in pulls:
            run, last = run + (fingerprint != last), fingerprint
            quantity, score = (PEAK, peak) if band is None else (BAND, band)
            if score is not None and score > 0:
                scored[quantity].append((number, fingerprint, run, score))
        for quantity, found in scored.items():
            past[quantity].append(found)
    return past


def _numbered(pulls: Iterable[PastPull]) -> list[tuple[int, int, float, int]]:
    """Number, set-up as a small number, score and run of each pull."""
    labels: dict[str, int] = {}
    return [
        (number, labels.setdefault(fingerprint, len(labels)), score, run)
        for number, fingerprint, run, score in pulls
    ]


def _spread(pulls: list[PastPull]) -> tuple[float, float] | None:
    """One session's repeatability in percent of its mean, with its degrees of freedom. Repeats
    count only within a run: setting up again is not repeatability."""
    if len(pulls) < 2:
        return None
    from logbook.verdict.noise import pooled

    mean = sum(score for *_, score in pulls) / len(pulls)
    repeated = pooled([100.0 * score / mean for *_, score in pulls], [run for *_, run, _ in pulls])
    if repeated.degrees_of_freedom == 0:
        return None
    return repeated.s, float(repeated.degrees_of_freedom)


def assumed_prior(quantity: str) -> Prior:
    """What is assumed of the noise before a cell has a history: single points are noisier."""
    from logbook.verdict.noise import ASSUMED, ASSUMED_PEAKS

    return ASSUMED if quantity == BAND else ASSUMED_PEAKS
