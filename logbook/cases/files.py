"""The file behind an entry: read from its path, from what has landed, or from a typed table."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.kinds import column_maps
from logbook.cases.samples import read_samples
from logbook.quantities import display_unit
from logbook.refusals import BadInput, NotFound
from logbook.store import landings

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.entry import PullEntry
    from logbook.intake import ReadFile
    from logbook.intake.column_map import ColumnMaps
    from logbook.store.reader import Reader


def file_of(desk: Desk, entry: PullEntry) -> ReadFile | None:
    """The entry's trace or typed table, read; ``None`` where peaks were typed.

    Raises `BadFile` for a file that cannot be taken, `BadInput` for a table that cannot.
    """
    if entry.steady_points and (entry.trace is not None or entry.landing_id):
        raise BadInput("a trace and a typed table were given", where="Pull", wanted="one of them")
    if entry.landing_id or entry.trace is not None:
        file = trace_file(desk, entry.trace, entry.landing_id, entry.columns)
        return chosen_part(file, entry.part, entry.samples)
    if entry.part is not None or entry.samples or entry.columns:
        raise BadInput("there is no trace to take it from", where="Part or column",
                       wanted="a trace file")  # fmt: skip
    if entry.steady_points:
        from logbook.intake import read_bytes

        return read_bytes("typed table", _with_header(entry.steady_points, entry.units).encode())
    return None


def trace_file(
    desk: Desk,
    path: Path | None,
    landing_id: str | None = None,
    columns: Mapping[str, str] | None = None,
    maps: ColumnMaps | None = None,
) -> ReadFile:
    """A trace file as it lies at `path`, or as it was when it landed.

    Its columns are those its header names, those somebody has named for such files, and those
    of `columns`, each before the others; with `maps` what that says of them, and nothing else.
    """
    from logbook.intake import read_bytes, read_file

    maps = maps or column_maps(desk, columns)
    if landing_id:
        with desk.book.reading() as read:
            name, content = _landed(read, landing_id)
        return read_bytes(name, content, maps)
    assert path is not None
    return read_file(path, maps)


def chosen_part(file: ReadFile, part: int | None, samples: str | None) -> ReadFile:
    """The file with one part as the pull: that number, those samples, else the longest rise."""
    from logbook.intake import parts

    if samples:
        if part is not None:
            raise BadInput("a part and samples were given", where="Part", wanted="one of them")
        return parts.take_samples(file, *read_samples(samples))
    if part is None and len(file.parts) < 2:
        return file
    return parts.take_part(file, part or file.parts.index(file.samples) + 1)


def _landed(read: Reader, landing_id: str) -> tuple[str, bytes]:
    """Name and bytes of a landing, as they were when it landed. Raises `NotFound`."""
    one = landings.landing(read, landing_id)
    source = read.source_of_content(one.sha256) if one else None
    if one is None or source is None:
        raise NotFound("this file does not wait any more", where="Landing",
                       wanted="a file that waits, or its path")  # fmt: skip
    return one.name, source.content


def _with_header(table: str, units: str | None) -> str:
    """A short table as typed, ``3000 310`` a line, gets the header that it is read with."""
    if not table.lstrip()[:1].isdigit():
        return table
    if units is None:
        raise BadInput("the columns of the table are not named", where="Table",
                       wanted="a first line such as: engine speed rpm, torque lb-ft")  # fmt: skip
    lines = [", ".join(line.replace(",", " ").split()) for line in table.strip().splitlines()]
    return "\n".join([f"engine speed [rpm], torque [{display_unit('torque', units)}]", *lines])
