"""Saying how much a change that was never made alone can have brought."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets.field import TextEntry
from logbook.refusals import BadInput

Assumed = dict[str, tuple[float, float]]


class AssumeForm(ShortForm[Assumed]):
    """Answers with the least and most in percent, by factor; an empty line assumes that the
    change lost nothing by itself."""

    place = "assume"
    BINDINGS = bindings("assume")

    def __init__(self, untold: Sequence[str], before: Mapping[str, tuple[float, float]]) -> None:
        super().__init__("", "What can these have brought by themselves, in percent?")
        self._untold = untold
        self._before = before

    def entries(self) -> ComposeResult:
        """A line a change."""
        for number, factor in enumerate(self._untold):
            known = self._before.get(factor)
            start = f"{known[0]:g}..{known[1]:g}" if known else ""
            yield TextEntry(str(number), factor, start, hint="least..most, such as 0..2")

    def action_save(self) -> None:
        """Give them to the comparison below."""
        from logbook.cases.sides_assumed import read_range

        assumed: Assumed = {}
        for number, factor in enumerate(self._untold):
            entry = self.entry(str(number))
            text = entry.value.strip() if entry is not None else ""
            try:
                if text:
                    assumed[factor] = read_range(text, factor)
            except BadInput as slip:
                self.notice(slip.sentence, "error")
                return
        self.dismiss(assumed)
