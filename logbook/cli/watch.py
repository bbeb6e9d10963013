"""``logbook watch``: files that land in a folder wait for acceptance in the app."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook.cli.door import BookCommand, Door, pass_door

if TYPE_CHECKING:
    from collections.abc import Iterable

    from logbook.cases.landing import LandingEvent

LOOK_EVERY_S = 0.5
ONCE_S = 10.0  # a file that is still growing then is left for another time


@click.command(cls=BookCommand)
@click.argument("folder", type=click.Path(path_type=Path), metavar="FOLDER")
@click.option("--once", is_flag=True, help="Take what lies there now, and end.")
@pass_door
def watch(door: Door, folder: Path, once: bool) -> None:
    """Files that land in a folder wait to become pulls.

    One key accepts them in the app. A file has landed when it has stopped growing. What waits
    is kept in the logbook, so that no file is taken twice and none is lost when the next run is
    written over it. The folder is looked at twice a second; one on a network may come and go.
    Ctrl-C ends it.

    \b
    Examples:
      logbook watch /mnt/cell-1/runs
      logbook watch /mnt/cell-1/runs --json
      logbook watch /mnt/cell-1/runs --once
    """
    from logbook.cases.landing import FolderWatch, take_in

    with door.desk(create=True) as desk:
        watching = FolderWatch(folder)
        looked = watching.look(desk)
        if not once:
            door.words(f"Watching {watching.folder}. Ctrl-C ends it.")
        ends = time.monotonic() + ONCE_S
        while True:
            if looked.anything:
                _tell(door, take_in(desk, looked))
            if once and not (watching.pending and time.monotonic() < ends):
                return _left(door, watching.pending)
            time.sleep(LOOK_EVERY_S)
            looked = watching.look(desk)


def _left(door: Door, pending: int) -> None:
    if pending:
        files = "1 file is" if pending == 1 else f"{pending} files are"
        door.words(f"Caution: {files} still growing, empty or locked, and not taken.")


def _tell(door: Door, events: Iterable[LandingEvent]) -> None:
    for event in events:
        if door.json:
            from logbook.reports.landing_json import landing_json

            door.put(landing_json(event))
        else:
            door.data(event.text)
