"""A file from the data system → a trace and what is to be said about it, or a refusal."""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from logbook import underway
from logbook.intake.apart import Format, format_of, read_recording
from logbook.intake.channels import make_channels
from logbook.intake.column_map import ColumnMaps, apply_map
from logbook.intake.complete import Table
from logbook.intake.essentials import corrected_names
from logbook.intake.header import signature_of
from logbook.intake.layout import find_layout
from logbook.intake.table import read_table
from logbook.intake.taken import samples_taken
from logbook.intake.text import MAX_BYTES, check_size, decode, visible
from logbook.intake.unsettled import ShownColumn, UnsettledColumns, shown_columns, unsettled
from logbook.records.caution import Caution
from logbook.records.trace import Channel, Trace
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

_A_FILE = "the path of a CSV or other table"


@dataclass(frozen=True, slots=True, eq=False)
class ReadFile:
    """What a file holds.

    `content` are its bytes and `sha256` their hash; `signature` is equal for files with the same
    columns and units, so that what was asked about one is known of the next. `columns` are those
    of the file, in its order. `kind_hint` is
    ``"sweep"`` or ``"steady points"``. `named_corrected` are the torque and power columns in
    use whose name says that they are corrected; `text_columns` those that are no numbers (only
    in `content`); `unknown_units` unit texts that are not known. `preamble` are the lines above
    the header. `parts` are first and last sample (from 0, inclusive) of every rising loaded part;
    `part` is the number of the one taken, where one was asked for. The trace begins with the
    file's sample `first_in_file`.
    """

    name: str
    sha256: str
    content: bytes = field(repr=False)
    signature: str
    columns: tuple[ShownColumn, ...]
    trace: Trace
    kind_hint: str
    preamble: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    named_corrected: tuple[str, ...] = ()
    text_columns: tuple[str, ...] = ()
    unknown_units: tuple[str, ...] = ()
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    parts: tuple[tuple[int, int], ...] = ()
    part: int | None = None
    first_in_file: int = 0

    @property
    def samples(self) -> tuple[int, int]:
        """First and last sample taken, counted from 0 in the file."""
        at = self.first_in_file
        return at + self.trace.first_sample, at + self.trace.last_sample


def read_file(path: Path, maps: ColumnMaps | None = None) -> ReadFile:
    """Read the file at `path`; `maps` tells what is known of its columns by its signature.

    Raises `BadFile` for anything that cannot be taken as a pull.
    """
    where = visible(path.name or str(path))
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise BadFile("this is a folder", where=where, wanted=_A_FILE)
        if not stat.S_ISREG(found.st_mode):
            raise BadFile("this is a device or a pipe, not a file", where=where, wanted=_A_FILE)
        check_size(found.st_size, where=where)
        with path.open("rb") as file:
            content = file.read(found.st_size)
            content += file.read(MAX_BYTES + 1 - len(content))  # it may be growing
    except FileNotFoundError as error:
        raise BadFile("there is no such file", where=where, wanted=_A_FILE) from error
    except PermissionError as error:
        raise BadFile(
            "the file may not be read", where=where, wanted="permission to read it"
        ) from error
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the path
        reason = error.strerror if isinstance(error, OSError) else "the path is no path"
        raise BadFile(f"the file cannot be read ({reason})", where=where, wanted=_A_FILE) from error
    return read_bytes(path.name, content, maps)


def read_bytes(name: str, content: bytes, maps: ColumnMaps | None = None) -> ReadFile:
    """Read a file's content. `name` is shown and kept; a folder before it is cut off."""
    name = visible(name.replace("\\", "/").rsplit("/", 1)[-1], 200) or "file"
    check_size(len(content), where=name)
    format_ = format_of(content, where=name)
    if format_ is None:
        parsed = _read_text(name, content, maps)
    else:
        parsed = _read_recording(name, content, format_, maps)
    read = parsed.table
    underway.step()
    channels = make_channels(read.columns, read.cells, read.chosen)
    underway.step()
    taken = samples_taken(read.speed_rpm, _time_s(channels.channels), read.load)
    return ReadFile(
        name=name,
        sha256=hashlib.sha256(content).hexdigest(),
        content=content,
        signature=parsed.signature,
        columns=parsed.columns,
        trace=Trace(channels.channels, taken.first, taken.last),
        kind_hint=taken.kind,
        preamble=parsed.preamble,
        cautions=(*read.cautions, *channels.cautions, *taken.cautions),
        named_corrected=corrected_names(read.chosen, read.columns),
        text_columns=channels.texts,
        unknown_units=channels.unknown_units,
        encoding=parsed.encoding,
        delimiter=parsed.delimiter,
        decimal=parsed.decimal,
        parts=taken.parts,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Parsed:
    """A table and what is known of the file it stands in; a binary one has no text layout."""

    table: Table
    signature: str
    columns: tuple[ShownColumn, ...]
    preamble: tuple[str, ...]
    encoding: str = ""
    delimiter: str = ""
    decimal: str = ""


def _read_text(name: str, content: bytes, maps: ColumnMaps | None) -> _Parsed:
    layout = find_layout(decode(content, where=name), where=name)
    underway.step()
    signature = layout.header.signature
    columns, given = layout.header.columns, maps(signature) if maps is not None else {}
    if given:
        at_header = f"{name}, line {layout.header.lines[0]}"
        columns = apply_map(columns, given, where=at_header)
        layout = replace(layout, header=replace(layout.header, columns=columns))
    first = ([row.cells[at] for row in layout.first if at < len(row.cells)]
             for at in range(len(columns)))  # fmt: skip
    shown = shown_columns(columns, first)
    with _named(signature, shown, bool(given)):
        table = read_table(layout, where=name)
    return _Parsed(
        table,
        signature,
        shown,
        layout.preamble,
        layout.decoded.encoding,
        layout.delimiter,
        layout.marks.decimal,
    )


@contextmanager
def _named(signature: str, shown: tuple[ShownColumn, ...], given: bool) -> Iterator[None]:
    """A refusal that somebody could answer gets the columns to show; with `given`, what somebody
    has said of the columns may be what is wrong."""
    try:
        yield
    except BadFile as refusal:
        if isinstance(refusal, UnsettledColumns) or given:
            raise unsettled(refusal, signature, shown) from refusal
        raise


def _read_recording(name: str, content: bytes, format_: Format, maps: ColumnMaps | None) -> _Parsed:
    from logbook.intake.bases import columns_of, first_values, table_of

    recording = read_recording(content, format_, where=name)
    columns = columns_of(recording)
    signature = signature_of(columns)
    given = maps(signature) if maps is not None else {}
    if given:
        columns = apply_map(columns, given, where=name)
    shown = shown_columns(columns, first_values(recording))
    with _named(signature, shown, bool(given)):
        table = table_of(recording, columns, where=name)
    preamble = tuple(visible(remark, 300) for remark in recording.remarks)
    return _Parsed(table, signature, shown, preamble)


def _time_s(channels: Sequence[Channel]) -> npt.NDArray[np.float64] | None:
    return next((channel.si() for channel in channels if channel.quantity == "time"), None)
