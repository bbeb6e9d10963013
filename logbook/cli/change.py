"""``logbook undo``, ``redo`` and ``history``: the audit trail at work."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@pass_door
def undo(door: Door) -> None:
    """Take the last change back; the audit trail keeps both.

    \b
    Examples:
      logbook undo
    """
    from logbook.cases.change import undo_last

    with door.desk() as desk:
        undone = undo_last(desk)
    door.done(undone.sentence, undone, rejudged=undone.rejudged)


@click.command(cls=BookCommand)
@pass_door
def redo(door: Door) -> None:
    """Bring back what was taken back last.

    \b
    Examples:
      logbook redo
    """
    from logbook.cases.change import redo_last

    with door.desk() as desk:
        redone = redo_last(desk)
    door.done(redone.sentence, redone, rejudged=redone.rejudged)


@click.command(cls=BookCommand)
@click.option("--limit", type=click.IntRange(1), default=50, show_default=True, metavar="N",
              help="At most so many.")  # fmt: skip
@pass_door
def history(door: Door, limit: int) -> None:
    """The last changes, newest first: who, when, what, why.

    \b
    Examples:
      logbook history --limit 10
    """
    from logbook.cases import change
    from logbook.reports.tables import change_groups

    with door.desk() as desk:
        groups = change.history(desk, limit)
    door.listing(groups, change_groups, door.zone)
