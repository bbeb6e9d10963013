"""``logbook merge``: another cell's book into this one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.merge import MergeReport


@click.command(cls=BookCommand)
@click.argument("other", metavar="OTHER.db", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Only say what would be taken, and what conflicts.")
@click.option("--settle", "settled", multiple=True, metavar="CODE=ANSWER",
              help="Answer a conflict by its code; all=here or all=there answers those that"
              " two sides can answer.")  # fmt: skip
@pass_door
def merge(door: Door, other: Path, dry_run: bool, settled: tuple[str, ...]) -> None:
    """Take another book's records into this one.

    Records, files and audit trail of both are joined; a change that only one book knows is
    taken. Where both changed the same thing, or two engines have one tag, or one session two
    pulls of one number, that is a conflict: each is listed with a code and its possible
    answers, and nothing is merged before all are settled. The other book is only read; this one
    is backed up first. Merging the same book again changes nothing.

    To bring two machines together, merge in one of them, then merge the result into the other.

    \b
    Answers, as far as the conflict offers them:
      here, there      this book's version, or the other's
      same             the two are one: everything goes to the one entered first
      there:NAME       two: the other book's (or here:NAME this book's) gets this name
      both             keep both pulls of one file
      renumber         the later pull gets the next free number
      bring-back       what was taken back in one book is used in the other: bring it back

    \b
    Examples:
      logbook merge /media/stick/south-cell.db --dry-run
      logbook merge /media/stick/south-cell.db --settle 3f2a91cc=there
    """
    from logbook.cases import merge as cases

    answers = dict(_answer(one) for one in settled)
    with door.desk() as desk:
        try:
            report = (cases.look if dry_run else cases.merge)(desk, other, answers)
        except cases.Unsettled as unsettled:
            _show(door, unsettled.report)
            raise
    _show(door, report)
    if not door.json:
        door.words(_ended(report, dry_run))


def _answer(text: str) -> tuple[str, str]:
    code, equals, answer = text.partition("=")
    if not equals or not code or not answer:
        raise BadInput(f"{text[:60]!r} is no answer", where="--settle", wanted="CODE=ANSWER")
    return code.strip(), answer.strip()


def _show(door: Door, report: MergeReport) -> None:
    if door.json:
        from logbook.reports.as_json import merge_json

        door.put(merge_json(report))
        return
    from logbook.cases.merge import counted

    for noun, count in report.entered.items():
        door.data(f"new: {counted(count, noun)}")
    if report.changed:
        door.data(f"newer there: {report.changed} records of both books")
    for note in report.notes:
        door.data(f"note: {note}")
    for clash in report.conflicts:
        answers = clash.answer or " or ".join(clash.answers)
        door.data(f"conflict {clash.code} [{answers}]: {clash.sentence}")


def _ended(report: MergeReport, dry_run: bool) -> str:
    if report.nothing_new:
        return "This book holds everything of the other already."
    if not dry_run:
        return f"Merged. The book as it was before: {report.backup}."
    if report.open:
        return f"Nothing was written. To settle first: {len(report.open)}."
    return "Nothing was written. Without --dry-run this would be merged."
