"""``logbook find``: any pull of the history."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@click.argument("query", nargs=-1, required=True)
@click.option("--limit", type=click.IntRange(1), default=200, show_default=True, metavar="N",
              help="At most so many.")  # fmt: skip
@pass_door
def find(door: Door, query: tuple[str, ...], limit: int) -> None:
    """Pulls that fit a query, newest first.

    Free words over notes, purpose, fuel, set-up, engine and owner; FIELD:VALUE; comparisons
    and ranges; "quoted phrases"; pref*; -word leaves out. Put -- before a query that begins
    with a minus.

    \b
    Examples:
      logbook find plug gray
      logbook find 'engine:RB-2 timing:>30 date:2026-03..'
      logbook find --json --limit 20 'power:>200hp -excluded'
    """
    from logbook.cases import finding

    text = " ".join(query)
    with door.desk() as desk:
        rows = finding.find(desk, text, limit=limit)
        if door.json:
            from logbook.cases.judge import pull_story
            from logbook.reports.as_json import pull_json

            for row in rows:
                door.put(pull_json(pull_story(desk, row.pull_id)))
        else:
            from logbook.reports.tables import found

            door.table(found(rows, desk.units, door.zone))
        if len(rows) == limit:
            door.words(f"The newest {limit} of {finding.count(desk, text)}; --limit shows more.")
