"""The listed units. Only what stands here is a unit."""

from __future__ import annotations

from dataclasses import dataclass

INCH_OF_MERCURY_PA = 3386.389  # conventional, at 0 °C; the 60 °F column is another unit
HORSEPOWER_W = 745.69987158227022
METRIC_HORSEPOWER_W = 735.49875
POUND_FOOT_NM = 1.3558179483314004
POUND_KG = 0.45359237
PSI_PA = 6894.757293168361
CUBIC_FOOT_M3 = 0.028316846592
WATER_60F_KG_M3 = 999.016  # reference of specific gravity 60/60 °F


@dataclass(frozen=True, slots=True)
class Unit:
    """One listed unit.

    `label` is how it is shown, `pint` how pint calls it, `spellings` how people type it apart
    from `label` (compared after `spelling_key`). `exact` is factor and offset to the
    dimension's base unit where the factor is fixed here, so that the first screen and the
    usual typed values need no pint; a test holds every one of them against pint.
    """

    label: str
    dimension: str
    pint: str
    spellings: tuple[str, ...] = ()
    exact: tuple[float, float] | None = None


_F = 5 / 9

UNITS: tuple[Unit, ...] = (
    Unit("kPa", "pressure", "kilopascal", ("kilopascal",), (1.0, 0.0)),
    Unit(
        "inHg",
        "pressure",
        "conventional_inch_Hg",
        ('"Hg', "inch Hg", "inches Hg", "in of Hg"),
        (INCH_OF_MERCURY_PA / 1000, 0.0),
    ),
    Unit("hPa", "pressure", "hectopascal", (), (0.1, 0.0)),
    Unit("mbar", "pressure", "millibar", ("mb", "millibar"), (0.1, 0.0)),
    Unit("psi", "pressure", "psi", ("psia", "lbf/in²", "lb/in²", "lb/sq in"), (PSI_PA / 1000, 0.0)),
    Unit("bar", "pressure", "bar", (), (100.0, 0.0)),
    Unit("mmHg", "pressure", "millimeter_Hg", ("mm of Hg",)),
    Unit("Torr", "pressure", "torr"),
    Unit("cmHg", "pressure", "centimeter_Hg"),
    Unit("inH2O", "pressure", "conventional_inch_H2O", ("inches H2O", "inch H2O", "in wc", '"H2O')),
    Unit("mmH2O", "pressure", "conventional_millimeter_H2O", ("mm wc",)),
    Unit("Pa", "pressure", "pascal", ("pascal",)),
    Unit("atm", "pressure", "standard_atmosphere"),
    Unit("°C", "temperature", "degC", ("C", "degC", "deg Celsius", "celsius"), (1.0, 0.0)),
    Unit(
        "°F", "temperature", "degF", ("F", "degF", "deg Fahrenheit", "fahrenheit"), (_F, -32 * _F)
    ),
    Unit("K", "temperature", "kelvin", ("degK", "kelvin")),
    Unit("°R", "temperature", "degR", ("degR", "rankine")),
    Unit("K", "temperature difference", "kelvin", ("kelvin",), (1.0, 0.0)),
    Unit("°C", "temperature difference", "delta_degC", ("C", "degC"), (1.0, 0.0)),
    Unit("°F", "temperature difference", "delta_degF", ("F", "degF"), (_F, 0.0)),
    Unit("N·m", "torque", "newton * meter", ("newton meter", "newton meters", "mN"), (1.0, 0.0)),
    Unit(
        "lb·ft",
        "torque",
        "foot * force_pound",
        (
            "lbs ft",
            "lbf ft",
            "ft lb",
            "ft lbs",
            "ft lbf",
            "pound feet",
            "pound foot",
            "foot pound",
            "foot pounds",
        ),
        (POUND_FOOT_NM, 0.0),
    ),
    Unit(
        "lb·in",
        "torque",
        "inch * force_pound",
        ("lbs in", "lbf in", "in lb", "in lbs", "in lbf", "inch pounds", "pound inches"),
    ),
    Unit("kgf·m", "torque", "kilogram_force * meter", ("kg m", "m kg", "kgm", "kpm", "kp m")),
    Unit("daN·m", "torque", "decanewton * meter"),
    Unit("kW", "power", "kilowatt", ("kilowatt",), (1.0, 0.0)),
    Unit("hp", "power", "horsepower", ("bhp", "horsepower"), (HORSEPOWER_W / 1000, 0.0)),
    Unit(
        "PS",
        "power",
        "metric_horsepower",
        ("cv", "metric hp", "hp metric", "pk"),
        (METRIC_HORSEPOWER_W / 1000, 0.0),
    ),
    Unit("W", "power", "watt", ("watt",)),
    Unit(
        "rpm",
        "speed",
        "revolution / minute",
        ("1/min", "/min", "min⁻¹", "r/min", "rev/min", "revs/min"),
        (1.0, 0.0),
    ),
    Unit("rad/s", "speed", "radian / second"),
    Unit(
        "rpm/s",
        "speed rate",
        "revolution / minute / second",
        ("rpm/sec", "1/min/s", "rpm per s", "rpm per second"),
        (1.0, 0.0),
    ),
    Unit("rad/s²", "speed rate", "radian / second**2"),
    Unit("mm", "length", "millimeter", ("millimeter", "millimeters"), (1.0, 0.0)),
    Unit("in", "length", "inch", ("inch", "inches", '"'), (25.4, 0.0)),
    Unit("ft", "length", "foot", ("foot", "feet"), (304.8, 0.0)),
    Unit("m", "length", "meter", ("meter", "meters", "metre", "metres"), (1000.0, 0.0)),
    Unit("cm", "length", "centimeter"),
    Unit("km", "length", "kilometer"),
    Unit("µm", "length", "micrometer", ("um", "micron", "microns")),
    Unit("thou", "length", "thou", ("mil", "mils")),
    Unit("µin", "length", "microinch", ("uin", "microinch")),
    Unit("L", "volume", "liter", ("liter", "liters", "litre", "litres", "ltr", "dm³"), (1.0, 0.0)),
    Unit("in³", "volume", "inch**3", ("cu in", "cubic inches", "cid", "ci"), (0.016387064, 0.0)),
    Unit("cm³", "volume", "centimeter**3", ("cc", "ccm", "ml"), (0.001, 0.0)),
    Unit("kg", "mass", "kilogram", ("kilogram", "kilograms"), (1.0, 0.0)),
    Unit("g", "mass", "gram", ("gram", "grams"), (0.001, 0.0)),
    Unit("lb", "mass", "pound", ("lbs", "lbm", "pound", "pounds"), (POUND_KG, 0.0)),
    Unit("oz", "mass", "ounce", ("ounce", "ounces")),
    Unit("N", "force", "newton", ("newton", "newtons"), (1.0, 0.0)),
    Unit("lbf", "force", "force_pound", ("pounds force",)),
    Unit("kgf", "force", "kilogram_force", ("kp",)),
    Unit(
        "deg",
        "angle",
        "degree",
        ("°", "degree", "degrees", "deg BTDC", "° BTDC", "degrees BTDC", "BTDC"),
        (1.0, 0.0),
    ),
    Unit("rad", "angle", "radian", ("radian", "radians")),
    Unit("kg/h", "mass flow", "kilogram / hour", ("kg/hr",), (1.0, 0.0)),
    Unit(
        "lb/h",
        "mass flow",
        "pound / hour",
        ("lb/hr", "lbs/h", "lbs/hr", "lbm/h", "pph"),
        (POUND_KG, 0.0),
    ),
    Unit("g/s", "mass flow", "gram / second", ("g/sec",)),
    Unit("kg/s", "mass flow", "kilogram / second"),
    Unit("kg/min", "mass flow", "kilogram / minute"),
    Unit("g/min", "mass flow", "gram / minute"),
    Unit("g/h", "mass flow", "gram / hour", ("g/hr",)),
    Unit("lb/min", "mass flow", "pound / minute", ("lbs/min", "lbm/min")),
    Unit("m³/h", "volume flow", "meter**3 / hour", ("m³/hr",), (1.0, 0.0)),
    Unit("L/min", "volume flow", "liter / minute", ("lpm",), (0.06, 0.0)),
    Unit(
        "cfm",
        "volume flow",
        "foot**3 / minute",
        ("ft³/min", "cu ft/min"),
        (CUBIC_FOOT_M3 * 60, 0.0),
    ),
    Unit("m³/s", "volume flow", "meter**3 / second"),
    Unit("L/s", "volume flow", "liter / second"),
    Unit("L/h", "volume flow", "liter / hour", ("l/hr",)),
    Unit("cm³/min", "volume flow", "centimeter**3 / minute", ("cc/min", "ml/min")),
    Unit("cfh", "volume flow", "foot**3 / hour", ("ft³/h", "ft³/hr")),
    Unit("gal/h", "volume flow", "US_liquid_gallon / hour", ("gal/hr", "gph")),
    Unit("kg/m³", "density", "kilogram / meter**3", (), (1.0, 0.0)),
    Unit("kg/L", "density", "kilogram / liter", ("kg/dm³", "g/cm³", "g/cc", "g/ml"), (1000.0, 0.0)),
    Unit("g/L", "density", "gram / liter"),
    Unit("lb/ft³", "density", "pound / foot**3"),
    Unit("lb/gal", "density", "pound / US_liquid_gallon", ("lbs/gal",)),
    Unit(
        "SG",
        "density",
        "specific_gravity_60F",
        ("sp gr", "specific gravity"),
        (WATER_60F_KG_M3, 0.0),
    ),
    Unit("s", "time", "second", ("sec", "secs", "second", "seconds"), (1.0, 0.0)),
    Unit("min", "time", "minute", ("mins", "minute", "minutes"), (60.0, 0.0)),
    Unit("h", "time", "hour", ("hr", "hrs", "hour", "hours"), (3600.0, 0.0)),
    Unit("ms", "time", "millisecond", ("msec", "milliseconds"), (0.001, 0.0)),
    Unit("kg·m²", "inertia", "kilogram * meter**2", (), (1.0, 0.0)),
    Unit("lb·ft²", "inertia", "pound * foot**2", ("lbm ft²",), (POUND_KG * 0.3048**2, 0.0)),
    Unit("kg·cm²", "inertia", "kilogram * centimeter**2"),
    Unit("lb·in²", "inertia", "pound * inch**2", ("lbm in²",)),
    Unit("slug·ft²", "inertia", "slug * foot**2", ("lb ft s²", "lbf ft s²")),
    Unit("lbf·in·s²", "inertia", "force_pound * inch * second**2", ("lb in s²",)),
    Unit("", "ratio", "dimensionless", (":1",), (1.0, 0.0)),
    Unit("%", "ratio", "percent", ("pct", "percent", "per cent", "% RH"), (0.01, 0.0)),
    Unit("kg/kWh", "specific consumption", "kilogram / kilowatt_hour", ("kg/(kW h)",), (1.0, 0.0)),
    Unit(
        "g/kWh",
        "specific consumption",
        "gram / kilowatt_hour",
        ("g/(kW h)", "g/kW/h"),
        (0.001, 0.0),
    ),
    Unit(
        "lb/(hp·h)",
        "specific consumption",
        "pound / (horsepower * hour)",
        ("lb/hp/h", "lb/hp/hr", "lb/hp hr", "lbs/hp hr", "lb/bhp h", "lb/bhp hr"),
        (POUND_KG / (HORSEPOWER_W / 1000), 0.0),
    ),
    Unit("g/(PS·h)", "specific consumption", "gram / (metric_horsepower * hour)", ("g/PS/h",)),
    Unit("MJ/kg", "heating value", "megajoule / kilogram", (), (1.0, 0.0)),
    Unit("BTU/lb", "heating value", "btu_it / pound", ("BTU/lbm",), (0.002326, 0.0)),
    Unit("kJ/kg", "heating value", "kilojoule / kilogram"),
    Unit("kcal/kg", "heating value", "kilocalorie_it / kilogram"),
    Unit("kg/kg", "mixing ratio", "dimensionless", ("lb/lb",), (1.0, 0.0)),
    Unit("g/kg", "mixing ratio", "gram / kilogram", (), (0.001, 0.0)),
    Unit(
        "gr/lb",
        "mixing ratio",
        "grain / pound",
        ("grain/lb", "grains/lb", "grains"),
        (1 / 7000, 0.0),
    ),
)
