"""``logbook fuel``: the batches of fuel on file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from logbook.cases.field_lists import FUEL_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, pass_door
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.fuel_compare import FuelSheet


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


_AT = click.option("--at", metavar="Q", help="Temperature of the densities; 20 °C when not given.")


@fuel.command("show")
@click.argument("name")
@_AT
@pass_door
def show_(door: Door, name: str, at: str | None) -> None:
    """Ratio, heating value, density of a fuel.

    The data sheet goes before the composition; each figure says where it came from.

    \b
    Examples:
      logbook fuel show 'Tango 7'
      logbook fuel show Tango --at '35 C' --json
    """
    from logbook.cases.fuel_compare import fuel_sheet

    with door.desk() as desk:
        found = fuel_sheet(desk, name, _temperature(at))
        _print_fuel(door, found, desk.units)


@fuel.command()
@click.argument("old")
@click.argument("new")
@_AT
@click.option("--jet", metavar="Q", help="A jet of the old fuel, such as '1.35 mm' or '0.062 in'.")
@pass_door
def compare(door: Door, old: str, new: str, at: str | None, jet: str | None) -> None:
    """What the NEW fuel asks of the jets after the OLD.

    And what it gives: energy, oxygen, fuel flow.

    Jets are a starting point (common practice, no source), for the same lambda in the same air.

    \b
    Examples:
      logbook fuel compare Tango Methanol
      logbook fuel compare Tango Methanol --jet '1.35 mm' --at '30 C' --json
    """
    from logbook.cases.fuel_compare import compare_fuels
    from logbook.quantities import parse

    size = None if jet is None else parse(jet, "length", field="Jet").value
    with door.desk() as desk:
        view = compare_fuels(desk, old, new, temperature_c=_temperature(at), jet_mm=size)
        system = desk.units
    door.cautions(view.change.cautions)
    if door.json:
        from logbook.reports.fuel_report import fuel_compare_json

        door.put(fuel_compare_json(view))
    else:
        from logbook.reports.fuel_report import fuel_compare_tables

        door.table(*fuel_compare_tables(view, system))


@fuel.command()
@click.argument("parts", nargs=-1, required=True, metavar="FUEL=SHARE …")
@click.option("--by-volume", is_flag=True, help="The shares are by volume; by mass otherwise.")
@_AT
@pass_door
def blend(door: Door, parts: tuple[str, ...], by_volume: bool, at: str | None) -> None:
    """What a blend of fuels on file is.

    \b
    Examples:
      logbook fuel blend Tango=90 Ethanol=10
      logbook fuel blend Tango=9 Ethanol=1 --by-volume --json
    """
    from logbook.cases.fuel_compare import blend_fuels

    shares = [_share(part) for part in parts]
    with door.desk() as desk:
        found = blend_fuels(desk, shares, by_volume=by_volume, temperature_c=_temperature(at))
        _print_fuel(door, found, desk.units)


def _print_fuel(door: Door, found: FuelSheet, system: str) -> None:
    from logbook.reports.fuel_report import fuel_json, fuel_table

    if door.json:
        door.put(fuel_json(found))
    else:
        door.table(fuel_table(found, system))


def _temperature(at: str | None) -> float | None:
    from logbook.quantities import parse

    return None if at is None else parse(at, "temperature", field="Temperature").value


def _share(part: str) -> tuple[str, float]:
    """``Tango=90`` → ("Tango", 90.0)."""
    name, separator, number = part.rpartition("=")
    try:
        share = float(number.removesuffix("%"))
    except ValueError:
        share = -1.0
    if not separator or not name.strip() or not 0 <= share < float("inf"):
        raise BadInput(f"{part[:60]!r} is no share", where="Blend", wanted="such as Tango=90")
    return name.strip(), share
