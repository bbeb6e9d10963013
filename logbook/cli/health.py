"""``logbook health``: an engine over the years."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@click.argument("tag")
@pass_door
def health(door: Door, tag: str) -> None:
    """An engine over the years.

    Best power by build; power, blow-by, crankcase vacuum, oil pressure, leak-down and cranking
    compression with control limits (individuals chart), trend a year and sisters. A session
    counts as one value, the median of its pulls.

    \b
    Examples:
      logbook health RB-2
      logbook health RB-2 --json
    """
    from logbook.cases.over_years import over_years

    with door.desk() as desk:
        found = over_years(desk, tag)
        system = desk.units
    if door.json:
        from logbook.reports.years_report import years_json

        door.put(years_json(found))
    else:
        from logbook.reports.years_report import years_tables

        door.table(*years_tables(found, system))
