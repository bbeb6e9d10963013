"""The rows at the foot of every screen: what was just done, and the keys that work now."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from logbook.app.keys import Key
from logbook.app.theme import ink


class KeyRow(Widget):
    """One row of keys with their words, as many as fit; the last place is help's.

    The keys are given by `put`. Each can be clicked.
    """

    DEFAULT_CSS = "KeyRow { height: 1; width: 100%; }"

    def __init__(self) -> None:
        super().__init__()
        self._keys: Sequence[tuple[Key, str]] = ()

    def put(self, keys: Sequence[tuple[Key, str]]) -> None:
        """Show these keys with these words."""
        if keys != self._keys:
            self._keys = keys
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """The row."""
        width = self.size.width
        shown, cut = fitting(self._keys, width)
        segments: list[Segment] = []
        quiet, loud = self.rich_style, self.rich_style + ink(self.app, "accent")
        for key, words in shown:
            link = Style.from_meta({"@click": _click(key)})
            segments.append(Segment(f" {key.face}", loud + link))
            segments.append(Segment(f" {words} ", quiet + link))
        if cut:
            segments.append(Segment(" …", quiet))
        return Strip(segments).adjust_cell_length(width, quiet)


def fitting(keys: Sequence[tuple[Key, str]], width: int) -> tuple[list[tuple[Key, str]], bool]:
    """The keys that fit into `width` cells; help keeps its place; whether some were cut."""
    sizes = [cell_len(key.face) + cell_len(words) + 3 for key, words in keys]
    if sum(sizes) <= width:
        return list(keys), False
    last = [pair for pair in keys if pair[0].id == "help"]
    left = width - 2 - sum(cell_len(key.face) + cell_len(words) + 3 for key, words in last)
    shown: list[tuple[Key, str]] = []
    for pair, size in zip(keys, sizes, strict=True):
        if pair in last:
            continue
        if size > left:
            break
        shown.append(pair)
        left -= size
    return shown + last, True


def _click(key: Key) -> str:
    return key.action if "." in key.action else f"screen.{key.action}"
