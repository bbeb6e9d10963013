"""A small invented shop on a book of its own, with a clock that the test turns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook.cases import engines, pulls, sessions
from logbook.cases.desk import Desk, open_desk
from logbook.cases.entry import PullEntry
from logbook.cases.results import Logged

AIR = {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"}


@dataclass
class Clock:
    """Stands still until it is turned."""

    moment: datetime = field(default_factory=lambda: datetime(2026, 3, 14, 15, 0, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.moment

    def turn(self, minutes: float) -> None:
        self.moment += timedelta(minutes=minutes)


@dataclass
class Shop:
    """A desk with one engine, one cell and an open session, and a short way to log a pull."""

    desk: Desk
    clock: Clock
    folder: Path
    session_id: str = ""

    def peaks(self, torque_lbft: float, *, timing: float | None = None, **fields: str) -> Logged:
        """Log typed peaks whose power goes with the torque; five minutes later."""
        self.clock.turn(5)
        return self.log({"peak-torque": f"{torque_lbft} lb-ft", "at": "4800",
                         "peak-power": f"{torque_lbft * 1.04} hp", "power-at": "6200",
                         **{name.replace("_", "-"): text for name, text in fields.items()}},
                        timing)  # fmt: skip

    def log(self, fields: dict[str, str], timing: float | None = None) -> Logged:
        set_up = {} if timing is None else {"timing": f"{timing:g}"}
        return pulls.add_pull(
            self.desk, PullEntry(session_id=self.session_id, set_up=set_up, fields=fields)
        )

    def trace(self, scale: float, *, timing: float | None = None, name: str = "") -> Logged:
        """Log a sweep file with torque, both vacuums and blow-by; five minutes later."""
        self.clock.turn(5)
        path = self.folder / (name or f"run-{self.clock.moment:%H%M}.csv")
        path.write_text(sweep_csv(scale))
        set_up = {} if timing is None else {"timing": f"{timing:g}"}
        return pulls.add_pull(
            self.desk,
            PullEntry(
                session_id=self.session_id, trace=path, set_up=set_up, torque_state="observed"
            ),
        )


def sweep_csv(scale: float) -> str:
    """An invented sweep: 4000–7000 rpm, a torque hump, vacuums and blow-by."""
    lines = ["Engine speed [rpm],Torque [lb-ft],Manifold vacuum [inHg],"
             "Crankcase vacuum [inHg],Blow-by [cfm]"]  # fmt: skip
    for rpm in range(4000, 7001, 50):
        torque = scale * (400 - ((rpm - 5000) / 150) ** 2)
        lines.append(
            f"{rpm},{torque:.2f},{0.4 + (rpm - 4000) / 4000:.2f},9.5,{1.2 + rpm / 9000:.3f}"
        )
    return "\n".join(lines) + "\n"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    clock = Clock()
    desk = open_desk(tmp_path / "book.db", who="KL", units="us", now=clock)
    engines.add_cell(desk, "North", {"altitude": "1250 ft", "time-zone": "America/Denver"})
    engines.add_engine(
        desk,
        "RB-2",
        {
            "name": "boat V8", "cylinders": "8", "bore": "4.25 in", "stroke": "3.75 in",
            "limit-timing": "36", "limit-speed": "7200",
            "ready-oil-low": "180 F", "ready-oil-high": "220 F",
        },
        band="4500-6500",
    )  # fmt: skip
    session = sessions.open_session(desk, "RB-2", purpose="timing", operator="KL")
    opened = Shop(desk, clock, tmp_path, session.id)
    yield opened
    desk.close()


@pytest.fixture
def air() -> dict[str, str]:
    return dict(AIR)
