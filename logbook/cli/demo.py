"""``logbook demo``: an invented workshop's book to look around in."""

from __future__ import annotations

from pathlib import Path

import click

from logbook.cli.demo_book import build_demo
from logbook.cli.door import BookCommand, Door
from logbook.refusals import Conflict


@click.command(cls=BookCommand)
@click.option("--path", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="Build it here; else in a folder of its own.")  # fmt: skip
@click.option("--no-open", is_flag=True, help="Only build it.")
@click.option("--anew", is_flag=True, help="Throw the earlier demo away and build it anew.")
@click.pass_context
def demo(ctx: click.Context, path: Path | None, no_open: bool, anew: bool) -> None:
    """Build the demo logbook and open it.

    It is deterministic and lies apart from your own book. A demo that is there already is
    opened as it was left.

    \b
    Examples:
      logbook demo
      logbook demo --path demo.db --no-open
    """
    door = ctx.ensure_object(Door)
    place = path or door.settings.demo_path
    if path is not None and path.exists():
        raise Conflict("there is already a file of this name", where=str(path),
                       wanted="another --path")  # fmt: skip
    if anew or not place.exists():
        door.words("Building the demo logbook …")
        build_demo(place)
        door.words(f"Demo logbook built: {place}")
    if door.json:
        door.put({"path": str(place)})
    if not no_open:
        from logbook.cli.app import open_app

        door.db = place
        ctx.exit(open_app(door))
