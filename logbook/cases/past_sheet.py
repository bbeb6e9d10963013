"""Old paper records: a spreadsheet with one past pull a row becomes pulls of typed peaks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.entry import PullEntry
from logbook.cases.field_lists import AIR_FIELDS, PEAK_FIELDS, READING_FIELDS
from logbook.cases.fields import Field
from logbook.cases.labels import label_of, local_day
from logbook.cases.past import BEFORE, TAKEN, Outcome, Ready, Terms, session_of_day, zone_of
from logbook.cases.pulls import log_in, read_given
from logbook.cases.typed import read_time
from logbook.plain import capital, plain
from logbook.records.pull import Pull
from logbook.refusals import BadFile, BadInput

if TYPE_CHECKING:
    from logbook.cases.entry import ReadEntry
    from logbook.intake.sheet import Sheet, SheetRow
    from logbook.store.change import Change

DATE, TIME, ENGINE = "date", "time", "engine"
_NOON = "12:00"
# What a column may be called besides the key and the label of its field.
_OTHER_NAMES = {
    "power": "peak-power", "max power": "peak-power", "torque": "peak-torque",
    "max torque": "peak-torque", "power rpm": "power-at", "power speed": "power-at",
    "peak power rpm": "power-at", "peak power speed": "power-at", "torque rpm": "at",
    "torque at": "at", "torque speed": "at", "peak torque rpm": "at", "peak torque speed": "at",
    "barometer": "pressure", "air pressure": "pressure", "air temperature": "temperature",
    "humidity": "rh", "wet bulb temperature": "wet-bulb", "notes": "note", "remarks": "note",
}  # fmt: skip


def field_names() -> dict[str, str]:
    """Column name → key of the field it fills; any other column is a factor of the set-up."""
    fields: tuple[Field, ...] = (*AIR_FIELDS, *PEAK_FIELDS, *READING_FIELDS)
    named = {
        name: field.key
        for field in fields
        for name in (field.key, field.key.replace("-", " "), field.label.casefold())
    }
    return {**_OTHER_NAMES, **named}


def rows_of(path: Path, terms: Terms, *, order: str | None = None) -> list[PastRow]:
    """The rows of a sheet, each to be taken as a pull. Raises `BadFile`, `BadInput`."""
    from logbook.intake.sheet import date_order, read_sheet

    try:
        sheet = read_sheet(path.name, path.read_bytes())
    except OSError as trouble:
        raise BadFile(f"the file cannot be read ({trouble.strerror})", where=plain(path.name),
                      wanted="a sheet saved as CSV") from trouble  # fmt: skip
    if DATE not in sheet.columns:
        raise BadFile('there is no column "date"', where=f"{sheet.name}, line 1",
                      wanted="the date of each pull")  # fmt: skip
    order = order or date_order([row.cells.get(DATE, "") for row in sheet.rows])
    return [PastRow(row, sheet.name, terms, order, later) for row, later in _places(sheet)]


def _places(sheet: Sheet) -> list[tuple[SheetRow, int]]:
    """The rows, and how many rows of that day and engine stand above each: its minutes past
    noon, where the sheet gives no time."""
    seen: dict[tuple[str, str], int] = {}
    placed = []
    for row in sheet.rows:
        key = (row.cells.get(DATE, ""), row.cells.get(ENGINE, ""))
        seen[key] = seen.get(key, -1) + 1
        placed.append((row, seen[key]))
    return placed


@dataclass(frozen=True, slots=True)
class PastRow:
    """One row. `later` are the minutes past noon that it gets without a time."""

    row: SheetRow
    sheet: str
    terms: Terms
    order: str | None
    later: int

    @property
    def name(self) -> str:
        """Sheet and line."""
        return f"{self.sheet}, line {self.row.line}"

    def read(self, desk: Desk) -> Ready:
        """Read and check the row's cells."""
        from logbook.intake.sheet import read_day

        cells = dict(self.row.cells)
        tag = cells.pop(ENGINE, None) or self.terms.engine_tag
        if tag is None:
            raise BadInput("no engine was given", where="Engine",
                           wanted='--engine TAG or a column "engine"')  # fmt: skip
        day = cells.pop(DATE, None)
        if day is None:
            raise BadInput("the date is missing", where="Date", wanted="such as 2019-05-04")
        at = f"{read_day(day, self.order)}T{cells.pop(TIME, _NOON)}"
        with desk.book.reading() as read:
            zone = zone_of(read, tag)
        stamp = read_time(at, zone)
        if TIME not in self.row.cells:
            moment = datetime.fromisoformat(at) + timedelta(minutes=self.later)
            stamp = read_time(moment.isoformat(), zone)
        entry = self._entry(cells, stamp)
        return partial(_take, self, tag, entry, read_given(entry, None))

    def _entry(self, cells: Mapping[str, str], at: str) -> PullEntry:
        names = field_names()
        fields: dict[str, str] = {}
        set_up: dict[str, str | None] = dict(self.terms.set_up)
        for column, text in cells.items():
            key = names.get(column)
            if key is None:
                set_up[column] = text
            elif key in fields:
                raise BadInput("two columns give it", where=capital(column), wanted="one")
            else:
                fields[key] = text
        return PullEntry(set_up=set_up, fields=fields, torque_state=self.terms.torque_state, at=at)


def _take(
    past: PastRow, tag: str, entry: PullEntry, given: ReadEntry, change: Change, desk: Desk
) -> Outcome:
    """Log the row, unless a pull of that minute has its very figures."""
    assert entry.at is not None
    session = session_of_day(change, desk, tag, entry.at, past.terms)
    for pull in change.where(Pull, session_id=session.id, at=entry.at):
        if all(getattr(pull, name) == value for name, value in given.values.items()):
            label = label_of(change, pull)
            return Outcome(past.name, BEFORE, f"already pull {label}", (label,))
    logged = log_in(change, desk, entry, given, session, carry=False)
    label = past.terms.label(change, session, logged.number)
    return Outcome(past.name, TAKEN, _words(tag, local_day(change, session), entry), (label,))


def _words(tag: str, day: str, entry: PullEntry) -> str:
    """What was read in a row, as it stood there."""
    factors = [f"{name} {text}" for name, text in entry.set_up.items()]
    fields = [f"{key.replace('-', ' ')} {plain(text)[:60]}" for key, text in entry.fields.items()]
    return ", ".join([day, tag, *factors, *fields])
