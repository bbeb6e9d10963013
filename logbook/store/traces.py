"""A trace as its rows are stored."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.records.trace import Channel, Trace
from logbook.refusals import BadInput
from logbook.store import codec
from logbook.store.printing import StoredChannel
from logbook.store.tables import SqlValue, encode

CHANNEL_COLUMNS = (
    "name, quantity, unit, decimals, si_unit, si_factor, si_offset, samples, base, width, digits,"
    " listed, crc32"
)


@dataclass(frozen=True, slots=True)
class StoredTrace:
    """What the book will hold of a trace: `rows` are its channels', as `CHANNEL_COLUMNS` says."""

    samples: int
    first_sample: int
    last_sample: int
    channels: Sequence[StoredChannel]
    rows: Sequence[tuple[SqlValue, ...]]


def stored_trace(trace: Trace) -> StoredTrace:
    """Write a trace down. Raises `BadInput` where its channels differ in length, or one holds an
    infinite value."""
    lengths = {len(channel.values) for channel in trace.channels}
    if len(lengths) > 1:
        raise BadInput("the channels of a trace must have the same number of samples")
    samples = lengths.pop() if lengths else 0
    channels = [
        (codec.encode(one.name, one.values, one.decimals), one.decimals) for one in trace.channels
    ]
    rows = [
        _row(channel, stored, samples)
        for channel, (stored, _) in zip(trace.channels, channels, strict=True)
    ]
    return StoredTrace(samples, trace.first_sample, trace.last_sample, channels, rows)


def _row(channel: Channel, stored: codec.Stored, samples: int) -> tuple[SqlValue, ...]:
    return (
        encode(channel.name, field="name"),
        channel.quantity,
        encode(channel.unit, field="unit"),
        channel.decimals,
        channel.si_unit,
        channel.si_factor,
        channel.si_offset,
        samples,
        stored.base,
        stored.width,
        stored.digits,
        stored.listed,
        stored.crc32,
    )
