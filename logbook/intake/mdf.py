"""ASAM MDF 4 by the library asammdf: channel groups become time bases.

Runs in a process of its own (`apart`), since the library trusts what a file says of itself.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from logbook.intake.recording import Base, Recorded, Recording, check_amount, recorded, said

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    from asammdf import MDF, Signal

_ARRAY_COLUMNS = 64
_COMPUTED = (3, 6)  # types of channel that nothing is recorded of
_OF_TEXTS = 1  # a group of texts of any length: its sizes mean something else


def read_mdf(content: bytes) -> Recording:
    """All channels of a measurement, by the conversions that it gives.

    Values that stand for words (a gear, a state) stay numbers. Raises `BadFile` for more than
    one pull can hold, and whatever the library raises for what is no sound MDF 4 file.
    """
    import numpy as np
    from asammdf import MDF

    with MDF(io.BytesIO(content), process_bus_logging=False) as mdf:
        _check(mdf)
        bases = []
        for master, virtual in mdf.virtual_groups.items():
            places = [
                (None, group, at)
                for group in virtual.groups
                for at in range(len(mdf.groups[group].channels))
            ]
            signals = mdf.select(places, ignore_value2text_conversions=True, copy_master=False)
            own_time = mdf.masters_db.get(master)
            columns: list[Recorded] = []
            time = None
            names = {signal.name for signal in signals}
            for (_, group, at), signal in zip(places, signals, strict=True):
                if (group, at) == (master, own_time):
                    time = len(columns) if _is_time(signal) else None
                columns += _columns(signal, names)
            promised = mdf.groups[master].channel_group.cycles_nr
            if any(len(column.values) != promised for column in columns):
                raise ValueError(f"not all of the {promised} samples it speaks of are there")
            bases.append(Base(tuple(columns), time))
        remarks = _remarks(mdf)
    if not any(np.any(column.values) for base in bases for column in base.columns):
        remarks += ("Every channel of it is empty",)
    return Recording(tuple(bases), remarks)


def _check(mdf: MDF) -> None:
    cells = unpacked = columns = 0
    blocks = {}
    for group in mdf.groups:
        count = len(group.channels)
        columns += count
        cells += count * group.channel_group.cycles_nr
        for block in group.data_blocks:
            blocks[block.address] = block.original_size
        _check_records(group)
    unpacked = sum(blocks.values())
    check_amount(cells, unpacked, columns)


def _check_records(group: Any) -> None:
    """The library reads on where a record ends, or all of them, and gives what lies there."""
    told = group.channel_group
    for channel in group.channels:
        end = channel.byte_offset + (channel.bit_offset + channel.bit_count + 7) // 8
        if end > told.samples_byte_nr and channel.channel_type not in _COMPUTED:
            raise ValueError(f"{channel.name} lies outside its record")
    promised = told.cycles_nr * (told.samples_byte_nr + told.invalidation_bytes_nr)
    there = sum(block.original_size for block in group.data_blocks)
    if promised > there and not told.flags & _OF_TEXTS:
        raise ValueError(
            f"its {told.cycles_nr} records would take {promised} bytes, and there are {there}"
        )


def _is_time(signal: Signal) -> bool:
    return signal.unit in ("s", "") and signal.samples.dtype.kind in "iuf"


def _columns(signal: Signal, names: set[str]) -> Iterator[Recorded]:
    """The columns that a channel becomes: one, or one for every field or place of an array."""
    values = signal.samples
    if values.dtype.names and names.issuperset(values.dtype.names):
        return  # its parts are channels themselves
    for name, part in _parts(signal.name, values):
        yield _column(name, signal.unit, part, signal.invalidation_bits)


def _parts(name: str, values: npt.NDArray[Any]) -> Iterator[tuple[str, npt.NDArray[Any]]]:
    if values.dtype.names:
        for field in values.dtype.names:
            own = name if field == name else f"{name}.{field}"
            yield from _parts(own, values[field])
    elif values.ndim > 1 and values.dtype.kind in "iufb" and values[:1].size <= _ARRAY_COLUMNS:
        flat = values.reshape(len(values), -1)
        for at in range(flat.shape[1]):
            yield f"{name}[{at}]", flat[:, at]
    else:
        yield name, values


def _column(
    name: str, unit: str, values: npt.NDArray[Any], invalid: npt.NDArray[np.bool_] | None
) -> Recorded:
    import numpy as np

    if values.ndim == 1 and values.dtype.kind in "iufb":
        column = recorded(name, unit or "", values)
        if invalid is not None:
            column.values[np.asarray(invalid, dtype=bool)] = np.nan
        return column
    first = values[0] if len(values) else b""
    text = first.decode("utf-8", "replace") if isinstance(first, bytes) else str(first)
    return said(name, np.ones(len(values), dtype=bool), text.rstrip("\x00"))


def _remarks(mdf: MDF) -> tuple[str, ...]:
    """When it was begun, and what its makers wrote beside it."""
    found = [f"Measurement begun {mdf.start_time.isoformat()}"]
    for group in mdf.groups:
        words = " ".join((group.channel_group.acq_name or "", group.channel_group.comment or ""))
        if words.strip() and not words.lstrip().startswith("<"):
            found.append(f"Channel group: {words.strip()}")
    return tuple(found)
