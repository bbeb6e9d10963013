"""Choosing which builds, sessions or sisters to lay over each other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from logbook.app.screens.chooser import Chooser

if TYPE_CHECKING:
    from logbook.app.host import Host
    from logbook.app.widgets.ink import Line
    from logbook.cases.sides_offered import Offer

_BETWEEN = "\n"  # no id holds one


def offer_lines(offers: Iterable[Offer], before: str = "") -> list[tuple[str, Line]]:
    """Lines of a chooser, keyed by both sides; `before` stands in front of each."""
    return [
        (
            f"{one.left}{_BETWEEN}{one.right}",
            (
                (before, "quiet"),
                (one.right_words, "strong"),
                (" over ", "quiet"),
                (one.left_words, ""),
            ),
        )
        for one in offers
    ]


def show_sides(app: Host, key: str) -> bool:
    """Open the comparison of a line taken; false where the line is another's."""
    left, between, right = key.partition(_BETWEEN)
    if between:
        app.show_sides(left, right)
    return bool(between)


def choose(app: Host, tag: str, options: Sequence[tuple[str, Line]]) -> None:
    """Let one be taken."""

    def taken(key: str | None) -> None:
        if key is not None:
            show_sides(app, key)

    app.push_screen(Chooser(f"{tag}: lay over each other", options), taken)
