"""``logbook fuel``: the batches of fuel on file."""

from __future__ import annotations

import click

from logbook.cases.field_lists import FUEL_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, pass_door


@click.group(cls=NounGroup)
def fuel() -> None:
    """Fuels, batch by batch.

    \b
    Examples:
      logbook fuel list
      logbook fuel add Tango --batch 7
    """


@fuel.command()
@click.argument("name")
@field_options(FUEL_FIELDS)
@pass_door
def add(door: Door, name: str, **typed: str | None) -> None:
    """Enter a batch of fuel.

    \b
    Examples:
      logbook fuel add Tango --batch 7 --density '0.742 kg/L' --stoichiometric-ratio 13.9
    """
    from logbook.cases.engines import add_fuel, fuel_label

    with door.desk(create=True) as desk:
        entered = add_fuel(desk, name, given(typed))
    door.done(f"Fuel {fuel_label(entered)} entered.", entered)


@fuel.command("list")
@pass_door
def list_(door: Door) -> None:
    """The fuels on file, newest first.

    \b
    Examples:
      logbook fuel list
    """
    from logbook.cases.engines import list_fuels
    from logbook.reports.tables import fuels

    with door.desk() as desk:
        on_file = list_fuels(desk)
        system = desk.units
    door.listing(on_file, fuels, system)
