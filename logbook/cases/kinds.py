"""Kinds of source file: what somebody has said once about all files with the same header."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from logbook.records.caution import Caution
from logbook.records.ids import new_id
from logbook.records.pull import OBSERVED
from logbook.records.trace import NOT_ASKED, SourceKind

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.entry import PullEntry
    from logbook.intake import ReadFile
    from logbook.intake.column_map import ColumnMaps
    from logbook.store.change import Change


def column_maps(desk: Desk, given: Mapping[str, str] | None = None) -> ColumnMaps:
    """What is known of a file's columns by its signature; what is `given` now goes before it."""

    def of(signature: str) -> Mapping[str, str]:
        with desk.book.reading() as read:
            known = read.source_kind(signature)
        return {**(known.column_map if known else {}), **(given or {})}

    return of


def torque_state(
    change: Change, entry: PullEntry, file: ReadFile | None
) -> tuple[str, list[Caution]]:
    """Whether the file's torque is observed: said now, said before for such files, or assumed.

    What is said now, of its torque and its columns, is remembered.
    """
    if file is None:
        return entry.torque_state or OBSERVED, []
    known = change.source_kind(file.signature)
    before = known or SourceKind(new_id(), file.signature, file.name, NOT_ASKED)
    after = replace(
        before,
        torque_state=entry.torque_state or before.torque_state,
        column_map={**before.column_map, **entry.columns},
    )
    if after != before:
        change.put_source_kind(replace(after, name=file.name))
    if after.answered:
        return after.answered, []
    return OBSERVED, [
        Caution(
            "torque-assumed-observed",
            "Nobody has said whether this kind of file holds observed or already corrected"
            " torque: taken as observed",
        )
    ]


def read_columns(texts: Iterable[str]) -> dict[str, str]:
    """``torque=TQ [lb-ft]`` and the like → column by quantity. Raises `BadInput`."""
    from logbook.intake.column_map import read_column

    return dict(read_column(text) for text in texts)
