"""``logbook export``: pulls as CSV or JSON Lines."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.cli.output import destination, output_options, refuse_taken
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.results import PullStory

_PAGE = 500


@click.command(cls=BookCommand)
@click.argument("query", nargs=-1)
@click.option("--session", "ref", metavar="SESSION", help="The pulls of this session.")
@click.option("--engine", "tag", metavar="TAG", help="The pulls of this engine.")
@click.option("--format", "kind", type=click.Choice(("csv", "jsonl")), default="csv",
              show_default=True, help="JSON Lines keeps every character and digit.")  # fmt: skip
@click.option("--traces", is_flag=True, help="With the recorded channels: CSV a row a sample.")
@output_options
@pass_door
def export(
    door: Door,
    query: tuple[str, ...],
    ref: str | None,
    tag: str | None,
    kind: str,
    traces: bool,
    output: Path | None,
    replace: bool,
) -> None:
    """Pulls as CSV or JSON Lines.

    Those of a query, a session or an engine. CSV has the unit in every column's head, SI
    unless --units is given (traces are always SI).
    Text that a spreadsheet would take for a formula is written with a leading apostrophe.

    \b
    Examples:
      logbook export --engine RB-2 -o rb2.csv
      logbook export 'timing:>30 date:2026' --units us > found.csv
      logbook export --session RB-2/last --traces --format jsonl -o session.jsonl
    """
    if sum(bool(way) for way in (query, ref, tag)) != 1:
        raise BadInput("one of QUERY, --session and --engine says which pulls", where="Export")
    refuse_taken(output, replace)
    with door.desk() as desk:
        stories = _stories(desk, " ".join(query), ref, tag)
        with destination(output) as out:
            if kind == "jsonl" or door.json:
                count = _write_lines(desk, stories, out, traces)
            else:
                count = _write_csv(desk, stories, out, traces, door.units)
    rows = "samples" if traces and kind == "csv" else "pulls"
    door.words(f"{count} {rows} written{'' if output is None else f' to {output}'}.")


def _stories(desk: Desk, query: str, ref: str | None, tag: str | None) -> Iterator[PullStory]:
    """The pulls, newest first. Only the session at hand is held in memory."""
    from logbook.cases.judge import pull_story

    session_id = None
    for pull_id in _pull_ids(desk, query, ref, tag):
        story = pull_story(desk, pull_id)
        if story.session.id != session_id:
            session_id = story.session.id
            desk.judged.clear()
        yield story


def _pull_ids(desk: Desk, query: str, ref: str | None, tag: str | None) -> Iterator[str]:
    from logbook.cases import finding, judge, sessions

    if query:
        offset = 0
        while page := finding.find(desk, query, limit=_PAGE, offset=offset):
            yield from (row.pull_id for row in page)
            offset += _PAGE
        return
    if ref is not None:
        session_ids = [sessions.find_session(desk, ref).id]
    else:
        session_ids = [row.id for row in sessions.list_sessions(desk, tag, limit=1_000_000)]
    for session_id in session_ids:
        for row in judge.session_view(desk, session_id).rows:
            yield row.pull.id


def _write_lines(desk: Desk, stories: Iterator[PullStory], out: TextIO, traces: bool) -> int:
    from logbook.reports.as_json import pull_json, trace_json

    count = 0
    for story in stories:
        document = pull_json(story)
        if traces:
            with desk.book.reading() as read:
                trace = read.trace(story.row.pull.id)
            document["trace"] = trace_json(trace) if trace else None
        out.write(json.dumps(document, allow_nan=False) + "\n")
        count += 1
    return count


def _write_csv(
    desk: Desk, stories: Iterator[PullStory], out: TextIO, traces: bool, system: str | None
) -> int:
    from logbook.reports.csv_file import write_csv
    from logbook.reports.export import pull_row, trace_rows

    if not traces:
        return write_csv((pull_row(story, system) for story in stories), out)
    if system:
        raise BadInput("traces are exported in SI", where="--units", wanted="--traces without it")

    def samples() -> Iterator[dict[str, str | float | int | bool | None]]:
        for story in stories:
            with desk.book.reading() as read:
                trace = read.trace(story.row.pull.id)
            if trace is not None:
                yield from trace_rows(story, trace)

    return write_csv(samples(), out)
