"""The fields a person fills in: one list for the forms, the command line and the carry-forward.

A field knows its key (the command line's option, the form's id), its label, the kind of
quantity it takes and the record attribute that keeps it. `read` turns text into the stored
value or refuses; the screens call it while the person types.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from logbook import quantities
from logbook.records.pull import ALARMS, KNOCK_HEARD, KNOCK_NONE, KNOCK_UNKNOWN
from logbook.records.setup import FUEL, TIMING, Level, factor_key
from logbook.refusals import BadInput

LONGEST_NOTE = 1_000_000
LONGEST_WORD = 200


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that can be typed.

    `kind` is a quantity kind of `logbook.quantities`, or ``"text"``, ``"note"``, ``"choice"``,
    ``"choices"`` (comma separated), ``"count"`` (whole number), ``"number"``, ``"yes or no"``.
    `low`/`high` bound the stored value (inclusive).
    """

    key: str
    label: str
    kind: str
    attribute: str
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    example: str = ""

    @property
    def is_quantity(self) -> bool:
        """Whether a unit belongs to it."""
        return self.kind not in _PLAIN_KINDS


_PLAIN_KINDS = frozenset({"text", "note", "choice", "choices", "count", "number", "yes or no"})

Stored = float | int | str | bool | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A value as stored, with the text it was typed as."""

    value: Stored
    typed: str


AIR_FIELDS: tuple[Field, ...] = (
    Field("pressure", "Station pressure", "pressure", "pressure_kpa", example="29.42 inHg"),
    Field("temperature", "Inlet air temperature", "temperature", "temperature_c", example="78 F"),
    Field("rh", "Relative humidity", "fraction", "humidity", example="41 %"),
    Field("wet-bulb", "Wet bulb", "temperature", "humidity", example="64 F"),
    Field("dew-point", "Dew point", "temperature", "humidity", example="55 F"),
    Field("vapor-pressure", "Vapor pressure", "pressure", "humidity", example="0.45 inHg"),
    Field("mixing-ratio", "Mixing ratio", "mixing_ratio", "humidity", example="70 grains/lb"),
)
HUMIDITY_KIND = {
    "rh": "relative",
    "wet-bulb": "wet bulb",
    "dew-point": "dew point",
    "vapor-pressure": "vapor pressure",
    "mixing-ratio": "mixing ratio",
}

PEAK_FIELDS: tuple[Field, ...] = (
    Field("peak-power", "Peak power", "power", "peak_power_kw", low=0, example="412 hp"),
    Field("power-at", "Peak power at", "speed", "peak_power_rpm", low=1, high=30_000),
    Field("peak-torque", "Peak torque", "torque", "peak_torque_nm", low=0, example="398 lb-ft"),
    Field("at", "Peak torque at", "speed", "peak_torque_rpm", low=1, high=30_000),
)

READING_FIELDS: tuple[Field, ...] = (
    Field(
        "manifold-vacuum", "Manifold vacuum", "vacuum", "manifold_vacuum_kpa", low=-200, high=110
    ),
    Field(
        "crankcase-vacuum", "Crankcase vacuum", "vacuum", "crankcase_vacuum_kpa", low=-200, high=110
    ),
    Field("blow-by", "Blow-by", "volume_flow", "blow_by_m3_h", low=0),
    Field("oil", "Oil temperature", "temperature", "oil_c", low=-40, high=250),
    Field("coolant", "Coolant temperature", "temperature", "coolant_c", low=-40, high=200),
    Field("fuel-temperature", "Fuel temperature", "temperature", "fuel_c", low=-40, high=120),
    Field("air-flow", "Air flow", "mass_flow", "air_flow_kg_h", low=0),
    Field("fuel-flow", "Fuel flow", "mass_flow", "fuel_flow_kg_h", low=0),
    Field("lambda", "Lambda", "number", "lambda_ratio", low=0.1, high=10),
    Field("zero-before", "Load-cell zero before", "torque", "zero_before_nm"),
    Field("zero-after", "Load-cell zero after", "torque", "zero_after_nm"),
    Field(
        "knock",
        "Knock check",
        "choice",
        "knock",
        choices=(KNOCK_NONE, KNOCK_HEARD, KNOCK_UNKNOWN),
    ),
    Field("alarms", "Alarms", "choices", "alarms", choices=ALARMS),
    Field("throttle", "Throttle fully open", "yes or no", "throttle_open"),
    Field("sweep-start", "Sweep from", "speed", "sweep_start_rpm", low=0, high=30_000),
    Field("sweep-rate", "Sweep rate", "speed_rate", "sweep_rate_rpm_s", low=0, high=10_000),
    Field("oil-hours", "Hours on the oil", "number", "oil_hours", low=0),
    Field("observed", "Seen and heard", "note", "observations"),
    Field("note", "Note", "note", "notes"),
)

ENGINE_FIELDS: tuple[Field, ...] = (
    Field("name", "Name", "text", "name"),
    Field("owner", "Owner", "text", "owner"),
    Field("family", "Family", "text", "family"),
    Field("layout", "Layout", "text", "layout", example="inline four"),
    Field("cylinders", "Cylinders", "count", "cylinders", low=1, high=64),
    Field("bore", "Bore", "length", "bore_mm", low=1, high=2000, example="86 mm"),
    Field("stroke", "Stroke", "length", "stroke_mm", low=1, high=4000, example="86 mm"),
    Field("strokes", "Two or four stroke", "choice", "strokes", choices=("4", "2")),
    Field("ignition", "Ignition", "choice", "ignition", choices=("spark", "compression")),
    Field("aspiration", "Aspiration", "choice", "aspiration", choices=("natural", "boosted")),
    Field("compression-ratio", "Compression ratio", "number", "compression_ratio", low=1, high=40),
    Field("limit-speed", "Speed limit", "speed", "limit_speed_rpm", low=1, high=30_000),
    Field("limit-timing", "Timing limit, total", "angle", "limit_timing_deg", low=-20, high=80),
    Field("least-timing", "Least timing", "angle", "least_timing_deg", low=-20, high=80),
    Field("limit-coolant", "Coolant limit", "temperature", "limit_coolant_c", low=0, high=200),
    Field("limit-oil", "Oil limit", "temperature", "limit_oil_c", low=0, high=250),
    Field("limit-exhaust", "Exhaust limit", "temperature", "limit_exhaust_c", low=0, high=1300),
    Field("least-oil-pressure", "Least oil pressure", "pressure", "least_oil_pressure_kpa", low=0),
    Field(
        "limit-crankcase-vacuum",
        "Crankcase vacuum limit",
        "vacuum",
        "limit_crankcase_vacuum_kpa",
        low=0,
    ),
    Field("ready-oil-low", "Ready: oil from", "temperature", "ready_oil_low_c"),
    Field("ready-oil-high", "Ready: oil to", "temperature", "ready_oil_high_c"),
    Field("ready-coolant-low", "Ready: coolant from", "temperature", "ready_coolant_low_c"),
    Field("ready-coolant-high", "Ready: coolant to", "temperature", "ready_coolant_high_c"),
    Field("inertia", "Rotating inertia", "inertia", "inertia_kg_m2", low=0),
    Field("break-in", "Break-in log", "note", "break_in"),
    Field("note", "Note", "note", "notes"),
)

FUEL_FIELDS: tuple[Field, ...] = (
    Field("batch", "Batch", "text", "batch"),
    Field("density", "Density", "density", "density_kg_m3", low=300, high=2000),
    Field("density-at", "Density at", "temperature", "density_at_c", low=-40, high=60),
    Field("carbon", "Carbon atoms", "number", "carbon", low=0, high=100),
    Field("hydrogen", "Hydrogen atoms", "number", "hydrogen", low=0, high=200),
    Field("oxygen", "Oxygen atoms", "number", "oxygen", low=0, high=50),
    Field("nitrogen", "Nitrogen atoms", "number", "nitrogen", low=0, high=50),
    Field(
        "stoichiometric-ratio",
        "Stoichiometric ratio",
        "number",
        "stoichiometric_ratio",
        low=1,
        high=40,
    ),
    Field(
        "heating-value", "Heating value", "heating_value", "heating_value_mj_kg", low=1, high=150
    ),
    Field("ron", "Octane, RON", "number", "octane_ron", low=0, high=150),
    Field("mon", "Octane, MON", "number", "octane_mon", low=0, high=150),
    Field("opened-on", "Opened on", "text", "opened_on"),
    Field("note", "Note", "note", "notes"),
)

CELL_FIELDS: tuple[Field, ...] = (
    Field("altitude", "Altitude", "altitude", "altitude_m", low=-500, high=6000, example="1250 ft"),
    Field("time-zone", "Time zone", "text", "time_zone"),
    Field("absorber", "Absorber", "text", "absorber"),
    Field("arm", "Arm length", "length", "arm_mm", low=1, high=5000),
    Field("inertia", "Rotating inertia", "inertia", "inertia_kg_m2", low=0),
    Field("units", "Units", "choice", "units", choices=("us", "metric")),
    Field("stale-after", "Air is stale after", "minutes", "air_stale_after_min", low=1, high=1440),
    Field("worth-having", "Worth having", "number", "worth_having_percent", low=0.01, high=20),
    Field("note", "Note", "note", "notes"),
)

# Common factors and the unit a bare number takes; any other factor keeps its text.
FACTOR_KINDS: Mapping[str, str] = {TIMING: "angle"}
SUGGESTED_FACTORS = (
    TIMING, FUEL, "carburetor", "main jets", "air bleeds", "power valve", "spacer",
    "float level", "fuel pressure", "plugs", "plug gap", "manifold", "header", "lash",
    "vacuum pump", "air cleaner",
)  # fmt: skip


def by_key(fields: tuple[Field, ...]) -> dict[str, Field]:
    """The fields by their key."""
    return {field.key: field for field in fields}


def read(field: Field, text: str, units: str | None) -> Entry:
    """Text → stored value.

    `units` is the display system whose unit a bare number takes (``"us"`` or ``"metric"``), or
    ``None`` where a quantity must bring its unit (scripts). Raises `BadInput` in a sentence.
    """
    typed = text.strip()
    if not typed:
        raise BadInput("nothing was given", where=field.label, wanted=_wanted(field))
    if field.is_quantity:
        bare = quantities.display_unit(field.kind, units) if units else _safe_bare(field.kind)
        measured = quantities.parse(typed, field.kind, field=field.label, bare_unit=bare)
        # with the unit a bare number was taken in, so that it reads back right ever after
        return Entry(_bounded(field, measured.value, typed), measured.typed)
    return Entry(_value(field, typed), typed)


def _value(field: Field, typed: str) -> Stored:
    match field.kind:
        case "number":
            return _bounded(field, _number(field, typed), typed)
        case "count":
            number = _bounded(field, _number(field, typed), typed)
            if number != int(number):
                raise BadInput(f"{typed} is not a whole number", where=field.label)
            return int(number)
        case "choice":
            return _choice(field, typed)
        case "choices":
            return tuple(str(_choice(field, part)) for part in typed.split(",") if part.strip())
        case "yes or no":
            return _yes_or_no(field, typed)
        case _:
            longest = LONGEST_NOTE if field.kind == "note" else LONGEST_WORD
            if len(typed) > longest:
                raise BadInput(
                    f"{len(typed)} characters is longer than a {field.kind} may be",
                    where=field.label,
                    wanted=f"at most {longest} characters",
                )
            return typed


def _safe_bare(kind: str) -> str | None:
    """A bare number in a script is taken only where no other unit is in use."""
    return {"speed": "rpm", "angle": "deg", "fraction": "%"}.get(kind)


def _number(field: Field, typed: str) -> float:
    try:
        value = float(typed.replace("−", "-"))
    except ValueError:
        raise BadInput(
            f"{typed[:40]!r} is not a number", where=field.label, wanted=_wanted(field)
        ) from None
    if not math.isfinite(value):
        raise BadInput(f"{typed} is not a finite number", where=field.label)
    return value


def _bounded(field: Field, value: float, typed: str) -> float:
    below = field.low is not None and value < field.low
    above = field.high is not None and value > field.high
    if below or above:
        unit = f" {quantities.stored_unit(field.kind)}" if field.is_quantity else ""
        low = "" if field.low is None else f"from {field.low:g}{unit}"
        high = "" if field.high is None else f"up to {field.high:g}{unit}"
        raise BadInput(
            f"{typed} is out of range", where=field.label, wanted=f"{low} {high}".strip()
        )
    return value


def _choice(field: Field, typed: str) -> Stored:
    wanted = factor_key(typed)
    for choice in field.choices:
        if factor_key(choice) == wanted:
            return int(choice) if choice.isdigit() else choice
    raise BadInput(
        f"{typed[:40]!r} is not one of the choices",
        where=field.label,
        wanted="one of " + ", ".join(field.choices),
    )


def _yes_or_no(field: Field, typed: str) -> bool:
    word = typed.casefold()
    if word in {"yes", "y", "true", "1"}:
        return True
    if word in {"no", "n", "false", "0"}:
        return False
    raise BadInput(f"{typed[:40]!r} is neither yes nor no", where=field.label, wanted="yes or no")


def _wanted(field: Field) -> str:
    if field.example:
        return f"a value such as {field.example}"
    if field.choices:
        return "one of " + ", ".join(field.choices)
    return "a value"


def read_level(factor: str, text: str) -> Level:
    """The level of a factor. Timing is an angle; numbers and quantities of other factors are
    compared by value, and everything keeps the text that was typed."""
    typed = text.strip()
    if not factor_key(factor):
        raise BadInput("a factor needs a name", where="Set-up", wanted="such as main jets = 82")
    if not typed:
        raise BadInput("nothing was given", where=factor, wanted="a level, such as 82")
    if len(typed) > LONGEST_WORD or len(factor) > LONGEST_WORD:
        raise BadInput(
            "too long for a factor", where=factor[:40], wanted=f"at most {LONGEST_WORD} characters"
        )
    kind = FACTOR_KINDS.get(factor_key(factor))
    if kind:
        measured = quantities.parse(typed, kind, field=factor.capitalize(), bare_unit="deg")
        if not -20 <= measured.value <= 80:
            raise BadInput(
                f"{typed} is outside −20–80°",
                where=factor.capitalize(),
                wanted="degrees before top dead center, such as 32",
            )
        return Level(typed, measured.value, quantities.stored_unit(kind))
    try:
        number = float(typed)
    except ValueError:
        return _quantity_level(typed)
    return Level(typed, number) if math.isfinite(number) else Level(typed)


def _quantity_level(typed: str) -> Level:
    """A level such as ``0.3 mm`` compares by value; any other text stands as text."""
    number, _, unit = typed.partition(" ")
    known = quantities.known_unit(unit) if unit else None
    if known is None:
        return Level(typed)
    try:
        value = quantities.parse(typed, known[1], field="level").value
    except BadInput:
        return Level(typed)  # a text that only looks like a quantity is still a level
    return Level(typed, value, quantities.stored_unit(known[1])) if number else Level(typed)


def read_band(text: str, *, field: str = "Band") -> tuple[float, float]:
    """``5500-8500`` → (5500.0, 8500.0) rpm."""
    cleaned = text.replace("–", "-").replace("..", "-").casefold().removesuffix("rpm").strip()
    low, dash, high = cleaned.partition("-")
    wanted = "two speeds in rpm, such as 4500-6500"
    if not dash:
        raise BadInput(f"{text[:40]!r} is not a band", where=field, wanted=wanted)
    edges = [
        quantities.parse(part, "speed", field=field, bare_unit="rpm").value for part in (low, high)
    ]
    if not 0 < edges[0] < edges[1] <= 30_000:
        raise BadInput(
            f"{text[:40]!r} does not run upward within 0–30 000 rpm", where=field, wanted=wanted
        )
    return edges[0], edges[1]
