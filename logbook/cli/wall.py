"""``logbook wall``: the answer of the session under way, as large as the screen."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door


@click.command(cls=BookCommand)
@click.pass_context
def wall(ctx: click.Context) -> None:
    """The answer of the session under way, as large as the screen; only to be looked at.

    It follows what is logged in another window, within a second. Ctrl+Q leaves it.

    \b
    Examples:
      logbook wall
      logbook serve --wall --host 0.0.0.0
    """
    from logbook.cli.app import open_app

    ctx.exit(open_app(ctx.ensure_object(Door), wall=True))
