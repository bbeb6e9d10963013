"""A list, and beneath it the line chosen in full: what the engine's file screens share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual.app import ComposeResult

from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Rows

if TYPE_CHECKING:
    from logbook.cases.desk import Desk

R = TypeVar("R")


class DetailScreen(BookScreen[R]):
    """Subclasses give `columns`, fill the list in `got`, and say what `detail` shows."""

    heading: ClassVar[str] = ""
    DEFAULT_CSS = """
    DetailScreen #chosen { padding: 0 1; border-top: solid $foreground; max-height: 65%; }
    """

    def content(self) -> ComposeResult:
        """Heading, list, the line chosen."""
        yield Text(((self.heading, "strong"),), id="head")
        yield Rows(self.columns(), empty="Reading the book …")
        yield Text(id="chosen")

    def columns(self) -> Sequence[Column]:
        """The list's columns."""
        raise NotImplementedError

    def detail(self, key: str | None, width: int) -> Sequence[Line]:
        """The lines beneath the list for the line with this key; ``None`` where there is none."""
        return ()

    def show_chosen(self) -> None:
        """Draw the lines beneath the list anew."""
        row = self.query_one(Rows).current
        lines = self.detail(row.key if row else None, max(20, self.size.width - 2))
        self.query_one("#chosen", Text).put(*lines)
        self.refresh_keys()

    @property
    def chosen(self) -> str | None:
        """The key of the line chosen."""
        row = self.query_one(Rows).current
        return row.key if row else None

    def on_rows_moved(self) -> None:
        """Another line is chosen."""
        self.show_chosen()

    def on_resize(self) -> None:
        """Another width."""
        self.show_chosen()

    def on_rows_chosen(self) -> None:
        """A second click opens."""
        self.action_open()

    def action_open(self) -> None:
        """What Enter does."""

    def write(self, job: Callable[[Desk], str]) -> None:
        """Run a writing job whose answer is a sentence."""
        self.change("said", job, Got)
