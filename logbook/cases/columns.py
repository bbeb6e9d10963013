"""What the columns of a file are, where its header leaves it open: shown, said, remembered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.files import trace_file
from logbook.cases.kinds import column_maps
from logbook.cases.parts import Part, part_of
from logbook.records.ids import new_id
from logbook.records.trace import NOT_ASKED, SourceKind
from logbook.refusals import BadFile
from logbook.store import landings

if TYPE_CHECKING:
    from logbook.intake.unsettled import ShownColumn


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a column can be: a quantity, and the unit that its numbers are in, ``""`` for none."""

    quantity: str
    unit: str


@dataclass(frozen=True, slots=True)
class ColumnsView:
    """A file's columns as they are read with what has been `said` of them, by column name.

    `refusal` says what still stands in the way, with nothing in it `part` what would be taken.
    """

    name: str
    signature: str
    columns: tuple[ShownColumn, ...]
    said: Mapping[str, Meaning]
    refusal: str = ""
    part: Part | None = None
    parts: int = 0

    def saying(self, column: str, meaning: Meaning | None) -> dict[str, Meaning]:
        """What has been said, with one column more, or one less: a quantity is one column."""
        rest = {
            name: one
            for name, one in self.said.items()
            if name != column and (meaning is None or one.quantity != meaning.quantity)
        }
        return rest if meaning is None else {**rest, column: meaning}


def columns_of(
    desk: Desk,
    path: Path,
    landing_id: str | None = None,
    said: Mapping[str, Meaning] | None = None,
) -> ColumnsView:
    """Read a file with what is `said` of its columns, else with what was said of such files.

    Raises `BadFile` for a file whose columns are not what stands in the way.
    """
    from logbook.intake.unsettled import UnsettledColumns

    known = column_maps(desk)
    given = None if said is None else as_map(said)
    try:
        file = trace_file(desk, path, landing_id, maps=known if given is None else lambda _: given)
    except UnsettledColumns as refusal:
        before = known(refusal.signature) if said is None else {}
        found = said if said is not None else _from_map(before, refusal.columns)
        return ColumnsView(path.name, refusal.signature, refusal.columns, found, refusal.what)
    found = said if said is not None else _from_map(known(file.signature), file.columns)
    part = part_of(file, 1, *file.samples, None)
    return ColumnsView(
        file.name, file.signature, file.columns, found, part=part, parts=len(file.parts)
    )


def as_map(said: Mapping[str, Meaning]) -> dict[str, str]:
    """As it is remembered: column with unit by quantity."""
    return {
        one.quantity: f"{column} [{one.unit}]" if one.unit else column
        for column, one in said.items()
    }


def _from_map(given: Mapping[str, str], columns: Sequence[ShownColumn]) -> dict[str, Meaning]:
    from logbook.intake.columns import describe

    names = {column.name.casefold(): column.name for column in columns}
    found = {}
    for quantity, text in given.items():
        described = describe(text)
        if text.casefold() in names:
            found[names[text.casefold()]] = Meaning(quantity, "")
        elif described.name.casefold() in names:
            found[names[described.name.casefold()]] = Meaning(quantity, described.unit)
    return found


def meanings(column: ShownColumn, system: str) -> list[Meaning]:
    """What a column can be said to be: what fits what is known of it first; then speed and load,
    in the user's own units before others."""
    from logbook.intake.unsettled import quantities, units_of
    from logbook.quantities import display_unit
    from logbook.quantities import known_unit as unit_of

    shown = {display_unit(kind, system) for kind in ("torque", "power")}
    found = [
        Meaning(quantity, unit)
        for quantity in quantities()
        for unit in sorted(units_of(quantity), key=lambda unit: unit not in shown)
    ]
    if column.unit and unit_of(column.unit) is not None:
        fitting = [one for one in found if one.unit == column.unit]
        found = [*fitting, *(one for one in found if one not in fitting)]
    return sorted(found, key=lambda one: one.quantity != column.quantity)


def name_columns(desk: Desk, view: ColumnsView) -> str:
    """Remember what was said for all files with this header; files that wait are read anew.

    Raises `BadFile` where the file could still not be taken.
    """
    if view.refusal:
        raise BadFile(view.refusal, where=view.name, wanted="what the other columns are")
    waiting = _waiting_parts(desk, view)
    with desk.book.changing(who=desk.who, what=f"Columns of {view.name} named") as change:
        known = change.source_kind(view.signature)
        before = known or SourceKind(new_id(), view.signature, view.name, NOT_ASKED)
        change.put_source_kind(replace(before, name=view.name, column_map=as_map(view.said)))
        for landing_id, parts in waiting.items():
            landings.read_anew(change, landing_id, parts=parts)
        return change.group


def _waiting_parts(desk: Desk, view: ColumnsView) -> dict[str, int]:
    """How many pulls the files hold that wait for these columns to be named, by landing."""
    from logbook.intake import read_bytes

    given, found = as_map(view.said), {}
    with desk.book.reading() as read:
        waiting = landings.waiting(read)
    for one in waiting:
        with desk.book.reading() as read:
            source = read.source_of_content(one.sha256)
        if source is not None and source.signature == view.signature:
            try:
                file = read_bytes(one.name, source.content, lambda _: given)
            except BadFile:
                continue  # this one has another fault; it is said when its turn comes
            found[one.id] = len(file.parts)
    return found
