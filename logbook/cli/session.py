"""``logbook session``: visits to the cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from logbook.cli.door import Door, NounGroup, need_something, pass_door
from logbook.records.session import POWER_SOURCES

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.session import Session

_WORDS = {
    "purpose": "What the session is for.",
    "operator": "Who runs it.",
    "accessories": "Accessories driven.",
    "exhaust": "Exhaust system: muffler, back pressure, cell extraction.",
    "oil": "Oil grade and batch.",
    "notes": "Notes.",
}
REF_HELP = "SESSION is an id, the start of one, last, ENGINE/last or ENGINE/2026-03-14."


def _settings(function: click.decorators.FC) -> click.decorators.FC:
    """The options that `open` and `change` share."""
    options = (
        click.option("--standard", metavar="NAME", help="Correction standard, such as sae-j1349."),
        click.option("--band", metavar="LO-HI", help="The speeds that count, such as 4500-6500."),
        click.option(
            "--power-source", type=click.Choice(POWER_SOURCES), help="What power is taken from."
        ),
        click.option("--worth-having", type=float, metavar="N", help="Smallest change, percent."),
        click.option("--pull-budget", type=int, metavar="N", help="Pulls planned."),
        *(click.option(f"--{name}", metavar="TEXT", help=text) for name, text in _WORDS.items()),
    )
    for option in reversed(options):  # the help lists the one put on last first
        function = option(function)
    return function


@click.group(cls=NounGroup)
def session() -> None:
    """Sessions: one visit to the cell with one engine.

    \b
    Examples:
      logbook session list --engine RB-2
      logbook session show RB-2/last
    """


@session.command("open")
@click.argument("tag")
@click.option("--build", metavar="LABEL", help="The build; the engine's newest when not given.")
@click.option("--cell", metavar="NAME", help="The cell; the engine's last when not given.")
@_settings
@click.option("--baseline", multiple=True, metavar="PULL", help="Pull to measure from; repeat.")
@click.option(
    "--safety-checked",
    multiple=True,
    metavar="ITEM|all",
    help="Item of the safety list that was checked; repeat. `logbook session safety` lists them.",
)
@click.option("--time", "at", metavar="TIME", help="When, such as 2026-03-01T14:05Z.")
@pass_door
def open_(
    door: Door,
    tag: str,
    build: str | None,
    cell: str | None,
    baseline: tuple[str, ...],
    safety_checked: tuple[str, ...],
    at: str | None,
    standard: str | None,
    band: str | None,
    power_source: str | None,
    worth_having: float | None,
    pull_budget: int | None,
    **words: str | None,
) -> None:
    """Open a session of an engine; prints its id.

    \b
    Examples:
      logbook session open RB-2 --purpose 'spacer test' --safety-checked all
      logbook session open RB-2 --build 'build 4' --standard sae-j607 --band 4500-6500
    """
    from logbook.cases.pulls import find_pull
    from logbook.cases.sessions import SAFETY_LIST, open_session

    checked = tuple(key for key, _ in SAFETY_LIST) if "all" in safety_checked else safety_checked
    with door.desk() as desk:
        opened = open_session(
            desk,
            tag,
            build=build,
            cell=cell,
            standard=standard,
            band=band,
            safety_checked=checked,
            baseline=tuple(find_pull(desk, ref).id for ref in baseline),
            power_source=power_source or POWER_SOURCES[0],
            worth_having=worth_having,
            pull_budget=pull_budget,
            at=at,
            **{name: text for name, text in words.items() if text is not None},
        )
    if not door.json:
        door.data(opened.id)
    unchecked = [sentence for key, sentence in SAFETY_LIST if key not in opened.safety_checked]
    left = f" Not checked: {'; '.join(unchecked)}." if unchecked else ""
    door.done(f"Session of {tag} opened.{left}", opened)


@session.command()
@pass_door
def safety(door: Door) -> None:
    """The safety list that is gone through when a session opens.

    \b
    Examples:
      logbook session safety
    """
    from logbook.cases.sessions import SAFETY_LIST, SAFETY_PREFACE

    if door.json:
        door.put({"preface": SAFETY_PREFACE, "list": dict(SAFETY_LIST)})
    else:
        from logbook.reports.tables import heading, sheet

        door.table(heading(SAFETY_PREFACE), sheet(SAFETY_LIST))


@session.command("list")
@click.option("--engine", "tag", metavar="TAG", help="Only of this engine.")
@click.option("--limit", type=click.IntRange(1), default=200, show_default=True, metavar="N",
              help="At most so many.")  # fmt: skip
@pass_door
def list_(door: Door, tag: str | None, limit: int) -> None:
    """Sessions, newest first.

    \b
    Examples:
      logbook session list
      logbook session list --engine RB-2 --json
    """
    from logbook.cases.sessions import list_sessions
    from logbook.reports.tables import sessions

    with door.desk() as desk:
        rows = list_sessions(desk, tag, limit=limit)
        system = desk.units
    door.listing(rows, sessions, system, door.zone)
    if len(rows) == limit:
        door.words(f"The first {limit}; --limit shows more.")


@session.command(epilog=REF_HELP)
@click.argument("ref", metavar="SESSION")
@pass_door
def show(door: Door, ref: str) -> None:
    """One session with its pulls and verdicts.

    \b
    Examples:
      logbook session show RB-2/last
      logbook session show RB-2/2026-03-14 --json
    """
    from logbook.cases.judge import session_view
    from logbook.cases.sessions import find_session

    with door.desk() as desk:
        view = session_view(desk, find_session(desk, ref).id)
        system = desk.units
    if door.json:
        from logbook.reports.as_json import session_json

        door.put(session_json(view))
    else:
        from logbook.reports.sheets import session_sheet

        door.table(*session_sheet(view, system))
        door.cautions(view.cautions)


@session.command(epilog=REF_HELP)
@click.argument("ref", metavar="SESSION")
@pass_door
def close(door: Door, ref: str) -> None:
    """Close it: verdicts become final, the book is saved.

    Makes a backup. Prints the verdicts; says whether the baseline is returned and what stays open.

    \b
    Examples:
      logbook session close RB-2/last
    """
    from logbook.cases.closing import closing
    from logbook.cases.sessions import close_session, find_session
    from logbook.reports.closing_words import (
        baseline_words,
        closing_json,
        ending_lines,
        open_words,
    )

    with door.desk() as desk:
        session_id = find_session(desk, ref).id
        found, closed = closing(desk, session_id), close_session(desk, session_id)
    if door.json:
        from logbook.reports.as_json import closed_json

        door.put({**closed_json(closed), **closing_json(found)})
        return
    for _, words in ending_lines(found, door.system):
        door.data(words)
    door.cautions(closed.cautions)
    door.words(f"Session closed. Backup: {closed.backup}." if closed.backup else "Session closed.")
    door.words(f"{baseline_words(found)} {open_words(found)}")


@session.command(epilog=REF_HELP)
@click.argument("ref", metavar="SESSION")
@pass_door
def reopen(door: Door, ref: str) -> None:
    """Open a closed session again.

    \b
    Examples:
      logbook session reopen RB-2/last
    """
    from logbook.cases.sessions import find_session, reopen_session

    with door.desk() as desk:
        opened = reopen_session(desk, find_session(desk, ref).id)
    door.done("Session open again.", opened)


@session.command(epilog=REF_HELP)
@click.argument("ref", metavar="SESSION")
@click.argument("pulls", nargs=-1, metavar="[PULL]...")
@click.option("--first-set-up", is_flag=True, help="Measure from the session's first set-up again.")
@pass_door
def baseline(door: Door, ref: str, pulls: tuple[str, ...], first_set_up: bool) -> None:
    """Choose the pulls everything is measured from, by number or id.

    \b
    Examples:
      logbook session baseline RB-2/last 1 2 3
      logbook session baseline RB-2/last --first-set-up
    """
    from logbook.cases.rejudged import and_what_changed
    from logbook.cases.sessions import find_session, set_baseline

    need_something(pulls, first_set_up)
    with door.desk() as desk:
        found = find_session(desk, ref)
        chosen = tuple(_pull_id(desk, found, pull) for pull in pulls)
        _, rejudged = and_what_changed(desk, found.id, lambda: set_baseline(desk, found.id, chosen))
        changed = find_session(desk, found.id)
    door.done("Baseline changed.", changed, rejudged=rejudged)


def _pull_id(desk: Desk, found: Session, ref: str) -> str:
    """A pull by its number in the session, or by any other name of a pull."""
    from logbook.cases.pulls import find_pull

    return find_pull(desk, f"{found.id}/{ref}" if ref.isdecimal() else ref).id


@session.command(epilog=REF_HELP)
@click.argument("ref", metavar="SESSION")
@_settings
@click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")
@pass_door
def change(
    door: Door,
    ref: str,
    why: str,
    standard: str | None,
    band: str | None,
    power_source: str | None,
    worth_having: float | None,
    pull_budget: int | None,
    **words: str | None,
) -> None:
    """Change its standard, band, purpose and the like.

    Every figure follows.

    \b
    Examples:
      logbook session change RB-2/last --standard iso-1585 --why 'as the rules say'
    """
    from logbook.cases.rejudged import and_what_changed
    from logbook.cases.sessions import change_session, find_session

    stated = {name: text for name, text in words.items() if text is not None}
    need_something(
        stated, standard, band, power_source, worth_having is not None, pull_budget is not None
    )
    with door.desk() as desk:
        session_id = find_session(desk, ref).id
        changed, rejudged = and_what_changed(
            desk,
            session_id,
            lambda: change_session(
                desk,
                session_id,
                why=why,
                standard=standard,
                band=band,
                power_source=power_source,
                worth_having=worth_having,
                pull_budget=pull_budget,
                **stated,
            ),
        )
    judges = any((standard, band, power_source, worth_having is not None))
    door.done("Session changed.", changed, rejudged=rejudged if judges else None)
