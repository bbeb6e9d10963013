"""``logbook where``: which files this run would use."""

from __future__ import annotations

import platform
import sqlite3

import click

from logbook import __version__
from logbook.cli.door import BookCommand, Door, pass_door

_LABELS = {"config": "Config file", "sqlite": "SQLite"}


@click.command(cls=BookCommand)
@pass_door
def where(door: Door) -> None:
    """Which files, operator, units and versions are used.

    \b
    Examples:
      logbook where
      logbook where --json
    """
    settings = door.settings
    places = {
        "book": str(door.book_path),
        "config": str(settings.config_path),
        "demo": str(settings.demo_path),
        "drafts": str(settings.drafts_folder),
        "log": str(settings.log_path),
        "operator": settings.who,
        "units": settings.units or "the cell's",
        "logbook": __version__,
        "python": platform.python_version(),
        "sqlite": sqlite3.sqlite_version,
    }
    if door.json:
        door.put(places)
    else:
        from logbook.reports.tables import sheet

        door.table(
            sheet([(_LABELS.get(name, name.capitalize()), text) for name, text in places.items()])
        )
