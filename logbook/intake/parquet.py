"""Apache Parquet by the library pyarrow. Runs in a process of its own (`apart`)."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from logbook.intake.recording import Base, Recorded, Recording, check_amount, recorded, said

if TYPE_CHECKING:
    import pyarrow as pa

_PER_SECOND = {"s": 1, "ms": 1_000, "us": 1_000_000, "ns": 1_000_000_000}
_DAY_S = 86_400
_UNIT_KEYS = (b"unit", b"units")
_OWN_KEYS = frozenset({b"pandas", b"ARROW:schema"})


def read_parquet(content: bytes) -> Recording:
    """All columns of a table, each in the unit that the field's metadata or its name gives.

    Raises `BadFile` for more than one pull can hold, and whatever the library raises for what
    is no sound Parquet file.
    """
    from pyarrow import parquet

    with parquet.ParquetFile(io.BytesIO(content), pre_buffer=False) as file:
        told = file.metadata
        unpacked = sum(
            told.row_group(group).column(at).total_uncompressed_size
            for group in range(told.num_row_groups)
            for at in range(told.num_columns)
        )
        check_amount(told.num_rows * told.num_columns, unpacked, told.num_columns)
        table = file.read(use_threads=False)
    while any(str(one.type).startswith("struct") for one in table.schema):
        table = table.flatten()
    check_amount(table.num_rows * table.num_columns, table.nbytes, table.num_columns)
    columns = [
        _column(field, table.column(at).combine_chunks()) for at, field in enumerate(table.schema)
    ]
    return Recording((Base(tuple(columns)),), _remarks(table.schema.metadata or {}))


def _column(field: pa.Field, data: Any) -> Recorded:
    import numpy as np
    from pyarrow import types

    unit = next(
        (found.decode("utf-8", "replace") for key in _UNIT_KEYS
         if (found := (field.metadata or {}).get(key))), "",
    )  # fmt: skip
    if types.is_dictionary(data.type):
        data = data.dictionary_decode()
    kind = data.type
    present = np.asarray(data.is_valid())
    if types.is_integer(kind) or types.is_floating(kind) or types.is_boolean(kind):
        filled = data.fill_null(False if types.is_boolean(kind) else 0)
        column = recorded(field.name, unit, filled.to_numpy(zero_copy_only=False))
    elif types.is_decimal(kind):
        numbers = [np.nan if one is None else float(one) for one in data.to_pylist()]
        column = recorded(field.name, unit, np.array(numbers, dtype=np.float64))
    elif types.is_timestamp(kind) or types.is_time(kind) or types.is_duration(kind):
        column = _seconds(field.name, data, kind, present)
    else:
        at = int(present.argmax()) if present.any() else None
        return said(field.name, present, "" if at is None else str(data[at]))
    column.values[~present] = np.nan
    return column


def _seconds(name: str, data: Any, kind: Any, present: Any) -> Recorded:
    """Clock times as seconds since the first day's midnight, lengths of time as seconds."""
    import numpy as np
    import pyarrow as pa

    per_second = _PER_SECOND[kind.unit]
    whole = pa.int32() if kind.bit_width == 32 else pa.int64()
    counts = np.asarray(data.view(whole).fill_null(0)).astype(np.int64)
    if pa.types.is_timestamp(kind) and present.any():
        day = _DAY_S * per_second
        counts = counts - counts[int(present.argmax())] // day * day
    return recorded(name, "s", counts / per_second, clock=not pa.types.is_duration(kind))


def _remarks(metadata: dict[bytes, bytes]) -> tuple[str, ...]:
    return tuple(
        f"{key.decode('utf-8', 'replace')}: {value.decode('utf-8', 'replace')}"[:300]
        for key, value in metadata.items()
        if key not in _OWN_KEYS
    )
