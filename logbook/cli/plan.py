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
@click.option("--budget", type=int, metavar="N", help="How many pulls may be spent.")
@click.option("--accept", is_flag=True, help="Keep the plan in the session.")
@click.option("--withdraw", is_flag=True, help="Take the accepted plan out of the session.")
@pass_door
def plan(
    door: Door,
    session: str,
    easy: tuple[str, ...],
    hard: tuple[str, ...],
    budget: int | None,
    accept: bool,
    withdraw: bool,
) -> None:
    """Propose a SESSION's plan, or see how far it is.

    FACTOR= without a level takes the factor away.

    \b
    Examples:
      logbook plan RB-2/last --try timing=32 --try timing=34 --budget 12
      logbook plan RB-2/last --try timing=32 --try-hard 'manifold=open' --budget 12 --accept
      logbook plan RB-2/last
      logbook plan RB-2/last --withdraw
    """
    from logbook.cases import plan as planning
    from logbook.cases.plan_changes import read_changes
    from logbook.cases.sessions import find_session

    with door.desk() as desk:
        found = find_session(desk, session)
        if withdraw:
            if easy or hard or accept:
                raise BadInput("--withdraw stands alone", where="Plan")
            planning.withdraw_plan(desk, found.id)
            door.done("Plan withdrawn; undo brings it back.", find_session(desk, found.id))
            return
        if easy or hard:
            if budget is None:
                raise BadInput("no number of pulls was given", where="Budget",
                               wanted="--budget N")  # fmt: skip
            changes = read_changes(easy, hard=hard)
            view = planning.propose_plan(desk, found.id, changes, budget)
            if accept:
                planning.accept_plan(desk, found.id, view)
        elif accept:
            raise BadInput("there is nothing to accept", where="Plan",
                           wanted="--try FACTOR=LEVEL and --budget N")  # fmt: skip
        else:
            kept = planning.plan_view(desk, found.id)
            if kept is None:
                raise BadInput("this session has no accepted plan", where="Plan",
                               wanted="--try FACTOR=LEVEL and --budget N")  # fmt: skip
            view = kept
        system = desk.units
    if door.json:
        from logbook.reports.judgement_json import plan_json

        door.put(plan_json(view))
    else:
        from logbook.reports.judgement_tables import plan_tables

        door.table(*plan_tables(view, system))
        for caution in view.cautions:
            door.words(f"Caution: {caution}")
        if accept:
            door.words("Plan accepted; it is checked off as pulls come in.")
