"""Builds, sessions or engines over each other as lines: the answer, its shares, the evidence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from logbook import quantities
from logbook.app.widgets.answer_words import caution_lines, difference_figure, worth_words
from logbook.app.widgets.curve import SMALLEST as SMALLEST_PICTURE
from logbook.app.widgets.curve import difference_picture, overlay_picture
from logbook.app.widgets.figures import SMALLEST, role_of
from logbook.app.widgets.ink import BLANK, Line, fit, one, pad, rows_of, wrap
from logbook.app.widgets.pairs import differing_pairs, figure_pairs, pair
from logbook.cases.sides_results import (
    AttributionView,
    EvidenceView,
    Share,
    SideCurves,
    SidesView,
)
from logbook.reports import showing, sides_words

SHARES, DIFFERENCE, POWER, TORQUE = "shares", "difference", "power", "torque"


def answer_lines(
    view: SidesView,
    curves: SideCurves | None,
    pictures: str,
    system: str,
    width: int,
    height: int,
) -> list[Line]:
    """The figure, the words, then the shares or a picture."""
    tall = min(10, max(SMALLEST, height // 5))
    found = view.attribution
    if found is None:
        lines = _total_figure(view, width, tall, system)
        lines += worth_words(view.worth, None, width, system)
    else:
        lines = _rest_figure(found, width, tall, system)
        lines += wrap(sides_words.answer(found, system), width, "strong")
        if pictures == SHARES:
            for sentence in sides_words.claims(found, system):
                lines += wrap(sentence, width)
            lines += [BLANK, *share_lines(view, found, width, system)]
    left = height - len(lines)
    if pictures in (SHARES, DIFFERENCE):
        return lines + _difference(view, curves, width, left, system)
    return lines + _overlay(view, curves, pictures, width, left, system)


def _rest_figure(found: AttributionView, width: int, tall: int, system: str) -> list[Line]:
    """What the rebuild was worth, as large as it fits."""
    unit = quantities.display_unit("power", system)
    others = found.untold[0] if len(found.untold) == 1 else f"{len(found.untold)} others"
    whose = found.subject if found.told else fit(f"with {others}", 16)
    beside = {0: unit, 1: showing.percent(found.rest.percent), -2: whose, -1: found.verdict}
    return difference_figure(
        showing.sign_of(found.verdict),
        found.rest.difference_kw,
        role_of(found.verdict),
        width,
        tall,
        system,
        beside,
    )


def _total_figure(view: SidesView, width: int, tall: int, system: str) -> list[Line]:
    worth = view.worth
    unit = quantities.display_unit("power", system)
    beside = {0: unit, 1: showing.percent(worth.percent), -1: worth.quantity}
    sign, role = showing.sign_of(worth.verdict), role_of(worth.verdict)
    return difference_figure(sign, worth.difference_kw, role, width, tall, system, beside)


def share_lines(view: SidesView, found: AttributionView, width: int, system: str) -> list[Line]:
    """The total, what each change was worth alone, and what is left for the rebuild."""
    unit = quantities.display_unit("power", system)
    total = Share(
        view.worth.difference_kw, view.worth.interval_kw, view.worth.percent, (0.0, 0.0), 0.0
    )
    rows: list[tuple[str, Share | None, str]] = [(f"All of it, {unit}", total, "strong")]
    rows += [(member.factor, member.worth, "") for member in found.members]
    rows.append((sides_words.subject(found), found.rest, "strong"))
    name = max(10, width - 26)
    lines: list[Line] = []
    for label, share, role in rows:
        first, *more = wrap(label, name, role)
        text, band = _figures(share, system)
        lines.append(
            ((pad(first[0][0], name), role), (pad(text, 7, "right"), role), (f"  {band}", "quiet"))
        )
        lines += more
    return lines


def _figures(share: Share | None, system: str) -> tuple[str, str]:
    if share is None:
        return "?", "never alone"
    low, high = (showing.signed(edge, system) for edge in share.interval_kw)
    return showing.signed(share.difference_kw, system), f"{low} to {high}"


def short_labels(view: SidesView) -> tuple[str, str]:
    """Left and right without the engine's tag where both are of one engine."""
    sides = view.left, view.right
    if view.left.engine != view.right.engine:
        return sides[0].label, sides[1].label
    left, right = (side.label.removeprefix(f"{side.engine}/") for side in sides)
    return left, right


def _difference(
    view: SidesView, curves: SideCurves | None, width: int, height: int, system: str
) -> list[Line]:
    """The difference of the mean curves, where there is room for it."""
    if curves is None or curves.difference is None or height < SMALLEST_PICTURE + 1:
        return []
    left, right = short_labels(view)
    picture = difference_picture(
        curves.difference, width, height - 1, system, names=(right, left), band=view.band_rpm
    )
    return [BLANK, *picture]


def _overlay(
    view: SidesView,
    curves: SideCurves | None,
    quantity: str,
    width: int,
    height: int,
    system: str,
) -> list[Line]:
    if curves is None or curves.right is None or height < SMALLEST_PICTURE + 1:
        return []

    names = short_labels(view)
    left = None if curves.left is None else replace(curves.left, label=names[0])
    right = replace(curves.right, label=names[1])
    picture = overlay_picture(
        right, left, width, height - 1, system, quantity=quantity, band=view.band_rpm,
    )  # fmt: skip
    return [BLANK, *picture]


def table_lines(view: SidesView, width: int, system: str) -> list[Line]:
    """The evidence, what was pulled, figures side by side, everything that differs."""
    lines: list[Line] = []
    if view.attribution is not None:
        lines += evidence_lines(view.attribution, width)
    for sentence in sides_words.basis(view):
        lines += wrap(sentence, width, "quiet")
    lines.append(BLANK)
    for side in (view.right, view.left):
        lines += wrap(side.label, width, "accent")
        for part in side.parts:
            lines += wrap(sides_words.pulled(part), width, "", indent="  ")
    lines.append(BLANK)
    lines += pair("", *short_labels(view), width, "accent")
    lines += figure_pairs(view.left.figures, view.right.figures, width, system)
    lines += differing_pairs(view.differing, width)
    if view.cautions:
        lines += [BLANK, *caution_lines(view.cautions, width)]
    return lines


def evidence_lines(found: AttributionView, width: int) -> list[Line]:
    """Change by change, where it was seen alone and what it was worth there."""
    lines: list[Line] = []
    for member in found.members:
        lines += wrap(sides_words.change(member), width, "strong", indent="  ")
        if not member.evidence:
            lines += wrap("⚠ never changed alone, here or on a sister", width, "caution")
        lines += _seen(member.evidence, width)
    if found.sisters:
        lines += wrap("A sister's rebuild, nothing counted of it", width, "strong", indent="  ")
        lines += _seen(found.sisters, width)
    return [*lines, BLANK] if lines else []


def _seen(evidence: Iterable[EvidenceView], width: int) -> list[Line]:
    lines: list[Line] = []
    for line in evidence:
        worth, band = showing.percent(line.percent, 2), sides_words.percents(line.interval_percent)
        lines += rows_of([one(worth), one(band, "quiet")], width)
        if line.weight is not None:
            lines += wrap(sides_words.counts(line), width, "quiet", indent="  ")
        lines += wrap(sides_words.where(line), width, "quiet", indent="  ")
    return lines
