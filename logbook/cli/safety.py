"""``logbook backup`` and ``logbook verify``: keeping the book safe."""

from __future__ import annotations

from pathlib import Path

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.cli.trouble import FAILED


@click.command(cls=BookCommand)
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@pass_door
def backup(door: Door, path: Path) -> None:
    """Write a checked copy of the book, also while it is in use.

    \b
    Examples:
      logbook backup /media/stick/logbook-2026-03-14.db
    """
    from logbook.cases import safety

    with door.desk() as desk:
        written = safety.backup(desk, path)
    if door.json:
        door.put({"backup": str(written)})
    else:
        door.words(f"Backup written and checked: {written}.")


@click.command(cls=BookCommand)
@click.pass_context
def verify(ctx: click.Context) -> None:
    """Check the whole book.

    Its pages, references, search index, kept files and stored figures. Exit code 0 when it is
    whole, 1 when something was found.

    \b
    Examples:
      logbook verify
    """
    from logbook.cases import safety

    door = ctx.ensure_object(Door)
    with door.desk() as desk:
        problems = safety.verify(desk)
    if door.json:
        door.put({"whole": not problems, "problems": problems})
    else:
        for problem in problems:
            door.data(problem)
        door.words("Something was found." if problems else "The book is whole.")
    if problems:
        ctx.exit(FAILED)
