"""What the cell's earlier sessions say about how well it repeats."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from logbook.cases.scoring import SCORE_VERSION
from logbook.records.session import Session
from logbook.store import lookups
from logbook.store.reader import Reader

if TYPE_CHECKING:
    from logbook.verdict.noise import Prior

# Older than this a cell has been re-rigged more than once; and the look back stays quick.
SESSIONS_LOOKED_BACK = 60

BAND, PEAK, TORQUE = "band power", "peak power", "peak torque"


def learned_priors(read: Reader, session: Session) -> dict[str, Prior]:
    """The cell's learned noise before this session by quantity judged; none where its history
    is too short. Repeats count only within a run: setting up again is not repeatability."""
    from logbook.verdict.noise import learned_prior

    rows = lookups.scores_of_earlier_sessions(
        read,
        session.cell_id,
        before=session.opened_at,
        version=SCORE_VERSION,
        sessions=SESSIONS_LOOKED_BACK,
    )
    spreads: dict[str, tuple[list[float], list[float]]] = {BAND: ([], []), PEAK: ([], [])}
    for _, pulls in groupby(rows, key=lambda row: row[0]):
        bands: list[tuple[int, float]] = []
        peaks: list[tuple[int, float]] = []
        run, last = 0, ""
        for _, _, fingerprint, band, peak in pulls:
            run, last = run + (fingerprint != last), fingerprint
            if band is not None:
                bands.append((run, band))
            elif peak is not None:
                peaks.append((run, peak))
        for quantity, scored in ((BAND, bands), (PEAK, peaks)):
            _add_spread(spreads[quantity], scored)
    found = {quantity: learned_prior(*lists) for quantity, lists in spreads.items()}
    return {quantity: prior for quantity, prior in found.items() if prior is not None}


def _add_spread(spread: tuple[list[float], list[float]], scored: list[tuple[int, float]]) -> None:
    """One session's repeatability in per cent of its mean, with its degrees of freedom."""
    if len(scored) < 2:
        return
    from logbook.verdict.noise import pooled

    mean = sum(score for _, score in scored) / len(scored)
    repeated = pooled([100.0 * score / mean for _, score in scored], [run for run, _ in scored])
    if repeated.degrees_of_freedom > 0:
        spread[0].append(repeated.s)
        spread[1].append(float(repeated.degrees_of_freedom))
