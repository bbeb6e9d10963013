"""Engine quantities [R]: 500 lb·ft, 350 in³, 6000 rpm and what follows, from the definitions."""

from __future__ import annotations

import pytest

from logbook.engineering.air import air_state
from logbook.engineering.engine import (
    bmep_kpa,
    power_kw,
    specific_consumption_kg_kwh,
    theoretical_flow_m3_h,
    volumetric_efficiency,
)
from logbook.quantities import from_stored, to_stored

TORQUE_NM = to_stored(500, "lb·ft", "torque")
DISPLACEMENT_L = to_stored(350, "in³", "displacement")


def test_power() -> None:
    power = power_kw(TORQUE_NM, 6000)
    assert from_stored(power, "hp", "power") == pytest.approx(571.198664, rel=1e-8)
    assert from_stored(power, "hp", "power") == pytest.approx(500 * 6000 / 5252.1131, rel=1e-8)
    assert power == pytest.approx(TORQUE_NM * 6000 / 9549.2966, rel=1e-8)


def test_mean_effective_pressure() -> None:
    pressure = bmep_kpa(TORQUE_NM, DISPLACEMENT_L)
    assert from_stored(pressure, "psi", "pressure") == pytest.approx(215.423496, rel=1e-8)
    assert from_stored(pressure, "bar", "pressure") == pytest.approx(14.8529272, rel=1e-8)
    assert from_stored(pressure, "psi", "pressure") == pytest.approx(
        150.7964474 * 500 / 350, rel=1e-8
    )
    assert from_stored(pressure, "bar", "pressure") == pytest.approx(
        0.1256637 * TORQUE_NM / DISPLACEMENT_L, rel=1e-6
    )


def test_theoretical_air_flow() -> None:
    flow = theoretical_flow_m3_h(DISPLACEMENT_L, 6000)
    assert from_stored(flow, "cfm", "volume_flow") == pytest.approx(607.638889, rel=1e-8)


def test_specific_fuel_consumption() -> None:
    consumption = specific_consumption_kg_kwh(
        to_stored(235, "lb/h", "mass_flow"), power_kw(TORQUE_NM, 6000)
    )
    kind = "specific_consumption"
    assert from_stored(consumption, "lb/(hp·h)", kind) == pytest.approx(0.41141553, rel=1e-7)
    assert from_stored(consumption, "g/kWh", kind) == pytest.approx(250.254763, rel=1e-8)


def test_volumetric_efficiency_of_dry_air() -> None:
    air = air_state(29.5 * 3.386389, (85 - 32) / 1.8, "relative", 0.6)
    assert air.dry_density_kg_m3 == pytest.approx(1.12168761, rel=1e-5)
    efficiency = volumetric_efficiency(
        to_stored(2600, "lb/h", "mass_flow"), air.dry_density_kg_m3, DISPLACEMENT_L, 6000
    )
    assert efficiency == pytest.approx(1.01841660, rel=1e-5)
