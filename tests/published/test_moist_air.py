"""Vapor pressure, wet bulb, density and the standard atmosphere against independent libraries.

[R] IAPWS-95 by iapws and CoolProp; CoolProp HumidAir (ASHRAE RP-1485); CIPM-2007, Picard et
al., Metrologia 45 (2008) 149; ISO 2533 by ambiance.
"""

from __future__ import annotations

import ambiance
import iapws
import pytest
from CoolProp import CoolProp
from CoolProp.HumidAirProp import HAPropsSI

from logbook.engineering.air import air_state, saturation_pressure_kpa
from logbook.engineering.atmosphere import (
    density_altitude_m,
    standard_density_kg_m3,
    standard_pressure_kpa,
)

# [R] IAPWS-95, °C → Pa
SATURATION = [
    (0.01, 611.6548),
    (15, 1705.7929),
    (20, 2339.3182),
    (25, 3169.9293),
    (30, 4246.9708),
    (35, 5629.0161),
    (40, 7384.9381),
]


@pytest.mark.parametrize(("celsius", "pascal"), SATURATION)
def test_saturation_pressure(celsius: float, pascal: float) -> None:
    assert saturation_pressure_kpa(celsius) * 1000 == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize("celsius", [1, 12.5, 22, 33, 47, 59])
def test_saturation_pressure_live(celsius: float) -> None:
    kelvin = celsius + 273.15
    ours = saturation_pressure_kpa(celsius) * 1000
    assert ours == pytest.approx(CoolProp.PropsSI("P", "T", kelvin, "Q", 0, "Water"), rel=3e-4)
    assert ours == pytest.approx(iapws.IAPWS95(T=kelvin, x=0).P * 1e6, rel=3e-4)


# [R] CoolProp HumidAir: Pa, °C, °C → Pa. Ours lies about 0.5 % lower: psychrolib leaves out
# the enhancement factor of saturated air.
WET_BULB = [
    (101325, 30, 20, 1694.02),
    (101325, 25, 18, 1614.45),
    (84320, 20, 11, 828.45),
    (101325, 35, 25, 2529.61),
]


@pytest.mark.parametrize(("pascal", "dry", "wet", "vapor"), WET_BULB)
def test_wet_bulb(pascal: float, dry: float, wet: float, vapor: float) -> None:
    ours = air_state(pascal / 1000, dry, "wet bulb", wet).vapor_pressure_kpa * 1000
    assert vapor * 0.994 < ours < vapor


@pytest.mark.parametrize(("kelvin", "wet"), [(303.15, 293.15), (293.15, 284.15), (313.15, 300.15)])
@pytest.mark.parametrize("pascal", [84_000, 101_325])
def test_wet_bulb_live(pascal: float, kelvin: float, wet: float) -> None:
    state = air_state(pascal / 1000, kelvin - 273.15, "wet bulb", wet - 273.15)
    theirs = HAPropsSI("R", "T", kelvin, "P", pascal, "B", wet)
    assert state.relative_humidity == pytest.approx(theirs, rel=8e-3)


@pytest.mark.parametrize(("kelvin", "dew"), [(303.15, 293.15), (293.15, 275.15)])
def test_dew_point_live(kelvin: float, dew: float) -> None:
    state = air_state(99.0, kelvin - 273.15, "dew point", dew - 273.15)
    theirs = HAPropsSI("R", "T", kelvin, "P", 99_000, "D", dew)
    assert state.relative_humidity == pytest.approx(theirs, rel=1e-3)


# [R] CIPM-2007: Pa, °C, relative humidity → kg/m³
CIPM = [
    (101325, 20, 0.5, 1.1993139),
    (100000, 20, 0.5, 1.1835566),
    (101325, 25, 0.5, 1.1773154),
    (101325, 15, 0.0, 1.2255213),
]


@pytest.mark.parametrize(("pascal", "celsius", "humidity", "density"), CIPM)
def test_density(pascal: float, celsius: float, humidity: float, density: float) -> None:
    ours = air_state(pascal / 1000, celsius, "relative", humidity).density_kg_m3
    assert 0.9994 * density < ours < 0.9998 * density


@pytest.mark.parametrize("humidity", [0.0, 0.4, 0.9])
def test_density_live(humidity: float) -> None:
    volume = HAPropsSI("Vha", "T", 303.15, "P", 98_000, "R", humidity)  # per kg of moist air
    ours = air_state(98.0, 30.0, "relative", humidity).density_kg_m3
    assert ours == pytest.approx(1 / volume, rel=8e-4)


# [R] ISO 2533, geopotential m → kg/m³, Pa
ATMOSPHERE = [
    (0, 1.225000, 101325),
    (500, 1.167269, 95460.84),
    (1000, 1.111643, 89874.56),
    (1600, 1.047594, 83523.53),
    (2000, 1.006490, 79495.20),
]


@pytest.mark.parametrize(("altitude", "density", "pascal"), ATMOSPHERE)
def test_standard_atmosphere(altitude: float, density: float, pascal: float) -> None:
    assert standard_density_kg_m3(altitude) == pytest.approx(density, abs=1e-6)
    assert standard_pressure_kpa(altitude) * 1000 == pytest.approx(pascal, abs=0.02)
    assert density_altitude_m(density) == pytest.approx(altitude, abs=0.01)


@pytest.mark.parametrize("geopotential", [-1000.0, 0.0, 250.0, 1600.0, 4000.0, 9000.0])
def test_standard_atmosphere_live(geopotential: float) -> None:
    there = ambiance.Atmosphere(ambiance.Atmosphere.geop2geom_height(geopotential))
    assert standard_density_kg_m3(geopotential) == pytest.approx(float(there.density[0]), rel=1e-6)
    assert standard_pressure_kpa(geopotential) * 1000 == pytest.approx(
        float(there.pressure[0]), rel=1e-6
    )
    assert density_altitude_m(float(there.density[0])) == pytest.approx(geopotential, abs=0.02)
