"""The due mark: when the shop wants something looked at or changed again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class DueMark:
    """A limit that the shop has set for `what` (oil, springs, a build …) of an engine.

    Counted since `since_at` (UTC): pulls, minutes of recorded pulls, days; whichever limit comes
    first. With a `build_id` only the pulls of that build count. At least one limit is set.
    """

    id: str
    engine_id: str
    what: str
    since_at: str
    build_id: str | None = None
    limit_pulls: int | None = None
    limit_minutes: float | None = None
    limit_days: int | None = None
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
