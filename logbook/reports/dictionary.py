"""The data dictionary: what every column of an export is, in which unit, of which kind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from logbook.records.trace import QUANTITIES
from logbook.reports.export import SET_UP, SET_UP_TIMING, trace_unit
from logbook.reports.export_columns import BEFORE_THE_SET_UP
from logbook.reports.spool import FLAG, NUMBER, TEXT, WHOLE, Cell


@dataclass(frozen=True, slots=True)
class Told:
    """One column: its head, unit, kind of cell, meaning, and the key of the same in JSON Lines."""

    column: str
    unit: str
    kind: str
    meaning: str
    key: str

    def row(self) -> dict[str, Cell]:
        """The line of the dictionary."""
        return {
            "Column": self.column,
            "Unit": self.unit,
            "Kind": self.kind,
            "Meaning": self.meaning,
            "Key in JSON Lines, SI": self.key,
        }


def of_pulls(system: str | None) -> Iterator[Told]:
    """The columns of an export of pulls, one row a pull; SI without a system."""
    for one in BEFORE_THE_SET_UP:
        yield Told(one.head(system), one.unit(system), one.kind, one.meaning, one.key)
    yield Told(SET_UP_TIMING, "°", NUMBER, "before top dead center", "set_up.timing_deg")
    yield Told(f"{SET_UP}…", "", TEXT, "any other factor of the set-up under its own name, as"
               " typed", "set_up.…")  # fmt: skip


def of_traces() -> Iterator[Told]:
    """The columns of an export of traces, one row a sample, always SI."""
    for column, unit, kind, meaning, key in (
        ("Engine", "", TEXT, "the engine's tag", "engine"),
        ("Session opened, UTC", "UTC", TEXT, "start of the session", "session_opened_at"),
        ("Pull", "", WHOLE, "number within the session", "number"),
        ("Pull id", "", TEXT, "the pull's id in every book", "id"),
        ("Sample", "", WHOLE, "place in the pull's trace, from 1", "trace.channels[].values[]"),
        ("Counts", "", FLAG, "whether it lies within the pull's edges", "trace.first_sample"),
    ):
        yield Told(column, unit, kind, meaning, key)
    for quantity, stored in QUANTITIES.items():
        unit = trace_unit(stored)
        head = f"{quantity.capitalize()}, {unit}" if unit else quantity.capitalize()
        yield Told(head, unit, NUMBER, f"the first channel that is known as {quantity}",
                   "trace.channels[].values[]")  # fmt: skip
    yield Told("…", "", NUMBER, "any other channel under the name and unit of its source",
               "trace.channels[].values[]")  # fmt: skip
