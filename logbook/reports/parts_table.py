"""The parts of a log, as a table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from logbook.quantities import show
from logbook.reports.tables import grid, unit

if TYPE_CHECKING:
    from rich.table import Table

    from logbook.cases.parts import Part


def parts_table(parts: Iterable[Part], system: str) -> Table:
    """A line for each pull that a log holds, and the pull it was logged as."""
    columns = ("Part", "Samples", "Seconds", "Speed, rpm", unit("Peak power", "power", system),
               "at rpm", unit("Peak torque", "torque", system), "at rpm", "Logged as")  # fmt: skip
    return grid(
        columns,
        (
            (
                str(part.number),
                f"{part.first_sample}–{part.last_sample}",
                "—" if part.seconds is None else f"{part.seconds:.1f}",
                f"{part.speed_from_rpm:.0f}–{part.speed_to_rpm:.0f}",
                show(part.peak_power_kw, "power", system, unit=False),
                show(part.peak_power_rpm, "speed", system, unit=False),
                show(part.peak_torque_nm, "torque", system, unit=False),
                show(part.peak_torque_rpm, "speed", system, unit=False),
                part.pull or "",
            )
            for part in parts
        ),
        right="abcdefgh",
    )
