"""The standard atmosphere up to 11 km, in closed form.

ISO 2533:1975 (identical with the ICAO Standard Atmosphere, Doc 7488, in this range):
T = T0 − L·h, p = p0·(T/T0)^(g/(R·L)), density = p/(R·T), with h the geopotential altitude,
T0 = 288.15 K, p0 = 101.325 kPa, L = 6.5 K/km, g = 9.80665 m/s², R = 287.05287 J/(kg·K).
"""

from __future__ import annotations

import math

from logbook.engineering.limits import check

GAS_CONSTANT_DRY_AIR = 287.05287  # J/(kg·K), ISO 2533
SEA_LEVEL_TEMPERATURE_K = 288.15
SEA_LEVEL_PRESSURE_KPA = 101.325
LAPSE_K_PER_M = 0.0065
GRAVITY = 9.80665

_PRESSURE_EXPONENT = GRAVITY / (GAS_CONSTANT_DRY_AIR * LAPSE_K_PER_M)
_SEA_LEVEL_DENSITY = (
    SEA_LEVEL_PRESSURE_KPA * 1000 / (GAS_CONSTANT_DRY_AIR * SEA_LEVEL_TEMPERATURE_K)
)

# Pressure reduced to sea level stays within these on all but a few days of a decade.
_LOWEST_SEA_LEVEL_KPA, _HIGHEST_SEA_LEVEL_KPA = 96.5, 104.5


def _temperature_ratio(altitude_m: float) -> float:
    return 1.0 - LAPSE_K_PER_M * altitude_m / SEA_LEVEL_TEMPERATURE_K


def standard_pressure_kpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere, kPa, at a geopotential altitude of −5 to 11 km."""
    return SEA_LEVEL_PRESSURE_KPA * math.pow(_temperature_ratio(altitude_m), _PRESSURE_EXPONENT)


def standard_density_kg_m3(altitude_m: float) -> float:
    """Density of the standard atmosphere, kg/m³, at a geopotential altitude of −5 to 11 km."""
    return _SEA_LEVEL_DENSITY * math.pow(_temperature_ratio(altitude_m), _PRESSURE_EXPONENT - 1)


def density_altitude_m(density_kg_m3: float) -> float:
    """The height, m, at which the standard atmosphere has this density (0.364–1.93 kg/m³)."""
    ratio = math.pow(density_kg_m3 / _SEA_LEVEL_DENSITY, 1 / (_PRESSURE_EXPONENT - 1))
    return (1.0 - ratio) * SEA_LEVEL_TEMPERATURE_K / LAPSE_K_PER_M


def station_from_sea_level(sea_level_kpa: float, altitude_m: float) -> float:
    """Station pressure, kPa, behind a pressure that was reduced to sea level.

    station = sea level · (1 − L·h/T0)^(g/(R·L)), the ratio of the standard atmosphere. A
    weather service reduces with the day's temperature, so the result is good to about 0.5 %
    at 1600 m: an estimate to find an error with, no substitute for a barometer in the cell.

    Raises
    ------
    BadInput
        Altitude outside −500–6000 m, or a pressure outside 50–110 kPa.
    """
    check("Altitude", "altitude", altitude_m)
    check("Pressure reduced to sea level", "air pressure", sea_level_kpa)
    return sea_level_kpa * (standard_pressure_kpa(altitude_m) / SEA_LEVEL_PRESSURE_KPA)


def sea_level_suspicion(pressure_kpa: float, altitude_m: float) -> float | None:
    """The station pressure, kPa, that a reading implies if it can only be a reduced one.

    A reading fits the cell when the sea-level pressure it stands for lies within
    96.5–104.5 kPa (28.5–30.9 inHg: common weather, no source). ``None`` when it fits as it
    stands, or fits neither way. Below about 300 m the two cannot be told apart.

    Raises
    ------
    BadInput
        As `station_from_sea_level`.
    """
    implied = station_from_sea_level(pressure_kpa, altitude_m)
    reduced = pressure_kpa * pressure_kpa / implied
    fits_as_station = _LOWEST_SEA_LEVEL_KPA <= reduced <= _HIGHEST_SEA_LEVEL_KPA
    fits_as_reduced = _LOWEST_SEA_LEVEL_KPA <= pressure_kpa <= _HIGHEST_SEA_LEVEL_KPA
    return implied if fits_as_reduced and not fits_as_station else None
