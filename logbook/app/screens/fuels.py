"""The fuels on file; beneath the list the one chosen, or the step to it from the one marked."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.field import TextEntry
from logbook.app.widgets.ink import Line, at_most, one, pad, rows_of, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.cases.field_lists import FUEL_FIELDS
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.fuel_compare import FuelCompare, FuelSheet
    from logbook.records.engine import Fuel

NAME = "name"
_LABEL, _VALUE = 26, 16
_SHARE_OF_HEIGHT = 75  # as the style sheet has it


class FuelsScreen(BookScreen[None]):
    """Newest first. Enter marks the fuel in the tank; the next one chosen is compared with it."""

    place = "fuels"
    BINDINGS = bindings("fuels")
    DEFAULT_CSS = """
    FuelsScreen #chosen { height: auto; padding: 0 1; border-top: solid $foreground;
                          max-height: 75%; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._labels: dict[str, str] = {}

    def content(self) -> ComposeResult:
        """Heading, list, the one chosen."""
        yield Text((("Fuels", "strong"),), id="head")
        units = self.book.units
        yield Rows(
            (
                Column("Fuel", 0),
                Column(f"Density, {quantities.display_unit('density', units)}", 14, "right"),
                Column("Ratio", 6, "right"),
                Column(
                    f"Heating, {quantities.display_unit('heating_value', units)}",
                    15,
                    "right",
                    least=100,
                ),
                Column("Opened on", 11),
            ),
            empty="No fuel on file: n enters one.",
        )
        yield Text(id="chosen")

    def reload(self) -> None:
        """Read the fuels."""

        def job(desk: Desk) -> list[Fuel]:
            from logbook.cases.engines import list_fuels

            return list_fuels(desk)

        self.ask("fuels", job, Got)

    def got(self, lane: str, result: object) -> None:
        """The list, or what is known of the one chosen."""
        if lane == "fuels":
            self._list(cast("list[Fuel]", result))
        else:
            room = max(4, self.size.height * _SHARE_OF_HEIGHT // 100 - 1)
            self.query_one("#chosen", Text).put(*at_most(cast("list[Line]", result), room))

    def _list(self, fuels: list[Fuel]) -> None:
        from logbook.cases.engines import fuel_label

        units = self.book.units
        self._labels = {fuel.id: fuel_label(fuel) for fuel in fuels}

        def shown(value: float | None, kind: str, digits: int | None = None) -> str:
            return quantities.show(value, kind, units, unit=False, digits=digits)

        self.query_one(Rows).put(
            [
                Row(
                    fuel.id,
                    (
                        one(self._labels[fuel.id], "strong"),
                        one(shown(fuel.density_kg_m3, "density", 1)),
                        one("" if fuel.stoichiometric_ratio is None
                            else f"{fuel.stoichiometric_ratio:.2f}"),
                        one(shown(fuel.heating_value_mj_kg, "heating_value")),
                        one(showing.date_words(fuel.opened_on), "quiet"),
                    ),
                )
                for fuel in fuels
            ]
        )  # fmt: skip
        self._show_chosen()
        self.refresh_keys()

    def on_rows_moved(self, message: Rows.Moved) -> None:
        """Another fuel is chosen."""
        self._show_chosen()
        self.refresh_keys()

    def _show_chosen(self) -> None:
        rows, units = self.query_one(Rows), self.book.units
        if rows.current is None:
            return
        new = self._labels[rows.current.key]
        old = next((self._labels[key] for key in rows.marked if key in self._labels), None)
        width = max(20, self.size.width - 2)

        def job(desk: Desk) -> list[Line]:
            from logbook.cases.fuel_compare import compare_fuels, fuel_sheet

            if old is None or old == new:
                return sheet_lines(fuel_sheet(desk, new), width, units)
            return compare_lines(compare_fuels(desk, old, new), width, units)

        self.ask("chosen", job, Got)

    def key_words(self, key: Key) -> str | None:
        """Nothing to mark without a fuel."""
        rows = self.query_one(Rows)
        if key.id == "fuels.mark":
            if rows.current is None:
                return None
            return "unmark" if rows.current.key in rows.marked else "compare from"
        return key.words

    def action_mark(self) -> None:
        """The chosen fuel is the one in the tank, or no longer."""
        rows = self.query_one(Rows)
        if rows.current is not None:
            rows.marked &= {rows.current.key}
            rows.mark(rows.current.key)
            self._show_chosen()
            self.refresh_keys()

    def action_add(self) -> None:
        """Enter a fuel."""
        self.app.push_screen(FuelForm())


class FuelForm(RecordForm[str]):
    """A batch of fuel."""

    place = "fuel"
    BINDINGS = bindings("fuel")
    record_fields = FUEL_FIELDS
    title_words = "A batch of fuel"

    def __init__(self) -> None:
        super().__init__("fuel")

    def entries(self) -> ComposeResult:
        """Its name, and what its sheet says."""
        yield TextEntry(NAME, "Name", hint="such as Tango")
        yield from filled(FUEL_FIELDS, None, self.book.units)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Enter it."""
        touched = self.touched()
        name, units = touched.pop(NAME, "").strip(), self.book.units
        if not name:
            self.notice("A fuel needs a name, such as Tango.", "error")
            self.focus_first()
            return None

        def job(desk: Desk) -> str:
            from logbook.cases.engines import add_fuel, fuel_label

            return fuel_label(add_fuel(desk, name, touched, units=units))

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"Fuel {result} entered. u takes it back.")


def sheet_lines(found: FuelSheet, width: int, system: str) -> list[Line]:
    """What is known of one fuel, each figure with where it came from."""
    from logbook.reports.fuel_report import fuel_lines

    lines: list[Line] = [one(found.label, "strong")]
    for label, value, source in fuel_lines(found.figures, system):
        lines.append(((pad(label, _LABEL), "quiet"), (pad(value, _VALUE, "right"), ""),
                      (f"  {source}", "quiet")))  # fmt: skip
    return lines


def compare_lines(view: FuelCompare, width: int, system: str) -> list[Line]:
    """What the step asks and the cautions beside it; then both fuels side by side."""
    from logbook.reports.fuel_report import compare_lines as step_lines
    from logbook.reports.fuel_report import fuel_lines

    heading: Line = (
        (pad("", _LABEL), ""), (pad(view.old.label, _VALUE, "right"), "other"), (" → ", "quiet"),
        (pad(view.new.label, _VALUE), "strong"),
    )  # fmt: skip
    lines: list[Line] = []
    parts: list[Line] = [
        ((f"{label} ", "quiet"), (value, "strong" if "Jet" in label else ""))
        for label, value in step_lines(view, system)
    ]
    lines += rows_of(parts, width)
    for caution in view.change.cautions:
        lines += wrap(f"⚠ {caution.text}", width, "caution", indent="  ")
    old, new = (fuel_lines(one_.figures, system) for one_ in (view.old, view.new))
    lines += [heading] + [
        ((pad(label, _LABEL), "quiet"), (pad(before, _VALUE, "right"), "other"), (" → ", "quiet"),
         (pad(after, _VALUE), ""))
        for (label, before, _), (_, after, _) in zip(old, new, strict=True)
    ]  # fmt: skip
    return lines
