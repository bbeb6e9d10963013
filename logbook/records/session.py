"""The session: one visit to the cell."""

from __future__ import annotations

from dataclasses import dataclass

OPEN, CLOSED = "open", "closed"
POWER_SOURCES = ("recorded", "torque")


@dataclass(frozen=True, slots=True)
class Session:
    """One visit to the cell with one engine in one build.

    `baseline` holds pull ids, of this or another session; empty means the first set-up.
    `power_source` is ``"recorded"`` (the file's power channel where it has one) or
    ``"torque"`` (always torque × speed). Times are UTC, ISO 8601 with ``Z``.
    """

    id: str
    engine_id: str
    build_id: str
    cell_id: str
    opened_at: str
    closed_at: str | None = None
    status: str = OPEN
    purpose: str = ""
    operator: str = ""
    standard: str = "sae-j1349"
    band_low_rpm: float | None = None
    band_high_rpm: float | None = None
    baseline: tuple[str, ...] = ()
    power_source: str = "recorded"
    power_rating: str = "gross"
    worth_having_percent: float = 0.5
    pull_budget: int | None = None
    plan: str = ""
    accessories: str = ""
    exhaust: str = ""
    oil: str = ""
    safety_checked: tuple[str, ...] = ()
    notes: str = ""
    withdrawn: bool = False
