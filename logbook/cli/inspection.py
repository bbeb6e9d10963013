"""``logbook inspection``: leak-down, cranking compression, lash, plugs, clearances."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from logbook.cases.field_lists import INSPECTION_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, need_something, pass_door
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.inspections import ClearanceEntry

_BUILD = click.option("--build", metavar="LABEL", help="The build; else the newest.")
_CLEARANCE = click.option(
    "--clearance",
    "clearances",
    multiple=True,
    metavar="NAME=VALUE",
    help="Such as 'main bearing, main 3=0.0021 in; 0.0015..0.0030 in; within; note': the place,"
    " the limit, the verdict (within, reclaim, reject) and the note may be left out. Repeatable.",
)


@click.group(cls=NounGroup)
def inspection() -> None:
    """Inspections of an engine.

    \b
    Examples:
      logbook inspection add RB-2 --leak-down '4 5 4 6 5 4 5 5' --cranking '175 178 176 172 psi'
      logbook inspection list RB-2
    """


@inspection.command()
@click.argument("tag")
@_BUILD
@_CLEARANCE
@field_options(INSPECTION_FIELDS)
@pass_door
def add(
    door: Door, tag: str, build: str | None, clearances: tuple[str, ...], **typed: str | None
) -> None:
    """Take an inspection down.

    Values of cylinders stand with blanks between, - for none.

    \b
    Examples:
      logbook inspection add RB-2 --kind 'after the season' --leak-down '4 5 4 6 5 4 5 5' \\
        --lash-intake-hot '0.012 in' --lash-hot-at '180 F' --plugs 'tan; tan; dark; tan'
      logbook inspection add RB-2 --clearance 'main bearing, main 3=0.0021 in; 0.0015..0.0030 in'
    """
    from logbook.cases.inspections import add_inspection

    entered = [_clearance(text) for text in clearances]
    with door.desk() as desk:
        made = add_inspection(desk, tag, given(typed), build=build, clearances=entered)
    if door.json:
        from logbook.reports.filed_json import inspection_json

        door.put(inspection_json(made))
    else:
        door.words(f"Inspection of {made.engine.tag}, {made.inspection.inspected_on}, entered.")


@inspection.command()
@click.argument("inspection_id", metavar="ID")
@_CLEARANCE
@click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")
@field_options(INSPECTION_FIELDS)
@pass_door
def change(
    door: Door, inspection_id: str, clearances: tuple[str, ...], why: str, **typed: str | None
) -> None:
    """Correct an inspection, or add clearances.

    An empty text clears a field.

    \b
    Examples:
      logbook inspection change 01a2 --note 'cylinder 3 again' --why 'forgotten'
    """
    from logbook.cases.inspections import change_inspection

    touched = given(typed)
    need_something(touched, clearances)
    entered = [_clearance(text) for text in clearances]
    with door.desk() as desk:
        changed = change_inspection(desk, inspection_id, touched, clearances=entered, why=why)
    door.done("Inspection changed.", changed.inspection)


@inspection.command("list")
@click.argument("tag")
@pass_door
def list_(door: Door, tag: str) -> None:
    """The inspections of an engine, newest first.

    \b
    Examples:
      logbook inspection list RB-2
      logbook inspection list RB-2 --json
    """
    from logbook.cases.inspections import list_inspections

    with door.desk() as desk:
        found = list_inspections(desk, tag)
        system = desk.units
    if door.json:
        from logbook.reports.filed_json import inspection_json

        for one in found:
            door.put(inspection_json(one))
    else:
        from logbook.reports.filed import inspections

        door.table(inspections(found, system))


@inspection.command()
@click.argument("inspection_id", metavar="ID")
@pass_door
def show(door: Door, inspection_id: str) -> None:
    """One inspection, cylinder by cylinder, with its clearances.

    \b
    Examples:
      logbook inspection show 01a2
    """
    from logbook.cases.inspections import show_inspection

    with door.desk() as desk:
        found = show_inspection(desk, inspection_id)
        system = desk.units
    if door.json:
        from logbook.reports.filed_json import inspection_json

        door.put(inspection_json(found))
    else:
        from logbook.reports.filed import inspection_parts

        door.table(*inspection_parts(found, system))


def _clearance(text: str) -> ClearanceEntry:
    from logbook.cases.inspections import ClearanceEntry

    name, equals, rest = text.partition("=")
    if not equals:
        raise BadInput(
            f"{text[:60]!r} is no clearance",
            where="--clearance",
            wanted="such as 'main bearing, main 3=0.0021 in; 0.0015..0.0030 in'",
        )
    what, _, place = name.partition(",")
    measured, limit, verdict, note = _four(rest.split(";", 3))
    return ClearanceEntry(what.strip(), measured, place.strip(), limit, verdict, note)


def _four(parts: Iterable[str]) -> tuple[str, str, str, str]:
    """Four texts, the last ones empty where they were left out."""
    one, two, three, four = (*(part.strip() for part in parts), "", "", "", "")[:4]
    return one, two, three, four
