"""``logbook compare``: pulls, sessions, builds or engines over each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.desk import Desk


@click.command(cls=BookCommand)
@click.argument("left", metavar="A")
@click.argument("right", metavar="B")
@click.option("--standard", metavar="NAME", help="Correct both to this one; else the first's.")
@click.option(
    "--assume",
    multiple=True,
    metavar="FACTOR=LOW..HIGH",
    help="What a change that was never made alone is taken to be worth, in percent.",
)
@pass_door
def compare(
    door: Door, left: str, right: str, standard: str | None, assume: tuple[str, ...]
) -> None:
    """Two pulls, sessions, builds or engines over each other.

    The worth is the second less the first. A and B are pulls (ENGINE/2026-03-14/7,
    ENGINE/last/7), sessions (ENGINE/2026-03-14, ENGINE/last), builds ('ENGINE/build 4'),
    engines (ENGINE, as last pulled), or ids.

    Two builds of an engine or its sisters: what the rebuild was worth apart from everything
    else that was changed, with the evidence for each change made alone.

    \b
    Examples:
      logbook compare RB-2/2025-09-02/4 RB-2/last/7
      logbook compare 'RB-2/build 3' 'RB-2/build 4'
      logbook compare 'RB-2/build 3' 'RB-2/build 4' --assume 'header=0..2'
      logbook compare RB-2/last RB-3/last --standard sae-j1349 --json
    """
    assumed = dict(_assumption(text) for text in assume)
    with door.desk() as desk:
        if _pulls(desk, left, right):
            if assumed:
                raise BadInput("nothing is assumed of two pulls", where="--assume",
                               wanted="builds, sessions or engines")  # fmt: skip
            _pull_over_pull(door, desk, left, right, standard)
        else:
            _side_over_side(door, desk, left, right, standard, assumed)


def _assumption(text: str) -> tuple[str, tuple[float, float]]:
    from logbook.cases.sides_assumed import read_range

    factor, equals, limits = text.partition("=")
    if not equals or not factor.strip():
        raise BadInput(f"{text[:60]!r} cannot be read", where="--assume",
                       wanted="FACTOR=LOW..HIGH in percent, such as 'header=0..2'")  # fmt: skip
    return factor.strip(), read_range(limits, factor.strip())


def _pulls(desk: Desk, left: str, right: str) -> bool:
    """Whether both name a pull."""
    from logbook.cases.references import PULL, resolve

    with desk.book.reading() as read:
        return all(resolve(read, text).kind == PULL for text in (left, right))


def _pull_over_pull(door: Door, desk: Desk, left: str, right: str, standard: str | None) -> None:
    from logbook.cases.compare import compare as compare_pulls

    view = compare_pulls(desk, left, right, standard=standard)
    if door.json:
        from logbook.reports.as_json import compare_json

        door.put(compare_json(view))
    else:
        from logbook.reports.sheets import compare_sheet

        door.table(*compare_sheet(view, desk.units))
        door.cautions(view.cautions)


def _side_over_side(
    door: Door,
    desk: Desk,
    left: str,
    right: str,
    standard: str | None,
    assumed: dict[str, tuple[float, float]],
) -> None:
    from logbook.cases.side_by_side import compare_sides

    view = compare_sides(desk, left, right, standard=standard, assumed=assumed)
    if door.json:
        from logbook.cases.sides_curves import side_curves
        from logbook.reports.sides_json import sides_json

        door.put(sides_json(view, side_curves(desk, left, right, standard=standard)))
    else:
        from logbook.reports.sides_sheet import sides_sheet

        door.table(*sides_sheet(view, desk.units))
        door.cautions(view.cautions)
