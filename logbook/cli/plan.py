"""``logbook plan``: which pulls to make with a budget, and how far they have come."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.refusals import BadInput


@click.command(cls=BookCommand)
@click.argument("session")
@click.option(
    "--try",
    "easy",
    multiple=True,
    metavar="FACTOR=LEVEL",
    help="A change to try; several factors with commas are one change.",
)
@click.option(
    "--try-hard",
    "hard",
    multiple=True,
    metavar="FACTOR=LEVEL",
    help="A change that is hard to make: made once.",
)
@click.option("--budget", type=int, metavar="N", help="How many pulls there are.")
@click.option("--accept", is_flag=True, help="Keep the plan in the session.")
@pass_door
def plan(
    door: Door,
    session: str,
    easy: tuple[str, ...],
    hard: tuple[str, ...],
    budget: int | None,
    accept: bool,
) -> None:
    """Propose a SESSION's plan, or see how far it is.

    \b
    Examples:
      logbook plan RB-2/last --try timing=32 --try timing=34 --budget 12
      logbook plan RB-2/last --try timing=32 --try-hard 'manifold=open' --budget 12 --accept
      logbook plan RB-2/last
    """
    from logbook.cases import plan as planning
    from logbook.cases.sessions import find_session

    with door.desk() as desk:
        session_id = find_session(desk, session).id
        if easy or hard:
            if budget is None:
                raise BadInput("no number of pulls was given", where="Budget",
                               wanted="--budget N")  # fmt: skip
            changes = planning.read_changes(easy, hard=hard)
            view = planning.propose_plan(desk, session_id, changes, budget)
            if accept:
                planning.accept_plan(desk, session_id, view, changes)
        else:
            kept = planning.plan_view(desk, session_id)
            if kept is None:
                raise BadInput("this session has no accepted plan", where="Plan",
                               wanted="--try FACTOR=LEVEL and --budget N")  # fmt: skip
            view = kept
    if door.json:
        from logbook.reports.judgement_json import plan_json

        door.put(plan_json(view))
    else:
        from logbook.reports.judgement_tables import plan_tables

        door.table(*plan_tables(view))
