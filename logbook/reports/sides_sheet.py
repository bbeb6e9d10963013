"""Builds, sessions and engines over each other as tables of the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from logbook.quantities import display_unit
from logbook.reports import showing, sides_words
from logbook.reports.sheets import figures_grid, worth_lines
from logbook.reports.tables import NOTHING, grid, heading, sheet, verdict_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import RenderableType

    from logbook.cases.sides_results import AttributionView, SidesView, SideView


def sides_sheet(view: SidesView, system: str) -> list[RenderableType]:
    """Figures, difference, what the rebuild was worth by itself, everything that differs."""
    left, right = view.left.label, view.right.label
    parts: list[RenderableType] = [
        heading(f"{right} measured from {left}, {view.standard_name}"),
        Text(),
        sheet(
            [
                ("Band", "" if view.band_rpm is None else showing.band(*view.band_rpm)),
                *_compared(view.left),
                *_compared(view.right),
            ]
        ),
        Text(),
        figures_grid({left: view.left.figures, right: view.right.figures}, system),
        Text(),
        sheet([*worth_lines(view.worth, "Difference", system)]),
    ]
    if view.attribution is not None:
        parts += [Text(), *_attribution(view, view.attribution, system)]
    differing = (
        (line.what, line.left or NOTHING, line.right or NOTHING) for line in view.differing
    )
    return [*parts, Text(), grid(("Differs", left, right), differing)]


def _compared(side: SideView) -> Iterable[tuple[str, str]]:
    others = side.set_ups - 1
    more = f" (of {side.set_ups} set-ups)" if others else ""
    yield side.label, f"{'; '.join(map(sides_words.pulled, side.parts))}{more}"
    yield "  set-up", side.set_up


def _attribution(view: SidesView, found: AttributionView, system: str) -> Iterable[RenderableType]:
    unit = display_unit("power", system)
    yield heading(sides_words.answer(found, system))
    yield verdict_text(found.verdict)
    for sentence in sides_words.claims(found, system):
        yield Text(sentence)
    yield Text()
    rows = [
        (sides_words.change(member), *sides_words.share_cells(member.worth, system))
        for member in found.members
    ]
    rows.append((sides_words.subject(found), *sides_words.share_cells(found.rest, system)))
    yield grid(("Changed", f"Worth, {unit}", "95 %", "%", "95 %"), rows, right="bcde")
    yield Text()
    evidence = [
        (member.factor, sides_words.where(line), showing.percent(line.percent, 2),
         sides_words.percents(line.interval_percent), sides_words.counts(line))
        for member in found.members
        for line in member.evidence
    ]  # fmt: skip
    evidence += [
        (found.subject.removeprefix("the "), sides_words.where(line),
         showing.percent(line.percent, 2), sides_words.percents(line.interval_percent),
         sides_words.counts(line))
        for line in found.sisters
    ]  # fmt: skip
    if evidence:
        yield grid(("Seen alone", "Where", "Worth", "95 %", "Counts"), evidence, right="cd")
        yield Text()
    for sentence in sides_words.basis(view):
        yield Text(sentence)
