"""A table of text → its samples: closing remarks left out, cells that are no numbers refused."""

from __future__ import annotations

from collections.abc import Sequence

from logbook import underway
from logbook.intake.cells import Cells, read_cells
from logbook.intake.columns import Column
from logbook.intake.complete import Rows, Table, complete
from logbook.intake.essentials import Essentials, choose
from logbook.intake.layout import Layout
from logbook.intake.numbers import is_not_finite, looks_numeric
from logbook.intake.text import quoted
from logbook.intake.wheel import with_wheel_power
from logbook.records.caution import Caution
from logbook.refusals import BadFile

_FOOTER_LINES = 20


def read_table(layout: Layout, *, where: str) -> Table:
    """The samples of a table whose layout is known.

    Raises `BadFile` with file and line for what is no number in speed, torque or power, for
    speeds no engine has, a missing unit, and too few samples.
    """
    columns = layout.header.columns
    at_header = f"{where}, line {layout.header.lines[0]}"
    cells = read_cells(layout, where=where)
    columns, cells, cautions = with_wheel_power(columns, cells)
    underway.step()
    chosen = choose(columns, cells, where=at_header)
    count, footer = _without_footer(layout, cells, chosen)
    if footer:
        cautions.append(Caution("footer", f"Left out below the samples: {footer}"))
        cells = [data.until(count) for data in cells]
    _refuse_strays(layout, columns, cells, chosen, where)
    rows = Rows(where, at_header, "line", lambda row: layout.record(row).line)
    return complete(columns, cells, chosen, count, rows, cautions)


def _without_footer(layout: Layout, cells: Sequence[Cells], chosen: Essentials) -> tuple[int, str]:
    """How many rows are left without closing remarks ("End of log"), and the first of those."""
    count = max((len(data.values) for data in cells if data.values is not None), default=0)
    strays = {row for at in chosen.taken.values() for row, _ in cells[at].strays}
    strays |= {row for data in cells for row, _ in data.strays if row >= count - _FOOTER_LINES}
    first = ""
    end = count
    for row in range(count - 1, max(count - 1 - _FOOTER_LINES, -1), -1):
        if row not in strays:
            break
        record = layout.record(row)
        words = [cell for cell in record.cells if cell]
        if len(words) != 1 or looks_numeric(words[0]):
            break
        end, first = row, f"line {record.line}, {quoted(words[0])}"
    return end, first


def _refuse_strays(
    layout: Layout,
    columns: Sequence[Column],
    cells: Sequence[Cells],
    chosen: Essentials,
    where: str,
) -> None:
    """Refuse the first cell of speed, torque or power that is no finite number."""
    strays = [
        (row, text, columns[at])
        for at in chosen.taken.values()
        for row, text in cells[at].strays[:1]
    ]
    if not strays:
        return
    row, text, column = min(strays, key=lambda stray: stray[0])
    said = f"{quoted(text)} in column {column.quoted} is no"
    said += " finite number" if is_not_finite(text) or looks_numeric(text) else " number"
    mark = "comma" if layout.marks.decimal == "," else "point"
    raise BadFile(
        said,
        where=f"{where}, line {layout.record(row).line}",
        wanted=f"a number (this file's decimal mark is a {mark}), or an empty cell",
    )
