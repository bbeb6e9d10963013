"""The lines of the lists, as the store reads them and the doors show them.

Named tuples, so that the first screen has them without loading more than the standard library.
Powers are in kW, timings in degrees before top dead center, times UTC in ISO 8601.
"""

from __future__ import annotations

from typing import NamedTuple


class EngineRow(NamedTuple):
    """One engine with its last session; `build` is the label of its newest build, "" for none.

    `best_power_kw` is the best corrected band average (peak where there is none) of any counted
    pull, under `best_standard`.
    """

    id: str
    tag: str
    name: str
    family: str
    build: str
    sessions: int
    pulls: int
    last_session_at: str | None
    open_session_id: str | None
    best_power_kw: float | None
    best_standard: str | None


class SessionRow(NamedTuple):
    """One session with the number of its pulls and its best corrected power."""

    id: str
    engine_tag: str
    build: str
    opened_at: str
    status: str
    purpose: str
    operator: str
    pulls: int
    standard: str
    best_power_kw: float | None


class FoundPull(NamedTuple):
    """One pull that was found. Power is the corrected band average (`power_is_band`), or the
    peak where there is none."""

    pull_id: str
    session_id: str
    engine_tag: str
    build: str
    at: str
    number: int
    timing_deg: float | None
    fuel: str
    power_kw: float | None
    power_is_band: bool
    standard: str
    excluded: bool
    note: str
