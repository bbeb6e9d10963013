"""``logbook pull``: logging pulls and correcting what was logged."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook.cases.field_lists import AIR_FIELDS, PEAK_FIELDS, READING_FIELDS
from logbook.cli.door import Door, NounGroup, field_options, given, need_something, pass_door
from logbook.cli.session import REF_HELP as SESSION_REF_HELP
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from logbook.cases.desk import Desk
    from logbook.cases.rejudged import Rejudged
    from logbook.records.caution import Caution
    from logbook.records.pull import Pull

_REF_HELP = "PULL is an id, the start of one, ENGINE/2026-03-14/7 or ENGINE/last/7."
SET = click.option("--set", "levels", multiple=True, metavar="FACTOR=LEVEL",
                    help="Set a factor of the set-up, such as timing=34; repeat.")  # fmt: skip
UNSET = click.option("--unset", multiple=True, metavar="FACTOR",
                      help="Take a factor out of the set-up; repeat.")  # fmt: skip


@click.group(cls=NounGroup)
def pull() -> None:
    """Pulls: log, show, exclude, correct.

    \b
    Examples:
      logbook pull add --engine RB-2 --trace run_0412.csv --set timing=34
      logbook pull show RB-2/last/7
    """


@pull.command()
@click.option("--engine", "tag", metavar="TAG", help="The engine.")
@click.option("--session", "ref", metavar="new|last|ID",
              help="Else the engine's open session, or a new one.")  # fmt: skip
@click.option(
    "--trace", type=click.Path(path_type=Path), metavar="FILE", help="The trace file of the pull."
)
@click.option("--part", type=click.IntRange(1), metavar="N",
              help="Which pull of a log with several; else the longest rise of speed.")  # fmt: skip
@click.option("--samples", metavar="FIRST-LAST",
              help="Take these samples of the file, counted from 1, as the pull.")  # fmt: skip
@click.option(
    "--points",
    metavar="TABLE",
    help="Steady points typed as a table, a ; after every line and the units in the first.",
)
@click.option("--torque-is", metavar="observed|STANDARD",
              help="Whether the file's torque is observed or already corrected, and to what;"
              " remembered for files of this kind.")  # fmt: skip
@click.option("--column", "columns", multiple=True, metavar="QUANTITY=COLUMN",
              help="Which column is which quantity, such as 'torque=TQ [lb-ft]';"
              " remembered for files of this kind; repeat.")  # fmt: skip
@SET
@UNSET
@click.option("--band", metavar="LO-HI", help="Of a session that this pull opens.")
@click.option("--standard", metavar="NAME", help="Of a session that this pull opens.")
@click.option("--time", "at", metavar="TIME", help="When, such as 2026-03-01T14:05Z; else now.")
@click.option("--sea-level", is_flag=True, help="The pressure was reduced to sea level.")
@field_options((*AIR_FIELDS, *PEAK_FIELDS, *READING_FIELDS))
@pass_door
def add(
    door: Door,
    tag: str | None,
    ref: str | None,
    trace: Path | None,
    part: int | None,
    samples: str | None,
    points: str | None,
    torque_is: str | None,
    columns: tuple[str, ...],
    levels: tuple[str, ...],
    unset: tuple[str, ...],
    band: str | None,
    standard: str | None,
    at: str | None,
    sea_level: bool,
    **typed: str | None,
) -> None:
    """Log a pull from a trace file, a typed table or typed peaks.

    What is not given is carried forward from the session's last pull. A file that was logged
    before is recognized and refused; other parts of the same log may be logged.

    \b
    Examples:
      logbook pull add --engine RB-2 --trace run_0412.csv --set timing=34 --knock none
      logbook pull add --engine RB-2 --session new --trace a.csv --band 4500-6500 \\
          --pressure '29.42 inHg' --temperature '78 F' --rh 41
      logbook pull add --engine RB-2 --peak-torque '398 lb-ft' --at 4600 --peak-power '412 hp' \\
          --power-at 6100
      logbook pull add --engine RB-2 --points 'speed rpm, torque lb-ft; 3000, 310; 3500, 322'
    """
    from logbook.cases.entry import PullEntry
    from logbook.cases.kinds import read_columns
    from logbook.cases.pulls import add_pull

    entry = PullEntry(
        session_id=None if ref == "new" else ref,
        engine_tag=tag,
        new_session=ref == "new",
        band=band,
        standard=standard,
        set_up=set_up_of(levels, unset),
        fields=given(typed),
        trace=trace,
        part=part,
        samples=samples,
        steady_points=None if points is None else "\n".join(points.split(";")),
        torque_state=torque_is,
        columns=read_columns(columns),
        at=at,
        sea_level=sea_level,
    )
    with door.desk() as desk:
        logged = add_pull(desk, entry)
        _show(door, desk, logged.pull_id, logged.cautions)


def set_up_of(levels: Iterable[str], unset: Iterable[str]) -> dict[str, str | None]:
    """``FACTOR=LEVEL`` texts and names to take away → touched factors."""
    touched: dict[str, str | None] = {}
    for text in levels:
        factor, equals, level = text.partition("=")
        if not (factor.strip() and equals and level.strip()):
            raise BadInput(
                f"{text[:60]!r} is not FACTOR=LEVEL",
                where="--set",
                wanted="such as --set timing=34; --unset takes a factor away",
            )
        touched[factor.strip()] = level.strip()
    return {**touched, **dict.fromkeys(unset)}


def _show(
    door: Door,
    desk: Desk,
    ref: str,
    cautions: Iterable[Caution] = (),
    rejudged: Sequence[Rejudged] | None = None,
) -> None:
    from logbook.cases.judge import pull_story

    story = pull_story(desk, ref)
    if door.json:
        from logbook.reports.as_json import pull_json

        door.put(door.with_rejudged(pull_json(story, cautions=cautions), rejudged))
    else:
        from logbook.reports.sheets import pull_sheet

        door.table(*pull_sheet(story, desk.units))
        door.cautions((*story.row.cautions, *cautions))


@pull.command()
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@pass_door
def parts(door: Door, file: Path) -> None:
    """The pulls that a log holds, with their samples, speeds and peaks.

    A pull is a rise of speed under load; `pull add --part 2` takes the second. Nothing is logged.
    Peaks are as in the file.

    \b
    Examples:
      logbook pull parts evening.csv
      logbook pull parts evening.csv --json
    """
    from logbook.cases.parts import parts_of

    with door.desk() as desk:
        found = parts_of(desk, file)
        if door.json:
            from logbook.reports.as_json import record_json

            for part in found.parts:
                door.put(record_json(part))
        else:
            from logbook.reports.parts_table import parts_table

            door.table(parts_table(found.parts, desk.units))
            door.cautions(found.cautions)


@pull.command(epilog=_REF_HELP)
@click.argument("ref", metavar="PULL")
@pass_door
def show(door: Door, ref: str) -> None:
    """One pull: set-up, air, figures, what it was worth.

    \b
    Examples:
      logbook pull show RB-2/2026-03-14/7
      logbook pull show RB-2/last/7 --json
    """
    with door.desk() as desk:
        _show(door, desk, ref)


@pull.command("list", epilog=SESSION_REF_HELP)
@click.argument("ref", metavar="SESSION")
@pass_door
def list_(door: Door, ref: str) -> None:
    """The pulls of a session, newest first.

    \b
    Examples:
      logbook pull list RB-2/last
      logbook pull list RB-2/last --json
    """
    from logbook.cases.judge import pull_story, session_view
    from logbook.cases.sessions import find_session

    with door.desk() as desk:
        view = session_view(desk, find_session(desk, ref).id)
        if door.json:
            from logbook.reports.as_json import pull_json

            for row in view.rows:
                door.put(pull_json(pull_story(desk, row.pull.id)))
        else:
            from logbook.reports.sheets import pulls_table

            door.table(pulls_table(view.rows, desk.units, view.cell.time_zone))


@pull.command(epilog=_REF_HELP)
@click.argument("ref", metavar="PULL")
@click.option("--reason", required=True, metavar="TEXT", help="Why it must not count.")
@pass_door
def exclude(door: Door, ref: str, reason: str) -> None:
    """Leave a pull out of the judgement; it stays visible.

    \b
    Examples:
      logbook pull exclude RB-2/last/4 --reason 'oil cold'
    """
    from logbook.cases import pulls

    with door.desk() as desk:
        found = pulls.find_pull(desk, ref)
        _finish(
            door, desk, found, f"Pull {found.number} is excluded.",
            lambda: pulls.exclude(desk, found.id, reason),
        )  # fmt: skip


@pull.command(epilog=_REF_HELP)
@click.argument("ref", metavar="PULL")
@pass_door
def include(door: Door, ref: str) -> None:
    """Let an excluded pull count again.

    \b
    Examples:
      logbook pull include RB-2/last/4
    """
    from logbook.cases import pulls

    with door.desk() as desk:
        found = pulls.find_pull(desk, ref)
        _finish(
            door, desk, found, f"Pull {found.number} counts again.",
            lambda: pulls.include(desk, found.id),
        )  # fmt: skip


@pull.command(epilog=_REF_HELP)
@click.argument("ref", metavar="PULL")
@click.option("--why", required=True, metavar="TEXT", help="The reason, for the audit trail.")
@click.option("--samples", metavar="FIRST-LAST",
              help="Move the edges of the trace to these samples of its file, from 1.")  # fmt: skip
@SET
@UNSET
@field_options((*PEAK_FIELDS, *READING_FIELDS))
@pass_door
def change(
    door: Door,
    ref: str,
    why: str,
    samples: str | None,
    levels: tuple[str, ...],
    unset: tuple[str, ...],
    **typed: str | None,
) -> None:
    """Correct a finished pull; the old values stay in the audit trail.

    \b
    Examples:
      logbook pull change RB-2/last/7 --set 'main jets=84' --why 'wrong jets written down'
      logbook pull change RB-2/last/7 --knock heard --why 'heard on the recording'
      logbook pull change RB-2/last/7 --samples 640-1180 --why 'throttle was lifted at the end'
    """
    from logbook.cases import pulls

    touched, set_up = given(typed), set_up_of(levels, unset)
    need_something(touched, set_up, samples)
    with door.desk() as desk:
        found = pulls.find_pull(desk, ref)
        _finish(
            door, desk, found, f"Pull {found.number} corrected.",
            lambda: pulls.change_pull(
                desk, found.id, touched, set_up=set_up, samples=samples, why=why
            ),
        )  # fmt: skip


def _finish(door: Door, desk: Desk, pull: Pull, sentence: str, act: Callable[[], object]) -> None:
    """Change a pull; then the pull as JSON or a sentence, and what is judged otherwise now."""
    from logbook.cases.rejudged import and_what_changed

    _, rejudged = and_what_changed(desk, pull.session_id, act)
    if door.json:
        _show(door, desk, pull.id, rejudged=rejudged)
    else:
        door.words(sentence)
        door.say_rejudged(rejudged)
