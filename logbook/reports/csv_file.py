"""CSV that a spreadsheet opens without harm and a program reads back: see `logbook.written`."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Mapping
from typing import TextIO

from logbook.reports.spool import Cell, spooled
from logbook.written import written


def safe_cell(value: Cell) -> str:
    """One cell as text: numbers in full, unknown as nothing, people's text made harmless."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return repr(value) if math.isfinite(value) else ""
    return written(value)


def write_csv(rows: Iterable[Mapping[str, Cell]], out: TextIO) -> int:
    """Write rows of named cells under one header; returns how many there were."""
    with spooled(rows) as spool:
        writer = csv.writer(out, lineterminator="\n")
        if spool.columns:
            writer.writerow([safe_cell(name) for name in spool.columns])
        for row in spool.rows():
            writer.writerow([safe_cell(row.get(name)) for name in spool.columns])
        return spool.count
