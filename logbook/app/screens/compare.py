"""Two pulls laid over each other: what it is worth, the curves, everything that differs."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.app.keys import bindings
from logbook.app.messages import Compared
from logbook.app.screens.laid_over import LaidOverScreen
from logbook.app.widgets.answer_words import (
    caution_lines,
    difference_figure,
    worth_figure,
    worth_words,
)
from logbook.app.widgets.curve import difference_picture, overlay_picture
from logbook.app.widgets.drawn import Drawn
from logbook.app.widgets.figures import SMALLEST
from logbook.app.widgets.ink import BLANK, Line, one, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.pairs import differing_pairs, figure_pairs, pair
from logbook.cases.results import CompareView
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk

BOTH, POWER, TORQUE = "difference", "power", "torque"


class CompareScreen(LaidOverScreen):
    """The right pull measured from the left one."""

    place = "compare"
    BINDINGS = bindings("compare")
    PICTURES = (BOTH, POWER, TORQUE)

    def __init__(self, left: str, right: str, standard: str | None = None) -> None:
        super().__init__(left, right, standard)
        self._view: CompareView | None = None

    def reload(self) -> None:
        """Lay them over each other."""
        left, right, standard = self.left, self.right, self.standard

        def job(desk: Desk) -> CompareView:
            from logbook.cases.compare import compare

            return compare(desk, left, right, standard=standard)

        self.ask("compare", job, Compared, "comparing")

    def on_compared(self, message: Compared) -> None:
        """Show it."""
        if not self.stale(message):
            self._view = message.view
            self.draw()

    def draw(self) -> None:
        """The figure, the pictures and the table."""
        view, units = self._view, self.book.units
        if view is None:
            return
        self.query_one("#head", Text).put(
            (("Compare  ", "strong"), (view.right_label, "strong"), (" measured from ", "quiet"),
             (view.left_label, "strong")),
            one(f"both corrected to {view.standard_name}"),
        )  # fmt: skip
        self.query_one("#pictures", Drawn).put(
            partial(compare_lines, view, system=units, pictures=self.pictures)
        )
        self.query_one("#differing", Drawn).put(
            lambda width, _: table_lines(view, width, units), layout=True
        )


def compare_lines(
    view: CompareView, width: int, height: int, system: str, pictures: str
) -> list[Line]:
    """The figure first; the difference before the curves."""
    tall = min(10, max(SMALLEST, height // 5))
    if view.worth is not None:
        lines = worth_figure(view.worth, width, tall, system, view.right_figures)
        lines += worth_words(view.worth, None, width, system)
    else:
        lines = _bare_figure(view, width, tall, system)
        lines += wrap(view.why_no_worth, width, "quiet")
    names = short_names(view)
    room = height - len(lines)
    if view.difference is not None and pictures == BOTH:
        share = room if room < 14 else max(7, room * 2 // 5)
        lines += difference_picture(view.difference, width, share, system, names=names)
    left = height - len(lines)
    if view.right_curve is not None:
        quantity = TORQUE if pictures == TORQUE else POWER
        under = replace(view.left_curve, label=names[1]) if view.left_curve else None
        lines += overlay_picture(
            replace(view.right_curve, label=names[0]), under, width, left, system,
            quantity=quantity,
        )  # fmt: skip
    return lines


def short_names(view: CompareView) -> tuple[str, str]:
    """The right and the left pull as they can be told apart: by number within a session, else
    by day and number, else by engine too."""
    right, left = view.right_label.split("/"), view.left_label.split("/")
    if right[:-1] == left[:-1]:
        return f"pull {right[-1]}", f"pull {left[-1]}"
    start = 1 if right[0] == left[0] else 0
    return "/".join(right[start:]), "/".join(left[start:])


def _bare_figure(view: CompareView, width: int, height: int, system: str) -> list[Line]:
    """The difference of two pulls that are not judged: open, whatever its size."""
    if view.bare is None:
        return [one("The two pulls have no figure in common to subtract.", "strong")]
    unit, share = quantities.display_unit("power", system), showing.percent(view.bare.percent)
    beside = {0: unit, 1: share, -1: view.bare.quantity}
    kw = view.bare.difference_kw
    return difference_figure("?", kw, "unsettled", width, height, system, beside)


def table_lines(view: CompareView, width: int, system: str) -> list[Line]:
    """Figures side by side, then what differs, then the cautions."""
    names = short_names(view)
    lines = pair("", names[1], names[0], width, "accent")
    lines += figure_pairs(view.left_figures, view.right_figures, width, system)
    lines += differing_pairs(view.differing, width)
    if view.cautions:
        lines += [BLANK, *caution_lines(view.cautions, width)]
    return lines
