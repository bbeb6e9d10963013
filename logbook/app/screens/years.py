"""An engine over the years: best power by build, and every measure with its control limits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line, one, rows_of, wrap
from logbook.app.widgets.lines import Lines, Text
from logbook.app.widgets.rows import Column, Row, Rows

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.over_years import OverYears, Series


class YearsPane(Lines):
    """The chosen measure, drawn for the room it gets."""

    def __init__(self) -> None:
        super().__init__(id="chosen")
        self._series: Series | None = None
        self._system = "us"

    def put(self, series: Series | None, system: str) -> None:
        """Show this one."""
        self._series, self._system = series, system
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """Its picture and its words."""
        if self._series is None:
            return []
        from logbook.app.widgets.years_words import series_lines

        return series_lines(self._series, width, height, self._system)


class YearsScreen(BookScreen[None]):
    """One line a measure; beneath, the chosen one over time."""

    place = "years"
    BINDINGS = bindings("years")
    DEFAULT_CSS = """
    YearsScreen #builds { padding: 0 1; border-bottom: solid $foreground; }
    YearsScreen Rows { height: 8; }
    YearsScreen #chosen { height: 1fr; padding: 0 1; border-top: solid $foreground; }
    """

    def __init__(self, tag: str) -> None:
        super().__init__()
        self._tag = tag
        self._found: OverYears | None = None

    @property
    def search_start(self) -> str:
        """A search begins within this engine."""
        return f'engine:"{self._tag}" '

    def content(self) -> ComposeResult:
        """Heading, best by build, measures, the one chosen."""
        yield Text(((f"{self._tag} over the years", "strong"),), id="head")
        yield Text(id="builds")
        yield Rows(
            (
                Column("", 2),
                Column("Measure", 0),
                Column("Last", 8, "right"),
                Column("Control limits", 17, "right"),
                Column("A year, 95 %", 26, "right", least=100),
            ),
            empty="Looking back …",
        )
        yield YearsPane()

    def reload(self) -> None:
        """Look back."""
        tag = self._tag

        def job(desk: Desk) -> OverYears:
            from logbook.cases.over_years import over_years

            return over_years(desk, tag)

        self.ask("years", job, Got, "looking back over the years")

    def got(self, lane: str, result: object) -> None:
        """Show it."""
        from logbook.engineering.correction import standard
        from logbook.reports.showing import band

        found = self._found = cast("OverYears", result)
        engine, units = found.engine, self.book.units
        name = f"{engine.tag} {engine.name}".strip()
        family = f"  family {engine.family}" if engine.family else ""
        self.query_one("#head", Text).put(((f"{name} over the years", "strong"), (family, "quiet")))
        bands = {best.band_rpm for best in found.builds if best.band_rpm}
        bests = [
            (
                (f"{best.build} ", "quiet"),
                (quantities.show(best.power_kw, "power", units), "strong"),
                ("" if best.is_band else " peak", "quiet"),
                (f" {band(*best.band_rpm)}" if best.band_rpm and len(bands) > 1 else "", "quiet"),
                (f" {standard(best.standard).name}", "quiet"),
            )
            for best in found.builds
        ]
        width = max(20, self.size.width - 2)
        head = one("Best by build", "strong") if bests else one("No power on file yet", "quiet")
        notes = [
            line
            for note in found.notes
            for line in wrap(f"⚠ {note}", width, "caution", indent="  ")
        ]
        self.query_one("#builds", Text).put(*rows_of([head, *bests], width), *notes)
        rows = self.query_one(Rows)
        rows.empty = "Nothing was measured yet that could be followed."
        rows.put([self._row(place, series) for place, series in enumerate(found.series)])
        self._show_chosen()

    def _row(self, place: int, series: Series) -> Row:
        from logbook.reports.years_report import figure, limits_text, trend_text

        units, measure = self.book.units, series.measure
        unit = quantities.display_unit(measure.kind, units)
        role = "loss" if series.worse else ""
        return Row(
            str(place),
            (
                one(series.sign, role or "quiet"),
                one(f"{measure.label}, {unit}", "strong"),
                one(figure(series.points[-1].value, measure.kind, units), role),
                one(limits_text(series, units), "quiet"),
                one(trend_text(series, units), "quiet"),
            ),
        )

    def on_rows_moved(self, message: Rows.Moved) -> None:
        """Another measure is chosen."""
        self._show_chosen()

    def _show_chosen(self) -> None:
        row = self.query_one(Rows).current
        series = self._found.series[int(row.key)] if row and self._found else None
        self.query_one(YearsPane).put(series, self.book.units)
