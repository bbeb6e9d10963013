"""``logbook export``: pulls and traces as CSV, JSON Lines or Parquet, or the whole book."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.cli.output import destination, output_options, refuse_taken
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.results import PullStory
    from logbook.reports.dictionary import Told
    from logbook.reports.spool import Cell

CSV, JSON_LINES, PARQUET = "csv", "jsonl", "parquet"
_PAGE = 500


@click.command(cls=BookCommand)
@click.argument("query", nargs=-1)
@click.option("--session", "ref", metavar="SESSION", help="The pulls of this session.")
@click.option("--engine", "tag", metavar="TAG", help="The pulls of this engine.")
@click.option("--dictionary", is_flag=True, help="What each column is, instead of any pull.")
@click.option("--format", "kind", type=click.Choice((CSV, JSON_LINES, PARQUET)),
              help="CSV where nothing is said, else as FILE ends. JSON Lines and Parquet keep"
              " every character and digit.")  # fmt: skip
@click.option(
    "--traces",
    is_flag=True,
    help="With the recorded channels: a row a sample, in JSON Lines a list a channel.",
)
@output_options
@pass_door
def export(
    door: Door,
    query: tuple[str, ...],
    ref: str | None,
    tag: str | None,
    dictionary: bool,
    kind: str | None,
    traces: bool,
    output: Path | None,
    replace: bool,
) -> None:
    """Pulls as CSV, JSON Lines or Parquet.

    Those of a query, a session or an engine. Every column has its unit, SI unless --units is
    given (traces and JSON Lines are always SI); --dictionary says what each is, Parquet carries
    that with it. Text that a spreadsheet would take for a formula gets a leading apostrophe.
    The whole book goes out by `logbook archive`.

    \b
    Examples:
      logbook export --engine RB-2 -o rb2.csv
      logbook export --dictionary
      logbook export 'timing:>30 date:2026' --units us > found.csv
      logbook export --session RB-2/last --traces -o session.parquet
    """
    if sum(map(bool, (query, ref, tag, dictionary))) != 1:
        raise BadInput("one of QUERY, --session, --engine and --dictionary says what goes out",
                       where="Export")  # fmt: skip
    form = JSON_LINES if door.json else kind or _by_name(output)
    if traces and door.units and form != JSON_LINES:
        raise BadInput("traces are exported in SI", where="--units",
                       wanted="--traces without it")  # fmt: skip
    refuse_taken(output, replace)
    if dictionary:
        told = [one.row() for one in _told(traces, door.units)]
        count = _write(told, form, output, {}, "Data dictionary")
        door.words(f"{count} columns.")
        return
    with door.desk() as desk:
        stories = _stories(desk, " ".join(query), ref, tag)
        if form == JSON_LINES:
            with destination(output) as out:
                count = _write_lines(desk, stories, out, traces)
        else:
            rows = _samples(desk, stories) if traces else _rows(stories, door.units)
            meant = {one.column: one for one in _told(traces, door.units)}
            count = _write(rows, form, output, meant, "Traces" if traces else "Pulls")
    what = "samples" if traces and form != JSON_LINES else "pulls"
    door.words(f"{count} {what} written{'' if output is None else f' to {output}'}.")


def _by_name(output: Path | None) -> str:
    ending = "" if output is None else output.suffix.casefold()
    return {".jsonl": JSON_LINES, ".ndjson": JSON_LINES, ".parquet": PARQUET}.get(ending, CSV)


def _told(traces: bool, system: str | None) -> Iterable[Told]:
    from logbook.reports.dictionary import of_pulls, of_traces

    return of_traces() if traces else of_pulls(system)


def _write(
    rows: Iterable[dict[str, Cell]],
    form: str,
    output: Path | None,
    told: dict[str, Told],
    title: str,
) -> int:
    if form == PARQUET:
        if output is None:
            raise BadInput("Parquet is no text", where="Export", wanted="-o FILE")
        from logbook.reports.files import whole_path
        from logbook.reports.parquet_file import write_parquet

        with whole_path(output) as path:
            return write_parquet(rows, path, told, title=title)
    with destination(output) as out:
        if form == CSV:
            from logbook.reports.csv_file import write_csv

            return write_csv(rows, out)
        return sum(bool(out.write(json.dumps(row, allow_nan=False) + "\n")) for row in rows)


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


def _rows(stories: Iterator[PullStory], system: str | None) -> Iterator[dict[str, Cell]]:
    from logbook.reports.export import pull_row

    return (pull_row(story, system) for story in stories)


def _samples(desk: Desk, stories: Iterator[PullStory]) -> Iterator[dict[str, Cell]]:
    from logbook.reports.export import trace_rows

    for story in stories:
        with desk.book.reading() as read:
            trace = read.trace(story.row.pull.id)
        if trace is not None:
            yield from trace_rows(story, trace)


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
