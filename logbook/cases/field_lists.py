"""What can be typed into each record: the tables that the forms and the command line share."""

from __future__ import annotations

from logbook.cases.fields import Field
from logbook.records.pull import ALARMS, KNOCK_HEARD, KNOCK_NONE, KNOCK_UNKNOWN
from logbook.unit_systems import UNIT_SYSTEMS

AIR_FIELDS: tuple[Field, ...] = (
    Field(
        "pressure",
        "Station pressure",
        "pressure",
        "pressure_kpa",
        example="29.42 inHg",
        limit="air pressure",
    ),
    Field(
        "temperature",
        "Inlet air temperature",
        "temperature",
        "temperature_c",
        example="78 F",
        limit="air temperature",
    ),
    Field(
        "rh",
        "Relative humidity",
        "fraction",
        "humidity",
        example="41 %",
        limit="relative humidity",
    ),
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
    Field(
        "displacement",
        "Displacement, stated",
        "displacement",
        "displacement_l",
        low=0.001,
        high=1000,
        example="1.998 L",
    ),
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
    Field(
        "least-oil-pressure",
        "Least oil pressure",
        "cylinder_pressure",
        "least_oil_pressure_kpa",
        low=0,
    ),
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
    Field("units", "Units", "choice", "units", choices=UNIT_SYSTEMS),
    Field("stale-after", "Air is stale after", "minutes", "air_stale_after_min", low=1, high=1440),
    Field("worth-having", "Worth having", "number", "worth_having_percent", low=0.01, high=20),
    Field("note", "Note", "note", "notes"),
)


def _lash(key: str, label: str, attribute: str) -> Field:
    return Field(key, label, "clearance", attribute, low=0, high=5, example="0.012 in", many=True)


INSPECTION_FIELDS: tuple[Field, ...] = (
    Field("date", "Date", "day", "inspected_on", example="2026-03-01"),
    Field("kind", "Kind", "text", "kind", example="after the season"),
    Field("who", "By", "text", "who"),
    Field("leak-down", "Leak-down", "percent", "leak_down_percent", low=0, high=100,
          example="4 5 - 3.5 %", many=True),
    Field("cranking", "Cranking compression", "cylinder_pressure", "cranking_kpa", low=0,
          high=10_000, example="175 178 - 172 psi", many=True),
    _lash("lash-intake-hot", "Lash, intake, hot", "lash_intake_hot_mm"),
    _lash("lash-exhaust-hot", "Lash, exhaust, hot", "lash_exhaust_hot_mm"),
    Field("lash-hot-at", "Lash, hot, at", "temperature", "lash_hot_c", low=-40, high=250),
    _lash("lash-intake-cold", "Lash, intake, cold", "lash_intake_cold_mm"),
    _lash("lash-exhaust-cold", "Lash, exhaust, cold", "lash_exhaust_cold_mm"),
    Field("lash-cold-at", "Lash, cold, at", "temperature", "lash_cold_c", low=-40, high=120),
    Field("plugs", "Plugs", "text", "plugs", example="tan; tan; dark; tan", many=True),
    Field("filter-cut", "Filter cut open", "note", "filter_cut"),
    Field("note", "Note", "note", "notes"),
)  # fmt: skip

DUE_FIELDS: tuple[Field, ...] = (
    Field("pulls", "After pulls", "count", "limit_pulls", low=1, high=1_000_000),
    Field("minutes", "After recorded time", "minutes", "limit_minutes", low=1, example="120 min"),
    Field("days", "After days", "count", "limit_days", low=1, high=100_000),
    Field("note", "Note", "note", "notes"),
)


def by_attribute(fields: tuple[Field, ...]) -> dict[str, Field]:
    """The fields by the attribute that keeps them."""
    return {field.attribute: field for field in fields}


def by_key(fields: tuple[Field, ...]) -> dict[str, Field]:
    """The fields by their key."""
    return {field.key: field for field in fields}
