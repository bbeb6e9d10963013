"""The kinds of quantity that the logbook stores.

A kind (``"pressure"``, ``"vacuum"``, ``"altitude"`` …) is a dimension with the unit it is
stored in and the units it is shown in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    """What a field holds: its dimension, stored unit, display units and words for a refusal.

    `thousands_certain`: a number such as ``7,500`` can only mean seven and a half thousand.
    """

    name: str
    dimension: str
    stored: str
    us: str
    metric: str
    words: str
    example: str
    thousands_certain: bool = False


def _kind(
    name: str, dimension: str, stored: str, us: str, metric: str, words: str, example: str
) -> tuple[str, Kind]:
    return name, Kind(name, dimension, stored, us, metric, words, example, name == "speed")


KINDS: Mapping[str, Kind] = dict(
    (
        _kind("pressure", "pressure", "kPa", "inHg", "kPa", "a pressure", "29.50 inHg or 99.9 kPa"),
        _kind("vacuum", "pressure", "kPa", "inHg", "kPa", "a vacuum", "14.5 inHg or 49 kPa"),
        _kind(
            "cylinder_pressure",
            "pressure",
            "kPa",
            "psi",
            "kPa",
            "a pressure",
            "175 psi or 1200 kPa",
        ),
        _kind("temperature", "temperature", "°C", "°F", "°C", "a temperature", "85 °F or 29.4 °C"),
        _kind(
            "temperature_difference",
            "temperature difference",
            "K",
            "°F",
            "K",
            "a temperature difference",
            "10 °F or 5 K",
        ),
        _kind("torque", "torque", "N·m", "lb·ft", "N·m", "a torque", "310 lb·ft or 420 N·m"),
        _kind("power", "power", "kW", "hp", "kW", "a power", "420 hp or 313 kW"),
        _kind("speed", "speed", "rpm", "rpm", "rpm", "a speed", "6500 rpm"),
        _kind("speed_rate", "speed rate", "rpm/s", "rpm/s", "rpm/s", "a sweep rate", "300 rpm/s"),
        _kind("length", "length", "mm", "in", "mm", "a length", "4.030 in or 86 mm"),
        _kind("clearance", "length", "mm", "in", "mm", "a clearance", "0.0024 in or 0.061 mm"),
        _kind("mass", "mass", "kg", "lb", "kg", "a mass", "20 kg or 45 lb"),
        _kind("force", "force", "N", "lbf", "N", "a force", "110 lbf or 490 N"),
        _kind("altitude", "length", "m", "ft", "m", "an altitude", "1200 ft or 365 m"),
        _kind("displacement", "volume", "L", "in³", "L", "a displacement", "350 in³ or 1.995 L"),
        _kind("small_volume", "volume", "L", "cm³", "cm³", "a volume", "42.5 cm³"),
        _kind("roughness", "length", "mm", "µin", "µm", "a roughness", "0.4 µm or 16 µin"),
        _kind("angle", "angle", "deg", "deg", "deg", "an angle", "32 deg"),
        _kind("mass_flow", "mass flow", "kg/h", "lb/h", "kg/h", "a mass flow", "235 lb/h"),
        _kind(
            "volume_flow",
            "volume flow",
            "m³/h",
            "cfm",
            "L/min",
            "a volume flow",
            "1.4 cfm or 40 L/min",
        ),
        _kind("density", "density", "kg/m³", "kg/m³", "kg/m³", "a density", "745 kg/m³"),
        _kind("time", "time", "s", "s", "s", "a time", "12.5 s"),
        _kind("minutes", "time", "min", "min", "min", "a time", "15 min"),
        _kind(
            "inertia",
            "inertia",
            "kg·m²",
            "lb·ft²",
            "kg·m²",
            "a moment of inertia",
            "0.85 kg·m² or 20 lb·ft²",
        ),
        _kind("ratio", "ratio", "", "", "", "a plain number", "1.25"),
        _kind("fraction", "ratio", "", "%", "%", "a share", "45 %"),
        _kind("percent", "ratio", "%", "%", "%", "a share", "45 %"),
        _kind(
            "specific_consumption",
            "specific consumption",
            "kg/kWh",
            "lb/(hp·h)",
            "g/kWh",
            "a specific consumption",
            "0.45 lb/(hp·h) or 274 g/kWh",
        ),
        _kind(
            "heating_value",
            "heating value",
            "MJ/kg",
            "BTU/lb",
            "MJ/kg",
            "a heating value",
            "44.0 MJ/kg or 18900 BTU/lb",
        ),
        _kind(
            "mixing_ratio",
            "mixing ratio",
            "kg/kg",
            "gr/lb",
            "g/kg",
            "a mixing ratio",
            "75 gr/lb or 10.7 g/kg",
        ),
    )
)


FIRST_KIND: Mapping[str, str] = {
    kind.dimension: kind.name for kind in reversed(tuple(KINDS.values()))
}


def stored_unit(kind: str) -> str:
    """The unit in which a kind is stored, e.g. ``"kPa"``; ``""`` for plain numbers."""
    return KINDS[kind].stored
