"""``logbook report``: a session, a build or an engine as a page to print or hand over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.cli.output import destination, output_options, refuse_taken
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.desk import Desk


@click.command(cls=BookCommand)
@click.argument("ref", metavar="[SESSION]", required=False)
@click.option("--engine", "tag", metavar="TAG", help="The report of this engine.")
@click.option("--build", "label", metavar="LABEL", help="With --engine: of this build of it.")
@click.option("--markdown", is_flag=True, help="Markdown instead of HTML; so is a FILE.md.")
@output_options
@pass_door
def report(
    door: Door,
    ref: str | None,
    tag: str | None,
    label: str | None,
    markdown: bool,
    output: Path | None,
    replace: bool,
) -> None:
    """A session, a build or an engine as one HTML page.

    The page needs nothing else: pictures and styles stand in it. It prints on A4 and Letter.
    The figures are those of the app, in the units of the book's cell unless --units says
    otherwise. SESSION is an id, the start of one, last, ENGINE/last or ENGINE/2026-03-14.

    \b
    Examples:
      logbook report RB-2/last -o rb2.html
      logbook report RB-2/2026-03-14 --markdown
      logbook report --engine RB-2 --build 'build 4' -o build-4.html
      logbook report --engine RB-2 --units metric -o rb2-engine.html
    """
    from logbook.reports.issue import HTML, MARKDOWN

    if (ref is None) == (tag is None) or (label is not None and tag is None):
        raise BadInput("one of SESSION and --engine says what to report", where="Report",
                       wanted="SESSION, --engine TAG, or --engine TAG --build LABEL")  # fmt: skip
    refuse_taken(output, replace)
    in_words = markdown or (output is not None and output.suffix.casefold() == ".md")
    form = MARKDOWN if in_words else HTML
    with door.desk() as desk:
        text = _text(desk, ref, tag, label, form)
    if output is not None or not door.json:
        with destination(output) as out:
            out.write(text)
    if door.json:
        kept = {"text": text} if output is None else {"file": str(output)}
        door.put({"format": form, **kept})
    elif output is not None:
        door.words(f"Report written: {output}.")


def _text(desk: Desk, ref: str | None, tag: str | None, label: str | None, form: str) -> str:
    from logbook.reports import issue

    if ref is not None:
        return issue.session_text(desk, ref, form)
    assert tag is not None
    if label is not None:
        return issue.build_text(desk, tag, label, form)
    return issue.engine_text(desk, tag, form)
