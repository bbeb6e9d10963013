"""``logbook timing``: the best timing of a session, and which to pull next."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@click.argument("session")
@pass_door
def timing(door: Door, session: str) -> None:
    """The best timing of a SESSION, and which to pull next.

    From the pulls that differ in timing only. Advice never passes the engine's limit, nor 2°
    beyond a timing at which somebody checked for knock and heard none.

    \b
    Examples:
      logbook timing RB-2/last
      logbook timing RB-2/2026-03-14 --json
    """
    from logbook.cases.sessions import find_session
    from logbook.cases.timing import timing_view

    with door.desk() as desk:
        view = timing_view(desk, find_session(desk, session).id)
    if door.json:
        from logbook.reports.judgement_json import timing_json

        door.put(timing_json(view))
    else:
        from logbook.reports.judgement_tables import timing_tables

        door.table(*timing_tables(view))
        door.cautions(view.cautions)
