"""The table files of an archive: CSV, JSON Lines or Parquet; what was written is what is read.

In CSV nothing is an empty cell; a text that is empty, that could be taken for a number or a
formula, or that begins with an apostrophe has an apostrophe before it (see `logbook.written`).
In Parquet a column that holds values of several kinds is JSON text.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from logbook.refusals import BadFile, BadInput
from logbook.store.archive import ANY, NUMBER, TEXT, WHOLE, Column
from logbook.written import MARK, read_back, written

if TYPE_CHECKING:
    from logbook.store.tables import SqlValue

CSV, JSON_LINES, PARQUET = "csv", "jsonl", "parquet"
FORMS = (CSV, JSON_LINES, PARQUET)
ROWS_AT_ONCE = 10_000
LONGEST_CELL = 1 << 30

Row = Sequence[Any]


def write_table(form: str, path: Path, columns: Sequence[Column], rows: Iterable[Row]) -> int:
    """Write rows (values in the order of `columns`); returns how many there were."""
    if form == PARQUET:
        return _write_parquet(path, columns, rows)
    names, count = [column.name for column in columns], 0
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        if form == CSV:
            writer.writerow([written(name) for name in names])
        for row in rows:
            count += 1
            if form == CSV:
                cells = zip(row, columns, strict=True)
                writer.writerow([_cell(value, column.decimals) for value, column in cells])
            else:
                named = dict(zip(names, row, strict=True))
                out.write(json.dumps(named, ensure_ascii=False, allow_nan=False) + "\n")
    return count


def read_table(form: str, file: IO[bytes], where: str) -> Iterator[dict[str, SqlValue]]:
    """The rows of a table file, by column. Raises `BadFile` where it is not one."""
    try:
        if form == PARQUET:
            yield from _read_parquet(file)
        elif form == CSV:
            yield from _read_csv(io.TextIOWrapper(file, encoding="utf-8", newline=""))
        else:
            for line in io.TextIOWrapper(file, encoding="utf-8", newline="\n"):
                row = json.loads(line)
                if not isinstance(row, dict):
                    raise ValueError("a line is no object")
                yield row
    except (ValueError, RecursionError, csv.Error, OSError) as error:
        raise BadFile(
            f"it cannot be read as {form} ({str(error)[:80]})", where=where,
            wanted="the archive as it was written",
        ) from error  # fmt: skip


def _cell(value: Any, decimals: int | None) -> str:
    if value is None:
        return ""
    if isinstance(value, float) and decimals is not None:
        return f"{value:.{decimals}f}"
    if isinstance(value, (int, float)):
        return repr(value)
    text = written(str(value))
    marked = text.startswith(MARK)
    return text if marked or (text and isinstance(_value(text), str)) else f"{MARK}{text}"


def _value(cell: str) -> SqlValue:
    if cell == "":
        return None
    if cell.startswith(MARK):
        return read_back(cell)
    for number in (int, float):
        try:
            return number(cell)
        except ValueError:
            pass  # the next kind, or a text
    return read_back(cell)


def _read_csv(lines: Iterable[str]) -> Iterator[dict[str, SqlValue]]:
    before = csv.field_size_limit(LONGEST_CELL)
    try:
        rows = csv.reader(lines, strict=True)
        names = [read_back(name) for name in next(rows, [])]
        for row in rows:
            yield dict(zip(names, map(_value, row), strict=True))
    finally:
        csv.field_size_limit(before)


def arrow_library(where: str) -> tuple[Any, Any]:
    """pyarrow and its Parquet part. Raises `BadInput` where they are not installed."""
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError as error:
        raise BadInput(
            "Parquet needs the library pyarrow, which is not installed", where=where,
            wanted="pip install 'dyno-cell-logbook[parquet]', or another format",
        ) from error  # fmt: skip
    return pyarrow, parquet


def _write_parquet(path: Path, columns: Sequence[Column], rows: Iterable[Row]) -> int:
    arrow, parquet = arrow_library("Archive")
    types = {TEXT: arrow.string(), WHOLE: arrow.int64(), NUMBER: arrow.float64()}
    schema = arrow.schema(
        [
            arrow.field(one.name, types.get(one.kind, arrow.string()), metadata={"kind": one.kind})
            for one in columns
        ]
    )
    count, waiting = 0, list[Row]()
    with parquet.ParquetWriter(path, schema, compression="zstd") as writer:

        def put() -> None:
            cells = zip(*waiting, strict=True) if waiting else ([] for _ in columns)
            arrays = [
                arrow.array(
                    [json.dumps(v) if one.kind == ANY and v is not None else v for v in values],
                    schema.field(place).type,
                )
                for place, (one, values) in enumerate(zip(columns, cells, strict=True))
            ]
            writer.write_table(arrow.Table.from_arrays(arrays, schema=schema))

        for row in rows:
            waiting.append(row)
            count += 1
            if len(waiting) == ROWS_AT_ONCE:
                put()
                waiting.clear()
        put()
    return count


def _read_parquet(file: IO[bytes]) -> Iterator[dict[str, SqlValue]]:
    arrow, parquet = arrow_library("Archive")
    try:
        with parquet.ParquetFile(io.BytesIO(file.read())) as table:
            several = {
                field.name
                for field in table.schema_arrow
                if (field.metadata or {}).get(b"kind") == ANY.encode()
            }
            for batch in table.iter_batches():
                for row in batch.to_pylist():
                    yield {
                        name: json.loads(v) if name in several and v is not None else v
                        for name, v in row.items()
                    }
    except arrow.ArrowException as error:
        raise ValueError(str(error)) from error
