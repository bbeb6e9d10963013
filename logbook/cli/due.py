"""``logbook due``: marks that the shop sets on engines and builds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from logbook.cases.field_lists import DUE_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, need_something, pass_door

if TYPE_CHECKING:
    from logbook.cases.due import DueState

_WHY = click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")
_SINCE = click.option("--since", default="", metavar="TIME", help="Counted from; else from now.")
_ID = click.argument("mark_id", metavar="ID")


@click.group(cls=NounGroup)
def due() -> None:
    """Due marks: oil, springs, a build.

    \b
    Examples:
      logbook due add RB-2 oil --pulls 25
      logbook due list
    """


@due.command()
@click.argument("tag")
@click.argument("what")
@click.option("--build", metavar="LABEL", help="Count this build's pulls only.")
@_SINCE
@field_options(DUE_FIELDS)
@pass_door
def add(
    door: Door, tag: str, what: str, build: str | None, since: str, **typed: str | None
) -> None:
    """Set a mark; whichever limit comes first makes it due.

    \b
    Examples:
      logbook due add RB-2 'valve springs' --build 'build 4' --pulls 60 --days 365
      logbook due add RB-2 oil --minutes '90 min' --since 2026-03-01T08:00Z
    """
    from logbook.cases.due import add_due

    with door.desk() as desk:
        state = add_due(desk, tag, what, given(typed), build=build, since=since)
    _told(door, state, "set")


@due.command("list")
@click.argument("tag", required=False)
@click.option("--only-due", is_flag=True, help="Only those that are due.")
@pass_door
def list_(door: Door, tag: str | None, only_due: bool) -> None:
    """The marks of an engine, or of all, the most used up first.

    \b
    Examples:
      logbook due list
      logbook due list RB-2 --only-due --json
    """
    from logbook.cases.due import list_due

    with door.desk() as desk:
        found = [state for state in list_due(desk, tag) if state.is_due or not only_due]
    if door.json:
        from logbook.reports.filed_json import due_json

        for state in found:
            door.put(due_json(state))
    else:
        from logbook.reports.filed import due_marks

        door.table(due_marks(found, door.zone))


@due.command()
@_ID
@_WHY
@field_options(DUE_FIELDS)
@pass_door
def change(door: Door, mark_id: str, why: str, **typed: str | None) -> None:
    """Set other limits or another note.

    An empty text takes a limit away.

    \b
    Examples:
      logbook due change 01a2 --pulls 30
    """
    from logbook.cases.due import change_due

    touched = given(typed)
    need_something(touched)
    with door.desk() as desk:
        state = change_due(desk, mark_id, touched, why=why)
    _told(door, state, "changed")


@due.command()
@_ID
@_SINCE
@_WHY
@pass_door
def done(door: Door, mark_id: str, since: str, why: str) -> None:
    """It was done: count anew.

    \b
    Examples:
      logbook due done 01a2 --why 'oil changed'
    """
    from logbook.cases.due import done_due

    with door.desk() as desk:
        state = done_due(desk, mark_id, since=since, why=why)
    _told(door, state, "done")


@due.command()
@_ID
@_WHY
@pass_door
def drop(door: Door, mark_id: str, why: str) -> None:
    """Take a mark away.

    \b
    Examples:
      logbook due drop 01a2
    """
    from logbook.cases.due import drop_due

    with door.desk() as desk:
        state = drop_due(desk, mark_id, why=why)
    _told(door, state, "taken away")


def _told(door: Door, state: DueState, what: str) -> None:
    if door.json:
        from logbook.reports.filed_json import due_json

        door.put(due_json(state))
    else:
        from logbook.reports.filed import used_words

        door.words(f"{state.mark.what} of {state.engine.tag} {what}: {used_words(state)}.")
