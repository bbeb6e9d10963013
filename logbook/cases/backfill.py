"""Old trace files: many in one go, by the day they were written."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk, stamp_of
from logbook.cases.entry import PullEntry
from logbook.cases.files import chosen_part, trace_file
from logbook.cases.kinds import column_maps
from logbook.cases.labels import label_of, local_day
from logbook.cases.past import BEFORE, TAKEN, Outcome, Ready, Terms, session_of_day
from logbook.cases.pulls import log_in, read_given
from logbook.plain import plain
from logbook.records.pull import Pull
from logbook.refusals import BadFile, BadInput
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.intake import ReadFile
    from logbook.intake.column_map import ColumnMaps
    from logbook.store.change import Change


def files_in(paths: Iterable[Path]) -> list[Path]:
    """The files named, and all tables in the folders named and below, oldest first.

    Raises `BadFile` for a path that is not there or a folder that cannot be read.
    """
    from logbook.intake.landing import is_table, list_files

    found: dict[Path, int] = {}
    for path in paths:
        if path.is_dir():
            for folder in _folders(path):
                for name, stamp in list_files(folder).items():
                    if is_table(name):
                        found[folder / name] = stamp.modified_ns
        elif path.exists():
            found[path] = path.stat().st_mtime_ns
        else:
            raise BadFile("there is no such file or folder", where=plain(str(path)),
                          wanted="files, or folders of them")  # fmt: skip
    return [path for path, _ in sorted(found.items(), key=lambda pair: (pair[1], str(pair[0])))]


def _folders(top: Path) -> Iterator[Path]:
    for folder, below, _ in os.walk(top):
        below[:] = sorted(name for name in below if not name.startswith("."))
        yield Path(folder)


@dataclass(frozen=True, slots=True)
class PastFile:
    """One old file. All pulls in it are taken, or none."""

    path: Path
    terms: Terms

    @property
    def name(self) -> str:
        """The path, as it was given."""
        return str(self.path)

    def read(self, desk: Desk) -> Ready:
        """Read the file; it is taken at the time it was last written."""
        if self.terms.engine_tag is None:
            raise BadInput("no engine was given", where="Engine", wanted="--engine TAG")
        file = trace_file(desk, self.path, maps=self._maps(desk))
        at = stamp_of(datetime.fromtimestamp(self.path.stat().st_mtime, UTC))
        return partial(_take, self, file, at, self.terms.engine_tag)

    def _maps(self, desk: Desk) -> ColumnMaps:
        kinds, known = self.terms.kinds, column_maps(desk, self.terms.columns)

        def of(signature: str) -> Mapping[str, str]:
            if signature not in kinds:
                kinds[signature] = known(signature)
            return kinds[signature]

        return of


def _take(past: PastFile, file: ReadFile, at: str, tag: str, change: Change, desk: Desk) -> Outcome:
    """Log every pull the file holds."""
    taken = lookups.samples_of_source(change, file.sha256)
    if taken:
        labels = [label_of(change, change.get(Pull, pull_id)) for pull_id, _, _ in taken]
        return Outcome(past.name, BEFORE, f"already pull {', '.join(labels)}", tuple(labels))
    session = session_of_day(change, desk, tag, at, past.terms)
    entry = PullEntry(
        set_up=past.terms.set_up,
        torque_state=past.terms.torque_state,
        columns=past.terms.columns,
        at=at,
    )
    labels = []
    for part in _parts(file):
        logged = log_in(change, desk, entry, read_given(entry, part), session, carry=False)
        labels.append(past.terms.label(change, session, logged.number))
    return Outcome(past.name, TAKEN, _read_text(file, local_day(change, session)), tuple(labels))


def _parts(file: ReadFile) -> list[ReadFile]:
    if len(file.parts) < 2:
        return [file]
    return [chosen_part(file, number, None) for number in range(1, len(file.parts) + 1)]


def _read_text(file: ReadFile, day: str) -> str:
    speed = file.trace.of("engine speed")
    assert speed is not None  # the intake refuses a file without one
    rpm = speed.si()
    parts = f", {len(file.parts)} pulls" if len(file.parts) > 1 else ""
    return f"{day}, {file.kind_hint}, {rpm.min():.0f}–{rpm.max():.0f} rpm{parts}"
