"""A watched folder: which files have stopped growing, and what they hold.

Everything is found by looking again, since folders on a network tell nobody when they change.
There are no threads here: whoever watches calls `Settling.look` in turns.
"""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.refusals import BadFile

if TYPE_CHECKING:
    from logbook.intake.column_map import ColumnMaps
    from logbook.intake.file import ReadFile
    from logbook.intake.unsettled import UnsettledColumns

QUIET_S = 1.0
MOST_FILES = 20_000
# What programs call a file while they are still writing or copying it.
_UNFINISHED = (".tmp", ".temp", ".part", ".partial", ".filepart", ".crdownload", ".download",
               ".swp", ".lock")  # fmt: skip
# Only tables are opened; other things that lie in a cell's folder are left alone.
_TABLES = frozenset({"", ".csv", ".txt", ".tsv", ".dat", ".asc", ".log", ".prn", ".tab",
                     ".mf4", ".mdf", ".parquet", ".pq"})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stamp:
    """How a file looks from outside: bytes, and when it was last written."""

    size: int
    modified_ns: int


@dataclass(frozen=True, slots=True)
class Settled:
    """A file that has stopped growing, as it was read.

    `file` is ``None`` where it cannot be taken as a pull: `refusal` says why, and `sha256` is
    empty where it was not opened at all. `unsettled`: it could be, once somebody says what its
    columns are; `content` are then its bytes. `foreign`: its name says that it is no table.
    """

    name: str
    stamp: Stamp
    sha256: str = ""
    file: ReadFile | None = field(default=None, repr=False)
    refusal: str = ""
    unsettled: UnsettledColumns | None = field(default=None, repr=False)
    content: bytes = field(default=b"", repr=False)
    foreign: bool = False


class Settling:
    """Tells from one look to the next which files have stopped growing.

    A file has, once size and time of writing stood still over two looks or more that lie
    `quiet` seconds apart; an empty file is one that is still to be written.

    Parameters
    ----------
    known : files that were dealt with already, by name, as they then looked.
    """

    def __init__(self, known: Mapping[str, Stamp], *, quiet: float = QUIET_S) -> None:
        self._known = dict(known)
        self._since: dict[str, tuple[Stamp, float]] = {}
        self._quiet = quiet

    @property
    def pending(self) -> int:
        """How many files of the last look are still to settle."""
        return len(self._since)

    def look(self, listing: Mapping[str, Stamp], tick: float) -> list[str]:
        """The names that have settled, the file written first before the others.

        `tick` is a clock in seconds that only runs forward.
        """
        settled: list[tuple[int, str]] = []
        since: dict[str, tuple[Stamp, float]] = {}
        for name, stamp in listing.items():
            if self._known.get(name) == stamp:
                continue
            seen, at = self._since.get(name, (None, tick))
            since[name] = (stamp, at if seen == stamp else tick)
            if stamp.size and seen == stamp and tick - at >= self._quiet:
                settled.append((stamp.modified_ns, name))
        self._since = since
        return [name for _, name in sorted(settled)]

    def keep(self, name: str, stamp: Stamp) -> None:
        """This file was dealt with as it looks now."""
        self._known[name] = stamp
        self._since.pop(name, None)

    def again(self, name: str) -> None:
        """This file was not what it looked like: it has to settle once more."""
        self._since.pop(name, None)


def list_files(folder: Path) -> dict[str, Stamp]:
    """The files of a folder by name, without hidden ones and those still being written.

    Raises `BadFile` where the folder cannot be read.
    """
    found: dict[str, Stamp] = {}
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.name.startswith((".", "~")) or entry.name.endswith("~"):
                    continue
                if entry.name.casefold().endswith(_UNFINISHED):
                    continue
                try:
                    seen = entry.stat()
                except OSError:
                    continue  # gone or renamed between two breaths: the next look tells
                if stat.S_ISREG(seen.st_mode):
                    found[entry.name] = Stamp(seen.st_size, seen.st_mtime_ns)
                if len(found) > MOST_FILES:
                    raise BadFile(
                        f"there are more than {MOST_FILES:,} files in it",
                        where=str(folder),
                        wanted="a folder for new files, with the old ones moved elsewhere",
                    )
    except OSError as trouble:
        raise BadFile(
            f"the folder cannot be read ({trouble.strerror})",
            where=str(folder),
            wanted="a folder that is there and may be read",
        ) from trouble
    return found


def is_table(name: str) -> bool:
    """Whether a file may be a table by its name."""
    return Path(name).suffix.casefold() in _TABLES


def read_settled(
    folder: Path, name: str, stamp: Stamp, maps: ColumnMaps | None = None
) -> Settled | None:
    """Read a file that has settled; ``None`` where it is gone or has changed in between.

    Raises `OSError` while another program keeps it locked.
    """
    if not is_table(name):
        return Settled(name, stamp, refusal="by its name no table", foreign=True)
    from logbook.intake.file import read_bytes
    from logbook.intake.text import check_size, visible
    from logbook.intake.unsettled import UnsettledColumns

    try:
        check_size(stamp.size, where=visible(name))
    except BadFile as refusal:
        return Settled(name, stamp, refusal=refusal.sentence)
    try:
        content = (folder / name).read_bytes()
        after = (folder / name).stat()
    except FileNotFoundError:
        return None
    if Stamp(after.st_size, after.st_mtime_ns) != stamp or len(content) != stamp.size:
        return None
    digest = hashlib.sha256(content).hexdigest()
    try:
        return Settled(name, stamp, digest, read_bytes(name, content, maps))
    except BadFile as refusal:
        if isinstance(refusal, UnsettledColumns) and refusal.worth_asking:
            return Settled(name, stamp, digest, None, refusal.what, refusal, content)
        return Settled(name, stamp, digest, refusal=refusal.sentence)
