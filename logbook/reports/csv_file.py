"""CSV that a spreadsheet opens without harm.

A cell that a spreadsheet would take for a formula is written as text; control characters are
shown, not written. JSON Lines is the format that keeps every character as it was.
"""

from __future__ import annotations

import csv
import json
import math
import tempfile
from collections.abc import Iterable, Mapping
from typing import TextIO

from logbook.plain import plain

Cell = str | float | int | bool | None

# What begins a formula in one spreadsheet or another, in half and full width.
_FORMULA_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def safe_cell(value: Cell) -> str:
    """One cell as text: numbers in full, unknown as nothing, people's text made harmless."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return repr(value) if math.isfinite(value) else ""
    text = plain(value, lines=True)
    if text.lstrip().startswith(_FORMULA_STARTS) and not _is_number(text):
        return f"'{text}"
    return text


def _is_number(text: str) -> bool:
    """``-4`` and ``+2`` are levels, and no formula."""
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def write_csv(rows: Iterable[Mapping[str, Cell]], out: TextIO) -> int:
    """Write rows of named cells under one header; returns how many there were.

    Rows may have different columns: the header holds them all, in the order of their first
    appearance. The rows wait in a temporary file until the header is known, so that an export
    of any size takes little memory.
    """
    columns: dict[str, None] = {}
    count = 0
    with tempfile.TemporaryFile("w+", encoding="utf-8") as waiting:
        for row in rows:
            columns.update(dict.fromkeys(row))
            waiting.write(json.dumps({name: safe_cell(cell) for name, cell in row.items()}) + "\n")
            count += 1
        waiting.seek(0)
        writer = csv.writer(out, lineterminator="\n")
        if columns:
            writer.writerow([safe_cell(name) for name in columns])
        for line in waiting:
            cells = json.loads(line)
            writer.writerow([cells.get(name, "") for name in columns])
    return count
