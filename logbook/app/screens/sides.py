"""Builds, sessions or sister engines over each other: what the rebuild was worth by itself."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, cast

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.laid_over import LaidOverScreen
from logbook.app.widgets.drawn import Drawn
from logbook.app.widgets.ink import one
from logbook.app.widgets.lines import Text
from logbook.app.widgets.sides_lines import (
    DIFFERENCE,
    POWER,
    SHARES,
    TORQUE,
    answer_lines,
    table_lines,
)
from logbook.reports import showing, sides_words

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.sides_results import SideCurves, SidesView
    from logbook.refusals import Refusal


class SidesScreen(LaidOverScreen):
    """The right side measured from the left one; both are references as `references` reads
    them. The answer comes first, the curves when they are drawn."""

    place = "sides"
    BINDINGS = bindings("sides")
    PICTURES = (SHARES, DIFFERENCE, POWER, TORQUE)

    def __init__(self, left: str, right: str, standard: str | None = None) -> None:
        super().__init__(left, right, standard)
        self._view: SidesView | None = None
        self._curves: SideCurves | None = None
        self._assumed: dict[str, tuple[float, float]] = {}

    def reload(self) -> None:
        """Compare, then draw the curves."""
        left, right, standard = self.left, self.right, self.standard
        assumed = dict(self._assumed)

        def compared(desk: Desk) -> SidesView:
            from logbook.cases.side_by_side import compare_sides

            return compare_sides(desk, left, right, standard=standard, assumed=assumed)

        def drawn(desk: Desk) -> SideCurves:
            from logbook.cases.sides_curves import side_curves

            return side_curves(desk, left, right, standard=standard)

        self.ask("sides", compared, Got, "comparing")
        self.ask("curves", drawn, Got, "drawing the curves")

    def got(self, lane: str, result: object) -> None:
        """The answer, or its curves."""
        if lane == "sides":
            self._view = cast("SidesView", result)
        else:
            self._curves = cast("SideCurves", result)
        self.draw()
        self.refresh_keys()

    def refused(self, lane: str, refusal: Refusal) -> None:
        """Say it where the answer would stand."""
        if lane == "sides":
            self.query_one("#pictures", Drawn).put(lambda _, __: [])
            super().refused(lane, refusal)

    def draw(self) -> None:
        """The figure, the shares or a picture, and the table."""
        view, units = self._view, self.book.units
        if view is None:
            return
        band = "" if view.band_rpm is None else f" · band {showing.band(*view.band_rpm)}"
        counts = f"{showing.count(view.right.pulls, 'pull')} against {view.left.pulls}"
        self.query_one("#head", Text).put(
            (("Compare  ", "strong"), (view.right.label, "strong"), (" measured from ", "quiet"),
             (view.left.label, "strong")),
            one(f"{view.standard_name}{band} · {counts}"),
        )  # fmt: skip
        self.query_one("#pictures", Drawn).put(
            partial(answer_lines, view, self._curves, self.pictures, units)
        )
        self.query_one("#differing", Drawn).put(
            lambda width, _: table_lines(view, width, units), layout=True
        )

    def key_words(self, key: Key) -> str | None:
        """Something to assume only where something is not known."""
        if key.id == "sides.assume" and not self._untold:
            return None
        return super().key_words(key)

    @property
    def _untold(self) -> tuple[str, ...]:
        found = self._view.attribution if self._view is not None else None
        return found.untold if found is not None else ()

    def action_swap(self) -> None:
        """Measure the other way round; what was assumed was of the way it stood."""
        self._assumed = {}
        super().action_swap()

    def action_assume(self) -> None:
        """Say how much the changes that were never made alone can have brought."""
        if not self._untold:
            return
        from logbook.app.screens.assume_form import AssumeForm

        def taken(assumed: dict[str, tuple[float, float]] | None) -> None:
            if assumed is not None:
                self._assumed = assumed
                self.reload()

        self.app.push_screen(AssumeForm(self._untold, self._assumed), taken)

    def copied(self) -> str:
        """The answer in words."""
        if self._view is None:
            return ""
        found, units = self._view.attribution, self.book.units
        if found is None:
            worth = self._view.worth
            change = showing.signed(worth.difference_kw, units, unit=True)
            return (
                f"{self._view.right.label} from {self._view.left.label}: {change}, {worth.verdict}"
            )
        return "\n".join([sides_words.answer(found, units), *sides_words.claims(found, units)])
