"""``logbook cell``: the dynamometer rooms."""

from __future__ import annotations

import click

from logbook.cases.field_lists import CELL_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, need_something, pass_door
from logbook.unit_systems import UNIT_SYSTEMS

# The cell's own unit system is `--cell-units`: `--units` is how this run prints.
_FIELDS = tuple(field for field in CELL_FIELDS if field.key != "units")
_UNITS = click.option(
    "--cell-units", type=click.Choice(UNIT_SYSTEMS), help="Units in which the cell works."
)
_STANDARD = click.option("--standard", metavar="NAME", help="Standard of its sessions.")


@click.group(cls=NounGroup)
def cell() -> None:
    """Cells: altitude, units, standard.

    \b
    Examples:
      logbook cell list
    """


@cell.command()
@click.argument("name")
@_STANDARD
@_UNITS
@field_options(_FIELDS)
@pass_door
def add(
    door: Door, name: str, standard: str | None, cell_units: str | None, **typed: str | None
) -> None:
    """Enter a cell.

    \b
    Examples:
      logbook cell add 'Cell 1' --altitude '1250 ft' --time-zone America/Denver --cell-units us
    """
    from logbook.cases.engines import add_cell

    with door.desk(create=True) as desk:
        entered = add_cell(desk, name, _sheet(typed, cell_units), standard=standard)
    door.done(f"Cell {entered.name} entered.", entered)


@cell.command("list")
@pass_door
def list_(door: Door) -> None:
    """All cells of the book.

    \b
    Examples:
      logbook cell list
    """
    from logbook.cases.engines import list_cells
    from logbook.reports.tables import cells

    with door.desk() as desk:
        known = list_cells(desk)
        system = desk.units
    door.listing(known, cells, system)


@cell.command()
@click.argument("name")
@_STANDARD
@_UNITS
@click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")
@field_options(_FIELDS)
@pass_door
def change(
    door: Door,
    name: str,
    standard: str | None,
    cell_units: str | None,
    why: str,
    **typed: str | None,
) -> None:
    """Correct a cell's sheet; an empty text clears a field.

    \b
    Examples:
      logbook cell change 'Cell 1' --altitude '380 m' --why surveyed
    """
    from logbook.cases.engines import change_cell

    touched = _sheet(typed, cell_units)
    need_something(touched, standard)
    with door.desk() as desk:
        changed = change_cell(desk, name, touched, standard=standard, why=why)
    door.done(f"Cell {changed.name} changed.", changed)


def _sheet(typed: dict[str, str | None], cell_units: str | None) -> dict[str, str]:
    return {**given(typed), **({"units": cell_units} if cell_units else {})}
