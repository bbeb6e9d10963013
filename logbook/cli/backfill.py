"""``logbook backfill``: old files and old paper records, many in one go."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.cli.pull import SET, UNSET, set_up_of

if TYPE_CHECKING:
    from logbook.cases.past import Item, Outcome

REFUSED_ALL = 2


@click.command(cls=BookCommand)
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="PATH…")
@click.option("--engine", "tag", metavar="TAG",
              help="The engine; a sheet may have a column of it instead.")  # fmt: skip
@click.option("--sheet", is_flag=True,
              help="The files are spreadsheets saved as CSV, one past pull a row.")  # fmt: skip
@click.option("--dates", "order", type=click.Choice(("mdy", "dmy")),
              help="How a sheet writes dates such as 5/4/2019.")  # fmt: skip
@click.option("--dry-run", is_flag=True, help="Say what would be taken, and write nothing.")
@click.option("--torque-is", metavar="observed|STANDARD",
              help="Whether torque is observed or already corrected, and to what.")  # fmt: skip
@click.option("--column", "columns", multiple=True, metavar="QUANTITY=COLUMN",
              help="Which column is which, such as 'torque=TQ [lb-ft]'; repeat.")  # fmt: skip
@SET
@UNSET
@click.option("--band", metavar="LO-HI", help="Of the sessions that are opened.")
@click.option("--standard", metavar="NAME", help="Of the sessions that are opened.")
@pass_door
def backfill(
    door: Door,
    paths: tuple[Path, ...],
    tag: str | None,
    sheet: bool,
    order: str | None,
    dry_run: bool,
    torque_is: str | None,
    columns: tuple[str, ...],
    levels: tuple[str, ...],
    unset: tuple[str, ...],
    band: str | None,
    standard: str | None,
) -> None:
    """Old files or a sheet of old pulls, in one go.

    Each file is a pull of the day it was last written, each row of a sheet one of its date; a
    day of an engine is one closed session. Nothing is carried forward. Folders are taken with
    all below. What cannot be taken is said with its reason, and the rest goes on; begun again,
    it leaves alone what was taken before.

    A sheet needs the column date; time, engine, peak power, power at, peak torque, at, pressure,
    temperature, rh and the other readings are known by the names of their options, with units as
    in "Peak power [hp]". Any other column is a factor of the set-up.

    Exit code 2: every one was refused.

    \b
    Examples:
      logbook backfill ~/old-runs --engine RB-2 --torque-is observed
      logbook backfill ~/old-runs --engine RB-2 --dry-run --json
      logbook backfill paper-2009.csv --sheet --engine RB-2 --dry-run
    """
    from logbook.cases.backfill import PastFile, files_in
    from logbook.cases.kinds import read_columns
    from logbook.cases.past import REFUSED, Terms, take_all
    from logbook.cases.past_sheet import rows_of

    terms = Terms(tag, band, standard, set_up_of(levels, unset), torque_is, read_columns(columns))
    items: list[Item] = []
    if sheet:
        for path in paths:
            items += rows_of(path, terms, order=order)
    else:
        items += [PastFile(path, terms) for path in files_in(paths)]
    counted: Counter[str] = Counter()
    with door.desk() as desk:
        for outcome in _shown(take_all(desk, items, dry_run=dry_run), len(items)):
            counted[outcome.what] += 1
            _tell(door, outcome, every=dry_run)
    _sum_up(door, counted, dry_run)
    if items and counted[REFUSED] == len(items):
        click.get_current_context().exit(REFUSED_ALL)


def _shown(outcomes: Iterable[Outcome], count: int) -> Iterator[Outcome]:
    """The outcomes, with a progress bar where somebody looks on."""
    if not sys.stderr.isatty():
        yield from outcomes
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(outcomes, "Taking in", total=count, console=Console(stderr=True))


def _tell(door: Door, outcome: Outcome, *, every: bool) -> None:
    """A line for each with --json and in a dry run; else only for what was refused."""
    if door.json:
        from logbook.reports.as_json import record_json

        door.put(record_json(outcome))
    elif every or outcome.what == "refused":
        door.data(f"{outcome.name}: {outcome.what}: {outcome.text}")


def _sum_up(door: Door, counted: Counter[str], dry_run: bool) -> None:
    words = ", ".join(f"{counted[what]} {what}" for what in ("taken", "taken before", "refused"))
    door.words(f"{'Dry run, nothing was written: ' if dry_run else ''}{words}.")
