"""``logbook compare``: two pulls over each other."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@click.argument("left", metavar="PULL")
@click.argument("right", metavar="PULL")
@click.option("--standard", metavar="NAME", help="Correct both to this one; else the first's.")
@pass_door
def compare(door: Door, left: str, right: str, standard: str | None) -> None:
    """Two pulls over each other, with all that differs.

    The worth is the second pull less the first. A PULL is an id, the start of one,
    ENGINE/2026-03-14/7 or ENGINE/last/7.

    \b
    Examples:
      logbook compare RB-2/2025-09-02/4 RB-2/last/7
      logbook compare RB-2/last/1 RB-3/last/1 --standard sae-j1349 --json
    """
    from logbook.cases import compare as comparing

    with door.desk() as desk:
        view = comparing.compare(desk, left, right, standard=standard)
        system = desk.units
    if door.json:
        from logbook.reports.as_json import compare_json

        door.put(compare_json(view))
    else:
        from logbook.reports.sheets import compare_sheet

        door.table(*compare_sheet(view, system))
        door.cautions(view.cautions)
