"""The columns of a pull that goes out: each once, with its value, unit and meaning.

The rows, the types of a Parquet file and the data dictionary are all made of these.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from logbook.quantities import display_unit, from_stored, stored_unit
from logbook.reports.spool import FLAG, NUMBER, TEXT, WHOLE, Cell

if TYPE_CHECKING:
    from logbook.cases.results import PullStory


class Column(NamedTuple):
    """One column: its head without unit, how it is got, what it means, the key of the same value
    in JSON Lines (always SI), its kind of cell, and the kind of quantity where it is one; a
    `plain_unit` is the same in every system."""

    label: str
    value: Callable[[PullStory], Any]
    meaning: str
    key: str
    kind: str = TEXT
    quantity: str = ""
    plain_unit: str = ""

    def unit(self, system: str | None) -> str:
        """The unit it is written in; SI without a system."""
        if not self.quantity:
            return self.plain_unit
        return display_unit(self.quantity, system) if system else stored_unit(self.quantity)

    def head(self, system: str | None) -> str:
        """``Corrected band power, kW``."""
        unit = self.unit(system)
        return f"{self.label}, {unit}" if unit else self.label

    def cell(self, story: PullStory, system: str | None) -> Cell:
        """The value in its unit, in full."""
        value: Cell = self.value(story)
        if value is None or not self.quantity or not (unit := self.unit(system)):
            return value
        return from_stored(float(value), unit, self.quantity)


def _of(*path: str) -> Callable[[PullStory], Any]:
    """The value at the end of a path of attributes; ``None`` where anything on it is."""

    def value(story: PullStory) -> Any:
        found: Any = story
        for name in path:
            found = getattr(found, name) if found is not None else None
        return found

    return value


_FIGURES = (
    ("peak power", "power", "peak_power_kw", "highest power of the curve"),
    ("peak power at", "speed", "peak_power_rpm", "engine speed of the highest power"),
    ("peak torque", "torque", "peak_torque_nm", "highest torque of the curve"),
    ("peak torque at", "speed", "peak_torque_rpm", "engine speed of the highest torque"),
    ("band power", "power", "band_power_kw", "mean power over the band, by speed"),
    ("band torque", "torque", "band_torque_nm", "mean torque over the band, by speed"),
)
_AIR = (
    ("Station pressure", "pressure", "pressure_kpa", "pressure_kpa",
     "absolute pressure at the inlet"),
    ("Inlet air temperature", "temperature", "temperature_c", "temperature_c",
     "air at the inlet"),
    ("Vapor pressure", "pressure", "vapor_pressure_kpa", "vapour_pressure_kpa",
     "the part of it that is water vapor"),
    ("Dry pressure", "pressure", "dry_pressure_kpa", "dry_pressure_kpa",
     "station pressure less vapor pressure"),
    ("Air density", "density", "density_kg_m3", "density_kg_m3", "of the moist air"),
    ("Density altitude", "altitude", "density_altitude_m", "density_altitude_m",
     "where the standard atmosphere is as thin"),
)  # fmt: skip
_READINGS = (
    ("Manifold vacuum", "vacuum", "manifold_vacuum_kpa", "typed; below the surroundings"),
    ("Crankcase vacuum", "vacuum", "crankcase_vacuum_kpa", "typed; below the surroundings"),
    ("Blow-by", "volume_flow", "blow_by_m3_h", "typed"),
    ("Oil temperature", "temperature", "oil_c", "at the start of the pull"),
    ("Coolant temperature", "temperature", "coolant_c", "at the start of the pull"),
    ("Fuel temperature", "temperature", "fuel_c", "typed"),
    ("Air flow", "mass_flow", "air_flow_kg_h", "typed"),
    ("Fuel flow", "mass_flow", "fuel_flow_kg_h", "typed"),
    ("Lambda", "ratio", "lambda_ratio", "air to fuel against the stoichiometric ratio"),
)


def _figures(side: str) -> tuple[Column, ...]:
    what = "as recorded" if side == "observed" else "corrected to the standard"
    return tuple(
        Column(f"{side.capitalize()} {label}", _of("row", "score", side, attribute),
               f"{meaning}, {what}", f"{side}.{attribute}", NUMBER, quantity)
        for label, quantity, attribute, meaning in _FIGURES
    )  # fmt: skip


def _humidity(story: PullStory) -> float | None:
    share = _of("air", "state", "relative_humidity")(story)
    return None if share is None else 100.0 * float(share)


def _edge(side: int) -> Callable[[PullStory], float | None]:
    return lambda story: story.worth.interval_kw[side] if story.worth else None


_JUDGED = "against_baseline."
BEFORE_THE_SET_UP: tuple[Column, ...] = (
    Column("Engine", _of("engine", "tag"), "the engine's tag", "engine"),
    Column("Build", _of("build", "label"), "the build it was in", "build"),
    Column("Session opened", _of("session", "opened_at"), "start of the session",
           "session_opened_at", plain_unit="UTC"),
    Column("Pull", _of("row", "pull", "number"), "number within the session", "number", WHOLE),
    Column("At", _of("row", "pull", "at"), "when it was made", "at", plain_unit="UTC"),
    Column("Kind", _of("row", "pull", "kind"), "sweep, steady points or typed peaks", "kind"),
    Column("Excluded", _of("row", "pull", "excluded_reason"),
           "why it does not count; empty where it does", "entered.excluded_reason"),
    Column("Baseline", _of("row", "is_baseline"), "whether the session is measured from it",
           "is_baseline", FLAG),
    Column("Standard", _of("session", "standard"), "correction standard of the session",
           "standard"),
    Column("Power stated as", _of("session", "power_rating"), "gross or net", "power_rating"),
    Column("Correction factor", _of("row", "score", "factor"),
           "corrected = observed × factor; empty where nothing can be corrected", "factor",
           NUMBER),
    Column("Band from", _of("session", "band_low_rpm"), "low end of the speeds that count",
           "band_rpm[0]", NUMBER, plain_unit="rpm"),
    Column("Band to", _of("session", "band_high_rpm"), "high end of the speeds that count",
           "band_rpm[1]", NUMBER, plain_unit="rpm"),
    *_figures("observed"),
    *_figures("corrected"),
    Column("Against baseline", _of("worth", "difference_kw"),
           "the set-up's difference from the baseline, drift taken out",
           f"{_JUDGED}difference_kw", NUMBER, "power"),
    Column("Interval from", _edge(0), "low end of its 95 % interval",
           f"{_JUDGED}interval_kw[0]", NUMBER, "power"),
    Column("Interval to", _edge(1), "high end of its 95 % interval",
           f"{_JUDGED}interval_kw[1]", NUMBER, "power"),
    Column("Against baseline", _of("worth", "percent"), "the same in percent",
           f"{_JUDGED}percent", NUMBER, plain_unit="%"),
    Column("Judged on", _of("worth", "quantity"), "band power or peak power",
           f"{_JUDGED}quantity"),
    Column("Verdict", _of("worth", "verdict"),
           "gain, loss (so far), leaning, not settled, nothing worth having",
           f"{_JUDGED}verdict"),
    Column("Noise", _of("worth", "noise", "percent"),
           "standard deviation of a repeat that the verdict rests on",
           f"{_JUDGED}noise_percent", NUMBER, plain_unit="%"),
    Column("Noise from", _of("worth", "noise", "source"),
           "this session, cell history or assumed", f"{_JUDGED}noise_source"),
    *(Column(label, _of("air", "state", attribute), meaning, f"air.{key}", NUMBER, quantity)
      for label, quantity, attribute, key, meaning in _AIR),
    Column("Relative humidity", _humidity, "of the inlet air; in JSON a share from 0 to 1",
           "air.relative_humidity", NUMBER, "percent"),
    Column("Age of the air", _of("air", "age_minutes"), "how long before the pull it was read",
           "air.age_minutes", NUMBER, plain_unit="min"),
    *(Column(label, _of("row", "pull", attribute), meaning, f"entered.{attribute}", NUMBER,
             quantity) for label, quantity, attribute, meaning in _READINGS),
    Column("Knock check", _of("row", "pull", "knock"), "none, heard or not checked",
           "entered.knock"),
    Column("Alarms", lambda story: ", ".join(story.row.pull.alarms), "alarms during the pull",
           "entered.alarms"),
    Column("Seen and heard", _of("row", "pull", "observations"), "as typed",
           "entered.observations"),
    Column("Note", _of("row", "pull", "notes"), "as typed", "entered.notes"),
    Column("File", _of("source_name"), "name of the file it was taken from", "source"),
    Column("Pull id", _of("row", "pull", "id"), "the pull's id in every book", "id"),
    Column("Session id", _of("session", "id"), "the session's id in every book", "session"),
)  # fmt: skip
