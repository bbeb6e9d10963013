"""``logbook engine``: the engines and their sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from logbook.cases.field_lists import ENGINE_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, need_something, pass_door

if TYPE_CHECKING:
    from logbook.records.engine import Engine


@click.group(cls=NounGroup)
def engine() -> None:
    """Engines and their sheets.

    \b
    Examples:
      logbook engine list
      logbook engine show RB-2
    """


@engine.command()
@click.argument("tag")
@click.option("--band", metavar="LO-HI", help="The speeds that count, such as 4500-6500.")
@field_options(ENGINE_FIELDS)
@pass_door
def add(door: Door, tag: str, band: str | None, **typed: str | None) -> None:
    """Enter an engine; its first build comes with it.

    \b
    Examples:
      logbook engine add RB-2 --cylinders 8 --bore '4.030 in' --stroke '3.48 in' --band 4500-6500
      logbook engine add HC-1 --cylinders 4 --bore '86 mm' --stroke '86 mm' --limit-timing 36
    """
    from logbook.cases.engines import add_engine

    with door.desk(create=True) as desk:
        entered = add_engine(desk, tag, given(typed), band=band)
        _say_geometry(door, entered, desk.units)
    door.done(f"Engine {entered.tag} entered.", entered)


@engine.command("list")
@pass_door
def list_(door: Door) -> None:
    """All engines, most recently run first.

    \b
    Examples:
      logbook engine list
      logbook engine list --json
    """
    from logbook.cases.engines import list_engines
    from logbook.reports.tables import engines

    with door.desk() as desk:
        rows = list_engines(desk)
        system = desk.units
    door.listing(rows, engines, system, door.zone)


@engine.command()
@click.argument("tag")
@pass_door
def show(door: Door, tag: str) -> None:
    """One engine's sheet and builds.

    \b
    Examples:
      logbook engine show RB-2
    """
    from logbook.cases.builds import list_builds
    from logbook.cases.engines import engine_by_tag

    with door.desk() as desk:
        found = engine_by_tag(desk, tag)
        made = list_builds(desk, found.tag)
        system = desk.units
        _say_geometry(door, found, system)
    if door.json:
        from logbook.reports.as_json import record_json

        door.put({**record_json(found), "builds": [record_json(one) for one in made]})
    else:
        from logbook.reports.sheets import engine_sheet

        door.table(*engine_sheet(found, ENGINE_FIELDS, made, system))


@engine.command()
@click.argument("tag")
@click.option("--band", metavar="LO-HI", help="The speeds that count, such as 4500-6500.")
@click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")
@field_options(ENGINE_FIELDS)
@pass_door
def change(door: Door, tag: str, band: str | None, why: str, **typed: str | None) -> None:
    """Correct an engine's sheet; an empty text clears a field.

    \b
    Examples:
      logbook engine change RB-2 --limit-timing 34 --why 'owner asked'
      logbook engine change RB-2 --owner ''
    """
    from logbook.cases.engines import change_engine

    touched = given(typed)
    need_something(touched, band)
    with door.desk() as desk:
        changed = change_engine(desk, tag, touched, band=band, why=why)
        _say_geometry(door, changed, desk.units)
    door.done(f"Engine {changed.tag} changed.", changed)


@engine.command()
@click.argument("tag")
@click.argument("new_tag")
@pass_door
def copy(door: Door, tag: str, new_tag: str) -> None:
    """Enter a new engine with the sheet of another.

    \b
    Examples:
      logbook engine copy RB-2 RB-3
    """
    from logbook.cases.engines import copy_engine

    with door.desk() as desk:
        copied = copy_engine(desk, tag, new_tag)
    door.done(f"Engine {copied.tag} entered with the sheet of {tag}.", copied)


def _say_geometry(door: Door, found: Engine, system: str) -> None:
    """Say on stderr, with --json too, that bore and stroke do not make the displacement."""
    from logbook.cases.geometry_check import geometry_caution

    caution = geometry_caution(found, system)
    if caution is not None:
        door.words(f"Caution: {caution.text}")
