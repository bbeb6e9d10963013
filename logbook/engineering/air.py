"""Moist air: vapor pressure from whatever humidity was read, density, density altitude.

Saturation pressure and wet bulb: ASHRAE Handbook, Fundamentals (2017), chapter 1, equations
5, 6 (Hyland and Wexler) and 33, 35, by psychrolib; below 0.01 °C saturation is over ice. The
wet bulb is the thermodynamic one. Density is that of an ideal mixture, 0.02–0.06 % below
CIPM-2007 (Picard et al., Metrologia 45 (2008) 149) at 0–40 °C and 84–101 kPa.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.engineering.atmosphere import (
    GAS_CONSTANT_DRY_AIR,
    density_altitude_m,
    sea_level_suspicion,
    station_from_sea_level,
)
from logbook.engineering.limits import check
from logbook.quantities import show
from logbook.records.air import HUMIDITY_KINDS
from logbook.refusals import BadInput

__all__ = [
    "AirState",
    "air_state",
    "saturation_pressure_kpa",
    "sea_level_suspicion",
    "station_from_sea_level",
]

KELVIN = 273.15
GAS_CONSTANT_VAPOR = 461.523  # J/(kg·K), 8.314462618 / 0.018015268
MASS_RATIO = 0.621945  # water over dry air, ASHRAE Fundamentals (2017) ch. 1 eq. 20

_RELATIVE, _WET_BULB, _DEW_POINT, _VAPOR_PRESSURE, _MIXING_RATIO = HUMIDITY_KINDS
_ROUNDING = 1e-6  # of saturation: what arithmetic may add to saturated air


@dataclass(frozen=True, slots=True)
class AirState:
    """The air an engine breathed: kPa, °C, relative humidity 0–1, kg/m³, m."""

    pressure_kpa: float
    temperature_c: float
    relative_humidity: float
    vapor_pressure_kpa: float
    dry_pressure_kpa: float
    density_kg_m3: float
    density_altitude_m: float

    @property
    def dry_density_kg_m3(self) -> float:
        """Mass of dry air alone per volume, kg/m³."""
        kelvin = self.temperature_c + KELVIN
        return self.dry_pressure_kpa * 1000 / (GAS_CONSTANT_DRY_AIR * kelvin)


def saturation_pressure_kpa(temperature_c: float) -> float:
    """Vapor pressure of saturated air, kPa, at −100–200 °C (Hyland–Wexler; ice below 0.01 °C)."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetSatVapPres(temperature_c)) / 1000


def air_state(
    pressure_kpa: float, temperature_c: float, humidity_kind: str, humidity: float
) -> AirState:
    """Everything that follows from station pressure, dry bulb and one humidity.

    pd = p − pv; density = pd/(Rd·T) + pv/(Rv·T).

    Parameters
    ----------
    pressure_kpa : station pressure, absolute, 50–110 kPa.
    temperature_c : dry bulb at the inlet, −40–60 °C.
    humidity_kind : one of `HUMIDITY_KINDS`.
    humidity : relative 0–1; wet bulb and dew point °C; vapor pressure kPa; mixing ratio kg
        of water per kg of dry air.

    Raises
    ------
    BadInput
        Outside the limits; wet bulb or dew point above the dry bulb; more vapor than the air
        can hold; a wet bulb colder than dry air would give.
    """
    check("Pressure", "air pressure", pressure_kpa)
    check("Air temperature", "air temperature", temperature_c)
    saturated = saturation_pressure_kpa(temperature_c)
    vapor = _vapor_pressure(pressure_kpa, temperature_c, humidity_kind, humidity)
    if vapor > saturated * (1 + _ROUNDING):
        raise BadInput(
            f"{vapor:.4g} kPa of vapor is more than air of {temperature_c:g} °C can hold"
            f" ({saturated:.4g} kPa)",
            where=humidity_kind.capitalize(),
            wanted="at most 100 % relative humidity",
        )
    vapor = min(vapor, saturated)
    kelvin = temperature_c + KELVIN
    dry = pressure_kpa - vapor
    density = 1000 / kelvin * (dry / GAS_CONSTANT_DRY_AIR + vapor / GAS_CONSTANT_VAPOR)
    return AirState(
        pressure_kpa=pressure_kpa,
        temperature_c=temperature_c,
        relative_humidity=vapor / saturated,
        vapor_pressure_kpa=vapor,
        dry_pressure_kpa=dry,
        density_kg_m3=density,
        density_altitude_m=density_altitude_m(density),
    )


def _vapor_pressure(
    pressure_kpa: float, temperature_c: float, humidity_kind: str, humidity: float
) -> float:
    if humidity_kind == _RELATIVE:
        check("Relative humidity", "relative humidity", humidity)
        return humidity * saturation_pressure_kpa(temperature_c)
    if humidity_kind in (_WET_BULB, _DEW_POINT):
        return _from_temperature(pressure_kpa, temperature_c, humidity_kind, humidity)
    if humidity_kind in (_VAPOR_PRESSURE, _MIXING_RATIO):
        label = humidity_kind.capitalize()
        check(label, "pressure" if humidity_kind == _VAPOR_PRESSURE else "mixing_ratio", humidity)
        if humidity < 0:
            raise BadInput(f"{humidity:g} is below zero", where=label, wanted="0 or more")
        if humidity_kind == _VAPOR_PRESSURE:
            return humidity
        return pressure_kpa * humidity / (MASS_RATIO + humidity)
    raise BadInput(
        f"{humidity_kind!r} is no kind of humidity reading",
        where="Humidity",
        wanted=f"one of {', '.join(HUMIDITY_KINDS)}",
    )


def _both(celsius: float) -> str:
    """In either unit: what was typed is not known here."""
    metric, us = (show(celsius, "temperature", system) for system in ("metric", "us"))
    return f"{metric} ({us})"


def _from_temperature(
    pressure_kpa: float, temperature_c: float, humidity_kind: str, humidity_c: float
) -> float:
    label = humidity_kind.capitalize()
    check(label, "temperature", humidity_c)
    if humidity_c > temperature_c:
        raise BadInput(
            f"{_both(humidity_c)} is above the dry bulb of {_both(temperature_c)}",
            where=label,
            wanted="a temperature no higher than the air's",
        )
    if humidity_c < -100:
        raise BadInput(f"{humidity_c:g} °C is below −100 °C", where=label, wanted="above −100 °C")
    if humidity_kind == _DEW_POINT:
        return saturation_pressure_kpa(humidity_c)
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromTWetBulb(temperature_c, humidity_c, pressure_kpa * 1000)
    if ratio <= psychrolib.MIN_HUM_RATIO:
        raise BadInput(
            f"{_both(humidity_c)} is colder than even dry air of {_both(temperature_c)} would"
            " make a wet bulb",
            where=label,
            wanted="the thermometers read again, the wick wet",
        )
    return float(pressure_kpa * ratio / (MASS_RATIO + ratio))
