"""``logbook air``: what a reading of the air means."""

from __future__ import annotations

import click

from logbook.cases.field_lists import AIR_FIELDS
from logbook.cli.door import BookCommand, Door, field_options, given, pass_door


@click.command(cls=BookCommand)
@field_options(AIR_FIELDS)
@click.option("--altitude", metavar="Q", help="Altitude, to judge whether the pressure fits it.")
@click.option("--sea-level", is_flag=True, help="The pressure was reduced to sea level.")
@pass_door
def air(door: Door, altitude: str | None, sea_level: bool, **typed: str | None) -> None:
    """Density, density altitude and every standard's factor.

    Give the pressure, the temperature and one humidity, each with its unit.

    \b
    Examples:
      logbook air --pressure '29.50 inHg' --temperature '85 degF' --rh 60
      logbook air --pressure '999 mbar' --temperature 24C --dew-point 12C --json
      logbook air --pressure '29.92 inHg' --temperature 72F --wet-bulb 61F --altitude '5280 ft'
    """
    from logbook.cases.air import air_from_typed

    report = air_from_typed(given(typed), units=None, altitude=altitude, sea_level=sea_level)
    door.cautions(report.cautions)
    if door.json:
        from logbook.reports.as_json import air_json

        door.put(air_json(report))
    else:
        from logbook.reports.sheets import air_sheet

        door.table(*air_sheet(report, door.units or door.settings.units or "us"))
