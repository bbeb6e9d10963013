"""A new air reading: three numbers, and what follows from them while they are typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.form import Form
from logbook.app.widgets.answer_words import caution_lines
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.entries import SectionLine
from logbook.app.widgets.field import Entry, TextEntry
from logbook.app.widgets.ink import Line, one
from logbook.app.widgets.lines import Text
from logbook.cases.field_lists import AIR_FIELDS, HUMIDITY_KIND, by_key

if TYPE_CHECKING:
    from logbook.cases.air import AirReport
    from logbook.cases.desk import Desk
    from logbook.cases.results import SessionView
    from logbook.records.air import AirReading

HUMIDITY, KIND, SEA = "humidity", "humidity-kind", "pressure-is"
STATION, SEA_LEVEL = "station", "sea level"
_STORED_UNITS = {
    "pressure": "kPa", "temperature": "degC", "rh": "", "wet-bulb": "degC", "dew-point": "degC",
    "vapor-pressure": "kPa", "mixing-ratio": "kg/kg",
}  # fmt: skip
# Which pressure it is stands in a field of its own.
_AS_LABELED = tuple(
    replace(field, label="Pressure") if field.key == "pressure" else field for field in AIR_FIELDS
)


class AirForm(Form[None]):
    """Pressure, temperature, humidity; Enter on the third takes them down."""

    place = "air"
    BINDINGS = bindings("air")
    title_words = "Air at the inlet"

    def __init__(self, view: SessionView) -> None:
        super().__init__(f"air-{view.session.id}")
        self._view = view
        self._before = view.air.reading if view.air else None
        kinds = {kind: key for key, kind in HUMIDITY_KIND.items()}
        self._kind = kinds[self._before.humidity_kind] if self._before else "rh"

    def entries(self) -> ComposeResult:
        """The three numbers first; what they are below."""
        units, before = self.book.units, self._before
        fields = by_key(_AS_LABELED)
        for key in ("pressure", "temperature"):
            field = fields[key]
            value = getattr(before, field.attribute) if before else None
            yield TextEntry(
                key, field.label,
                unit=quantities.display_unit(field.kind, units),
                hint=_was(value, field.kind, units),
            )  # fmt: skip
        humidity = fields[self._kind]
        yield TextEntry(
            HUMIDITY, humidity.label, unit=quantities.display_unit(humidity.kind, units),
            hint=_was(before.humidity if before else None, humidity.kind, units),
        )  # fmt: skip
        yield SectionLine("What they are")
        yield ChoiceEntry(
            KIND, "Humidity as", tuple(HUMIDITY_KIND), self._kind,
            words=[fields[key].label.casefold() for key in HUMIDITY_KIND],
        )  # fmt: skip
        yield ChoiceEntry(
            SEA, "Pressure is", (STATION, SEA_LEVEL), STATION,
            words=("read in the cell", "reduced to sea level"),
        )  # fmt: skip
        yield SectionLine("What follows from them")
        yield Text(id="follows")

    def key_words(self, key: Key) -> str | None:
        """Enter takes the reading down from the third number on; then Ctrl+S is the same."""
        if key.id == "form.save" and self._saves_on_enter():
            return None
        if key.id == "form.enter" and self._saves_on_enter():
            return "take down"
        return key.words

    def _saves_on_enter(self) -> bool:
        return self.place_of_focus(self.all_entries()) >= 2

    def advance(self) -> None:
        """The third number is the last that is needed."""
        if self._saves_on_enter():
            self.save_after_typing()
        else:
            super().advance()

    # -- what is typed -----------------------------------------------------------------------

    @property
    def sea_level(self) -> bool:
        """Whether the pressure is one reduced to sea level."""
        entry = self.entry(SEA)
        return entry is not None and entry.value == SEA_LEVEL

    def typed(self) -> dict[str, str]:
        """The touched numbers under the keys of `AIR_FIELDS`."""
        given = {entry.key: entry.value.strip() for entry in self.all_entries()}
        found = {key: given[key] for key in ("pressure", "temperature") if given[key]}
        if given[HUMIDITY]:
            found[given[KIND]] = given[HUMIDITY]
        return found

    def edited(self, entry: Entry) -> None:
        """Another kind of humidity has another name and unit."""
        if entry.key == KIND:
            field = by_key(AIR_FIELDS)[entry.value]
            humidity = self.entry(HUMIDITY)
            assert humidity is not None
            humidity.label = field.label
            humidity.unit = quantities.display_unit(field.kind, self.book.units)
            humidity.hint = ""
            humidity.redraw(layout=True)
        super().edited(entry)

    def check(self) -> None:
        """Errors beside the fields; what follows from the numbers below."""
        typed, units = self.typed(), self.book.units
        before, cell, sea = self._before, self._view.cell, self.sea_level
        height = cell.altitude_m

        def job(desk: Desk) -> tuple[dict[str, str], AirReport | None]:
            from logbook.app.screens.form import errors_in
            from logbook.cases.air import air_from_typed
            from logbook.cases.entry import carries
            from logbook.refusals import Refusal

            stands = before is not None and carries(before, desk.timestamp(), cell)
            whole = {**(_carried(before, typed) if stands else {}), **typed}
            errors = errors_in(_AS_LABELED, typed, units)
            if errors or len(whole) < 3:
                return errors, None
            try:
                altitude = None if height is None else f"{height} m"
                report = air_from_typed(whole, units=units, altitude=altitude, sea_level=sea)
            except Refusal as refusal:
                return {_field_of(refusal.where, typed): refusal.sentence}, None
            return errors, report

        self.ask("check", job, Got)

    def got(self, lane: str, result: object) -> None:
        """The check of this form says more than errors."""
        if lane != "check":
            super().got(lane, result)
        else:
            errors, report = cast("tuple[dict[str, str], AirReport | None]", result)
            kind = self.entry(KIND)
            assert kind is not None
            self.show_errors(
                {HUMIDITY if key == kind.value else key: text for key, text in errors.items()}
            )
            width = max(20, self.size.width - 4)
            lines = self._follows(report, width) if report else []
            self.query_one("#follows", Text).put(*lines)

    def _follows(self, report: AirReport, width: int) -> list[Line]:
        units, state = self.book.units, report.state
        correction = report.corrections[self._view.session.standard]
        shown = (
            ("Station pressure", quantities.show(state.pressure_kpa, "pressure", units)),
            ("Relative humidity", f"{state.relative_humidity * 100:.1f} %"),
            ("Vapor pressure", quantities.show(state.vapor_pressure_kpa, "pressure", units)),
            ("Dry pressure", quantities.show(state.dry_pressure_kpa, "pressure", units)),
            ("Density", quantities.show(state.density_kg_m3, "density", units)),
            ("Density altitude", quantities.show(state.density_altitude_m, "altitude", units)),
            (f"Factor, {self._view.standard_name}", f"{correction.factor:.4f}"),
        )
        lines: list[Line] = [
            (("  ", ""), (f"{label:<24}", "quiet"), (text, "strong")) for label, text in shown
        ]
        sea = [c for c in report.cautions if c.code == "sea-level-pressure"]
        lines += caution_lines([*sea, *correction.cautions], width)
        if sea:
            lines.append(one("  If so, say above that the pressure is reduced to sea level.", ""))
        return lines

    def save_job(self) -> Callable[[Desk], str] | None:
        """Take it down."""
        typed, units, sea = self.typed(), self.book.units, self.sea_level
        session_id = self._view.session.id
        if not typed:
            self.notice("Nothing was typed: Esc leaves the reading as it is.", "error")
            return None

        def job(desk: Desk) -> str:
            from logbook.cases.pulls import new_air

            view = new_air(desk, session_id, typed, units=units, sea_level=sea)
            factor = "" if view.factor is None else f" Factor {view.factor:.4f}."
            return f"Air taken down.{factor} u takes it back."

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(str(result))


def _field_of(where: str | None, typed: Mapping[str, str]) -> str:
    """The key of the number that a refusal of the whole state is about."""
    named = (where or "").casefold()
    for key, word in (("temperature", "air temperature"), ("pressure", "station pressure")):
        if word in named and key in typed:
            return key
    return next((key for key in typed if key in HUMIDITY_KIND), "pressure")


def _was(value: float | None, kind: str, units: str) -> str:
    return "" if value is None else f"was {quantities.show(value, kind, units)}"


def _carried(before: AirReading | None, typed: Mapping[str, str]) -> dict[str, str]:
    """The earlier reading's numbers for those not typed, with the units they are stored in."""
    if before is None:
        return {}
    fields = by_key(AIR_FIELDS)
    humidity = next(key for key, kind in HUMIDITY_KIND.items() if kind == before.humidity_kind)
    carried = {}
    for key in ("pressure", "temperature", humidity):
        if key == humidity and any(other in typed for other in HUMIDITY_KIND):
            continue
        value = getattr(before, fields[key].attribute)
        unit = _STORED_UNITS[key]
        carried[key] = f"{value * 100:.6f} %" if key == "rh" else f"{value:.9g} {unit}"
    return carried
