"""A short list to choose from, by cursor or by number."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.screens.dialog import Dialog
from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.rows import Column, Row, Rows

MOST_SHOWN = 14


class Chooser(Dialog[str]):
    """Answers with the key of the line taken.

    Parameters
    ----------
    options : (key, line) in order; the first nine can be taken by their number.
    start : the key the cursor begins on.
    """

    place = "chooser"
    BINDINGS = bindings("chooser")

    def __init__(
        self, title: str, options: Sequence[tuple[str, Line]], *, start: str | None = None
    ) -> None:
        super().__init__()
        self.title_words = title
        self._options = options
        self._start = start

    def fields(self) -> ComposeResult:
        """The list."""
        rows = Rows((Column("", 2, "right"), Column("", 0)), empty="Nothing to choose from.")
        rows.styles.height = min(len(self._options), MOST_SHOWN) + 1
        yield rows

    def reload(self) -> None:
        """Fill the list."""
        self.query_one(Rows).put(
            [
                Row(key, (one(str(number) if number < 10 else "", "accent"), line))
                for number, (key, line) in enumerate(self._options, 1)
            ],
            keep=self._start,
        )

    def action_take(self) -> None:
        """Take the line chosen."""
        if (row := self.query_one(Rows).current) is not None:
            self.dismiss(row.key)

    def on_rows_chosen(self) -> None:
        """A second click takes it."""
        self.action_take()

    def action_digit(self, digit: int) -> None:
        """Take a line by its number."""
        if digit <= len(self._options):
            self.dismiss(self._options[digit - 1][0])
