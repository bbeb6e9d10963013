"""Pulls going out as rows: one a pull, or one a sample; every column names its unit.

Without a unit system the values stand in SI, in full; with one they are converted, in full.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from logbook.records.setup import TIMING, factor_key
from logbook.reports.export_columns import BEFORE_THE_SET_UP
from logbook.reports.spool import Cell

if TYPE_CHECKING:
    from logbook.cases.results import PullStory
    from logbook.records.trace import Channel, Trace

Row = dict[str, Cell]

SET_UP = "Set-up: "
SET_UP_TIMING = f"{SET_UP}timing, °"
# Names of a trace's stored units as people write them.
_TRACE_UNITS = {
    "nm": "N·m", "kw": "kW", "kg_h": "kg/h", "m3_h": "m³/h", "kpa": "kPa", "c": "°C",
    "percent": "%", "ratio": "", "deg": "°",
}  # fmt: skip


def pull_row(story: PullStory, system: str | None) -> Row:
    """One pull as named cells; the set-up's factors are the last columns."""
    row: Row = {column.head(system): column.cell(story, system) for column in BEFORE_THE_SET_UP}
    for name, level in story.row.setup.levels.items():
        if factor_key(name) == TIMING and level.number is not None:
            row[SET_UP_TIMING] = level.number
        else:
            row[f"{SET_UP}{factor_key(name)}"] = level.text
    return row


def trace_rows(story: PullStory, trace: Trace) -> Iterator[Row]:
    """One row a sample, of every channel, in SI where its unit is known.

    The first channel of a known quantity stands under that quantity's name, so that pulls of
    different sources share columns; all others keep the names of their source.
    """
    heads = _heads(trace)
    values = [channel.si().tolist() for channel in trace.channels]
    for sample in range(len(values[0]) if values else 0):
        row: Row = {
            "Engine": story.engine.tag,
            "Session opened, UTC": story.session.opened_at,
            "Pull": story.row.pull.number,
            "Pull id": story.row.pull.id,
            "Sample": sample + 1,
            "Counts": trace.first_sample <= sample <= trace.last_sample,
        }
        row.update((head, column[sample]) for head, column in zip(heads, values, strict=True))
        yield row


def trace_unit(stored: str) -> str:
    """A trace's stored unit as people write it."""
    return _TRACE_UNITS.get(stored, stored)


def _heads(trace: Trace) -> list[str]:
    heads: list[str] = []
    for channel in trace.channels:
        first = channel.quantity is not None and trace.of(channel.quantity) is channel
        name = channel.quantity.capitalize() if first and channel.quantity else channel.name
        heads.append(_unique(_with_unit(name, channel), heads))
    return heads


def _with_unit(name: str, channel: Channel) -> str:
    shown = trace_unit(channel.unit if channel.si_unit is None else channel.si_unit)
    return f"{name}, {shown}" if shown else name


def _unique(head: str, taken: Iterable[str]) -> str:
    known, number, candidate = set(taken), 2, head
    while candidate in known:
        candidate = f"{head} ({number})"
        number += 1
    return candidate
