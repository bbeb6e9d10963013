"""Rows as Apache Parquet by the library pyarrow (extra ``parquet``).

Every column says its unit and meaning in its metadata (``unit``, ``meaning``), the file that it
is a logbook's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.reports.spool import FLAG, NUMBER, WHOLE, Cell, Spool, spooled
from logbook.store.archive_formats import arrow_library

if TYPE_CHECKING:
    from logbook.reports.dictionary import Told

ROWS_AT_ONCE = 20_000


def write_parquet(
    rows: Iterable[Mapping[str, Cell]], path: Path, told: Mapping[str, Told], *, title: str
) -> int:
    """Write rows of named cells to `path`; returns how many there were. `told` says what columns
    mean. Raises `BadInput` where the library is not installed."""
    arrow, parquet = arrow_library("Export")
    with spooled(rows) as spool:
        schema = _schema(arrow, spool, told, title)
        with parquet.ParquetWriter(path, schema, compression="zstd") as writer:
            for part in _parts(spool.rows()):
                columns = [
                    arrow.array([_as(row.get(name), kind) for row in part], schema.field(name).type)
                    for name, kind in spool.columns.items()
                ]
                writer.write_table(arrow.Table.from_arrays(columns, schema=schema))
        return spool.count


def _schema(arrow: Any, spool: Spool, told: Mapping[str, Told], title: str) -> Any:
    types = {WHOLE: arrow.int64(), NUMBER: arrow.float64(), FLAG: arrow.bool_()}
    fields = []
    for name, kind in spool.columns.items():
        meant = told.get(name)
        # A column in which nothing is known has the kind that it would have.
        one = kind or (meant.kind if meant is not None else NUMBER)
        notes = {"unit": meant.unit, "meaning": meant.meaning} if meant is not None else {}
        fields.append(arrow.field(name, types.get(one, arrow.string()), metadata=notes))
    return arrow.schema(fields, metadata={"title": title, "made by": "dyno-cell logbook"})


def _parts(rows: Iterator[dict[str, Cell]]) -> Iterator[list[dict[str, Cell]]]:
    while part := list(islice(rows, ROWS_AT_ONCE)):
        yield part


def _as(cell: Cell, kind: str) -> Cell:
    """A cell as its column holds it: a column of several kinds is text."""
    if cell is None or kind in (WHOLE, NUMBER, FLAG) or isinstance(cell, str):
        return cell
    return str(cell)
