"""``logbook ledger``: what each step of a session was worth."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@click.argument("session")
@pass_door
def ledger(door: Door, session: str) -> None:
    """What each step of a SESSION was worth.

    From the baseline to the last set-up: steps sum exactly to the total. A step with more than
    one changed factor is a bundle.

    \b
    Examples:
      logbook ledger RB-2/last
      logbook ledger RB-2/2026-03-14 --json
    """
    from logbook.cases.ledger import ledger_view
    from logbook.cases.sessions import find_session

    with door.desk() as desk:
        view = ledger_view(desk, find_session(desk, session).id)
        system = desk.units
    if door.json:
        from logbook.reports.judgement_json import ledger_json

        door.put(ledger_json(view))
    else:
        from logbook.reports.judgement_tables import ledger_tables

        door.table(*ledger_tables(view, system))
