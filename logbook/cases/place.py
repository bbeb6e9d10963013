"""What a pull's figures hang on besides the pull itself: standard, rpm band, engine, cell."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from logbook.cases.recalibration import Recalibration
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.session import Session


class Banded(Protocol):
    """What may have an rpm band of its own."""

    @property
    def band_low_rpm(self) -> float | None: ...

    @property
    def band_high_rpm(self) -> float | None: ...


def band_of(session: Banded, engine: Engine) -> tuple[float, float] | None:
    """A session's rpm band, else its engine's; ``None`` where neither has one."""
    for record in (session, engine):
        if record.band_low_rpm is not None and record.band_high_rpm is not None:
            return record.band_low_rpm, record.band_high_rpm
    return None


@dataclass(frozen=True, slots=True)
class Place:
    """What a pull's figures hang on besides the pull itself."""

    session: Session
    engine: Engine
    cell: Cell
    standard: str | None = None  # None: the session's
    recalibrations: Mapping[str, Recalibration] = field(default_factory=dict)
    other_band: tuple[float, float] | None = None  # None: the session's

    @property
    def band(self) -> tuple[float, float] | None:
        """The session's rpm band, else the engine's, unless another is asked for."""
        return self.other_band or band_of(self.session, self.engine)

    @property
    def standard_key(self) -> str:
        """The standard everything is corrected to."""
        return self.standard or self.session.standard
