"""Two pulls laid over each other: what it is worth, the curves, everything that differs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Compared
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.answer_words import (
    caution_lines,
    difference_figure,
    worth_figure,
    worth_words,
)
from logbook.app.widgets.curve import difference_picture, overlay_picture
from logbook.app.widgets.figures import SMALLEST
from logbook.app.widgets.ink import BLANK, Line, one, pad, wrap
from logbook.app.widgets.lines import Lines, Text
from logbook.cases.results import CompareView
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk

BOTH, POWER, TORQUE = "difference", "power", "torque"


class ComparePane(Lines):
    """The figure and the two pictures."""

    DEFAULT_CSS = "ComparePane { width: 1fr; height: 1fr; padding: 0 1; }"

    def __init__(self) -> None:
        super().__init__(id="pictures")
        self._view: CompareView | None = None
        self._system = "us"
        self.pictures = BOTH

    def put(self, view: CompareView, system: str) -> None:
        """Show this comparison."""
        self._view, self._system = view, system
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The figure, the words, the difference, the curves."""
        if self._view is None:
            return [one("Reading the pulls …", "quiet")]
        return compare_lines(self._view, width, height, self._system, self.pictures)


class TablePane(Lines):
    """Everything that differs, and the cautions."""

    def __init__(self) -> None:
        super().__init__(id="differing")
        self._view: CompareView | None = None
        self._system = "us"

    def put(self, view: CompareView, system: str) -> None:
        """Show this comparison."""
        self._view, self._system = view, system
        self.redraw(layout=True)

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The table."""
        return [] if self._view is None else table_lines(self._view, width, self._system)


class CompareScreen(BookScreen[None]):
    """The right pull measured from the left one."""

    AUTO_FOCUS = ""
    place = "compare"
    BINDINGS = bindings("compare")
    DEFAULT_CSS = """
    CompareScreen #middle { height: 1fr; border-top: solid $foreground; }
    CompareScreen #table {
        width: 40%; border-left: solid $foreground; padding: 0 1; scrollbar-size-vertical: 1;
    }
    """

    def __init__(self, left: str, right: str, standard: str | None = None) -> None:
        super().__init__()
        self._left, self._right, self._standard = left, right, standard

    def content(self) -> ComposeResult:
        """Heading, pictures, table."""
        yield Text((("Compare", "strong"),), (), id="head")
        with Horizontal(id="middle"):
            yield ComparePane()
            with VerticalScroll(id="table", can_focus=False):
                yield TablePane()

    def reload(self) -> None:
        """Lay them over each other."""
        left, right, standard = self._left, self._right, self._standard

        def job(desk: Desk) -> CompareView:
            from logbook.cases.compare import compare

            return compare(desk, left, right, standard=standard)

        self.ask("compare", job, Compared)

    def on_compared(self, message: Compared) -> None:
        """Show it."""
        if self.stale(message):
            return
        view, units = message.view, self.book.units
        self.query_one("#head", Text).put(
            (("Compare  ", "strong"), (view.right_label, "strong"), (" measured from ", "quiet"),
             (view.left_label, "strong")),
            one(f"both corrected to {view.standard_name}"),
        )  # fmt: skip
        self.query_one(ComparePane).put(view, units)
        self.query_one(TablePane).put(view, units)

    def key_words(self, key: Key) -> str | None:
        """The curves' key names what comes next."""
        if key.id == "compare.curve" and (panes := self.query(ComparePane)):
            return _after(panes.first().pictures)
        return key.words

    def action_swap(self) -> None:
        """Measure the other way round."""
        self._left, self._right = self._right, self._left
        self.reload()

    def action_standard(self) -> None:
        """Reconcile both to the next standard."""
        from logbook.engineering.correction import STANDARDS

        keys = list(STANDARDS)
        at = keys.index(self._standard) if self._standard in keys else -1
        self._standard = keys[(at + 1) % len(keys)]
        self.reload()

    def action_curve(self) -> None:
        """The difference with the power curves, the power curves, the torque curves."""
        pane = self.query_one(ComparePane)
        pane.pictures = _after(pane.pictures)
        pane.redraw()
        self.refresh_keys()

    def action_scroll(self, by: int) -> None:
        """Up and down in the table."""
        self.query_one("#table", VerticalScroll).scroll_relative(y=by, animate=False)


def _after(pictures: str) -> str:
    """What the key for the curves goes on to."""
    order = (BOTH, POWER, TORQUE)
    return order[(order.index(pictures) + 1) % len(order)]


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
    label = max(10, min(18, width // 3))
    side = max(6, (width - label - 2) // 2)

    def row(what: str, left: str, right: str, role: str = "") -> list[Line]:
        parts = [wrap(text, size) for text, size in ((what, label), (left, side), (right, side))]
        rows: list[Line] = []
        for index in range(max(len(part) for part in parts)):
            cells = [part[index][0][0] if index < len(part) else "" for part in parts]
            rows.append(
                (
                    (pad(cells[0], label) + " ", "quiet"),
                    (pad(cells[1], side) + " ", role),
                    (pad(cells[2], side), role or "strong"),
                )
            )
        return rows

    names = short_names(view)
    lines = row("", names[1], names[0], "accent")
    for name, kind, attribute in (
        ("Band power", "power", "band_power_kw"),
        ("Band torque", "torque", "band_torque_nm"),
        ("Peak power", "power", "peak_power_kw"),
        ("at", "speed", "peak_power_rpm"),
        ("Peak torque", "torque", "peak_torque_nm"),
        ("at", "speed", "peak_torque_rpm"),
    ):
        unit = quantities.display_unit(kind, system)
        shown = (
            quantities.show(getattr(figures, attribute), kind, system, unit=False)
            for figures in (view.left_figures, view.right_figures)
        )
        lines += row(f"{name}, {unit}", *shown)
    lines.append(BLANK)
    lines.append(one(f"{showing.count(len(view.differing), 'thing')} that differ" if
                     len(view.differing) != 1 else "One thing that differs", "strong"))  # fmt: skip
    for item in view.differing:
        lines += row(item.what, item.left or showing.NOTHING, item.right or showing.NOTHING)
    if view.cautions:
        lines += [BLANK, *caution_lines(view.cautions, width)]
    return lines
