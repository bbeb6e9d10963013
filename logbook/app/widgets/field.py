"""One line of a form: label, what is typed, its unit, and what there is to say about it.

An error or the value that was there before stands beside the field and runs on below it where
it is long. A choice is made with the arrows, + and −, or the number of the choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rich.segment import Segment
from rich.text import Text as RichText
from textual import events
from textual.app import ComposeResult
from textual.geometry import Size
from textual.message import Message
from textual.strip import Strip
from textual.suggester import SuggestFromList
from textual.widget import Widget
from textual.widgets import Input

from logbook.app.widgets.ink import CUT, Line, fit, one, pad, wrap
from logbook.app.widgets.lines import Lines
from logbook.plain import plain

LABEL, VALUE, UNIT = 25, 14, 7


class TypedInput(Input):
    """A text field of one row. Control characters in it are shown, not obeyed."""

    DEFAULT_CSS = """
    TypedInput {
        border: none; height: 1; padding: 0; background: $surface;
        &:focus { border: none; background: $panel; text-style: bold; }
        &.-invalid, &.-invalid:focus { border: none; }
        &:ansi { text-style: underline; &.-invalid, &.-invalid:focus { border: none; }
                 &:focus { text-style: underline bold; }
                 &>.input--cursor { text-style: reverse; background: ansi_default;
                                    color: ansi_default; } }
    }
    """

    def __init__(self, value: str, *, step: float = 0.0, **rest: Any) -> None:
        super().__init__(value, compact=True, select_on_focus=True, **rest)
        self._step = step
        self.cursor_blink = False

    @property
    def _value(self) -> RichText:
        return RichText(plain(self.value), no_wrap=True, overflow="ignore", end="")

    def render_line(self, y: int) -> Strip:
        """The text; where more of it lies beyond an edge, the edge says so."""
        strip = super().render_line(y)
        width = self.size.width
        if y or width < 4 or self.content_width - 1 <= width:
            return strip
        sign = Strip([Segment(CUT, self.rich_style)])
        more_right = self.content_width - 1 > self.scroll_offset.x + width
        parts = [
            sign if self.scroll_offset.x else strip.crop(0, 1),
            strip.crop(1, width - 1),
            sign if more_right else strip.crop(width - 1, width),
        ]
        return Strip.join(parts)

    def _on_paste(self, event: events.Paste) -> None:
        """Several lines become one: the base class, to whose handler Textual goes on, would take
        the first and lose the others. An empty paste holds no line to take."""
        event.text = " ".join(line for line in event.text.splitlines() if line.strip())
        if not event.text:
            event.prevent_default()
            event.stop()

    async def _on_key(self, event: events.Key) -> None:
        """+ and − step a number by `step`; anything else goes on to the base class's handler."""
        by = {"+": self._step, "-": -self._step, "−": -self._step}.get(event.character or "")
        number = _number(self.value)
        if by and number is not None:
            event.stop()
            event.prevent_default()
            self.value = f"{number + by:g}"
            self.cursor_position = len(self.value)


def _number(text: str) -> float | None:
    try:
        return float(text.strip().rstrip("°").replace("−", "-"))
    except ValueError:
        return None


class Entry(Lines):
    """A line of a form. `value` is what stands in it; `initial` what it began with."""

    DEFAULT_CSS = "Entry { height: auto; width: 1fr; }"

    @dataclass
    class Edited(Message):
        """Something was typed."""

        entry: Entry

    def __init__(
        self, key: str, label: str, value: str = "", *, unit: str = "", hint: str = ""
    ) -> None:
        super().__init__(classes="entry")
        self.key, self.label, self.unit = key, label, unit
        self.initial = value
        self.hint = hint
        self._error = ""
        self._mark = ""

    @property
    def value(self) -> str:
        """What stands in the field."""
        raise NotImplementedError

    def set_value(self, text: str) -> None:
        """Put a text into the field, as if it had been typed."""
        raise NotImplementedError

    @property
    def touched(self) -> bool:
        """Whether it differs from what it began with."""
        return self.value.strip() != self.initial.strip()

    @property
    def error(self) -> str:
        """The sentence about what is typed, if it is wrong."""
        return self._error

    def say(self, *, error: str = "", mark: str = "") -> None:
        """Show an error (without the label that stands before it anyway), or a mark such as
        ``was 34``."""
        error = error.removeprefix(f"{self.label}: ").removeprefix(f"{self.label.capitalize()}: ")
        if (error, mark) != (self._error, self._mark):
            self._error, self._mark = error, mark
            self.redraw(layout=True)

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """Label, room for the value, unit, and what there is to say."""
        start, value = self._head(width)
        room = width - sum(len(text) for text, _ in start) - value - 1
        said = f"✗ {self._error}" if self._error else self._mark or self.hint
        role = "error" if self._error else "changed" if self._mark else "quiet"
        told = wrap(said, max(10, room), role) if said else [()]
        left = (*start[:1], (" " * value, ""), *start[1:], (" ", ""))
        below: Line = one(" " * (width - room))
        return [(*left, *told[0]), *((*below, *line) for line in told[1:])]

    def _head(self, width: int) -> tuple[Line, int]:
        lead = "● " if self._mark else "  "
        role = "changed" if self._mark else ""
        unit = f" {fit(self.unit, UNIT - 1)}" if self.unit and self.takes_unit else ""
        return ((lead + pad(self.label, LABEL - 3) + " ", role), (pad(unit, UNIT), "quiet")), VALUE

    @property
    def target(self) -> Widget:
        """What takes the focus."""
        return self

    @property
    def takes_unit(self) -> bool:
        """Whether a bare number, or nothing yet, stands in the field: then its unit is shown."""
        return True

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As high as what it says."""
        return len(self.lines(width, 1))


class TextEntry(Entry):
    """A line with a text field. `wide` gives it the rest of the row, with its hint in it while it
    is empty and its unit at the end."""

    DEFAULT_CSS = f"""
    TextEntry {{ layout: horizontal; }}
    TextEntry > TypedInput {{ margin-left: {LABEL}; width: {VALUE}; }}
    TextEntry.-wide > TypedInput {{ width: 1fr; margin: 0 2 0 {LABEL}; }}
    TextEntry.-united > TypedInput {{ margin: 0 {UNIT} 0 {LABEL}; }}
    """

    def __init__(
        self,
        key: str,
        label: str,
        value: str = "",
        *,
        unit: str = "",
        hint: str = "",
        step: float = 0.0,
        wide: bool = False,
        suggestions: Sequence[str] = (),
    ) -> None:
        super().__init__(key, label, value, unit=unit, hint=hint)
        self.set_class(wide, "-wide")
        self.set_class(wide and bool(unit), "-united")
        self._wide = wide
        self._input = TypedInput(
            value,
            step=step,
            placeholder=hint if wide else "",
            suggester=SuggestFromList(suggestions, case_sensitive=False) if suggestions else None,
        )

    def compose(self) -> ComposeResult:
        """The text field."""
        yield self._input

    @property
    def value(self) -> str:
        """What is typed."""
        return self._input.value

    def set_value(self, text: str) -> None:
        """Put a text in."""
        self._input.value = text

    @property
    def takes_unit(self) -> bool:
        """A value that brings its own unit does not get another one."""
        text = self.value.strip()
        return not text or not any(letter.isalpha() or letter in "°%" for letter in text)

    @property
    def target(self) -> Widget:
        """The text field takes the focus."""
        return self._input

    def on_input_changed(self, event: Input.Changed) -> None:
        """Typed; its unit may have come along."""
        event.stop()
        self.redraw()
        self.post_message(self.Edited(self))

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """A wide field has the row; what there is to say stands below."""
        if not self._wide:
            return super().lines(width, height)
        (head, unit), _ = self._head(width)
        room = max(0, width - LABEL - UNIT)
        first: Line = (head, (" " * room, ""), unit) if self.unit else (head,)
        said = f"✗ {self._error}" if self._error else self._mark
        role = "error" if self._error else "changed"
        below = wrap(said, max(10, width - LABEL - 1), role) if said else []
        return [first, *(((" " * LABEL, ""), *line) for line in below)]
