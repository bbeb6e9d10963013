"""``logbook wall``: the answer of the session under way, as large as the screen."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door


@click.command(cls=BookCommand)
@click.pass_context
def wall(ctx: click.Context) -> None:
    """The answer of the open session, screen-filling.

    Only to be looked at. It follows what is logged in another window, within a second. Ctrl+Q
    leaves it. In a browser the same is `serve --wall`.

    \b
    Examples:
      logbook wall
      logbook wall --db cell-2.db
    """
    from logbook.cli.app import open_app

    ctx.exit(open_app(ctx.ensure_object(Door), wall=True))
