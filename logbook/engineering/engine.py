"""Engine quantities: power, displacement, mean pressure, consumption, breathing.

Relations after Heywood, *Internal Combustion Engine Fundamentals* (1988), chapter 2, unless
said otherwise. Plain floats in and out, the unit in the name; whatever has to be above zero
and is not, is refused with `BadInput`.
"""

from __future__ import annotations

import math

from logbook.refusals import BadInput

KW_PER_NM_RPM = 2 * math.pi / 60_000  # power in kW of 1 N·m at 1 rpm


def power_kw(torque_nm: float, speed_rpm: float) -> float:
    """Power, kW, of a torque at a speed: P = T·ω (hp = lb·ft·rpm/5252.1131)."""
    return torque_nm * speed_rpm * KW_PER_NM_RPM


def torque_nm(power_kw: float, speed_rpm: float) -> float:
    """Torque, N·m, of a power at a speed: T = P/ω."""
    _positive("Speed", speed_rpm)
    return power_kw / (speed_rpm * KW_PER_NM_RPM)


def displacement_l(bore_mm: float, stroke_mm: float, cylinders: int) -> float:
    """Swept volume of all cylinders, L: π/4·bore²·stroke·cylinders."""
    _positive("Bore", bore_mm)
    _positive("Stroke", stroke_mm)
    _positive("Cylinders", cylinders)
    return math.pi / 4 * bore_mm**2 * stroke_mm * cylinders / 1e6


def bmep_kpa(torque_nm: float, displacement_l: float, strokes: int = 4) -> float:
    """Brake mean effective pressure, kPa: 4πT/V for four strokes, 2πT/V for two.

    In trade units: psi = 150.7964474·lb·ft/in³, bar = 0.1256637·N·m/L (four strokes).
    """
    _positive("Displacement", displacement_l)
    return 2 * math.pi * _turns_per_cycle(strokes) * torque_nm / displacement_l


def mean_piston_speed_m_s(stroke_mm: float, speed_rpm: float) -> float:
    """Mean piston speed, m/s: 2·stroke·n."""
    _positive("Stroke", stroke_mm)
    return 2 * stroke_mm / 1000 * speed_rpm / 60


def theoretical_flow_m3_h(displacement_l: float, speed_rpm: float, strokes: int = 4) -> float:
    """Volume, m³/h, that the pistons sweep on their inlet strokes."""
    _positive("Displacement", displacement_l)
    return displacement_l / 1000 * speed_rpm * 60 / _turns_per_cycle(strokes)


def volumetric_efficiency(
    air_flow_kg_h: float,
    density_kg_m3: float,
    displacement_l: float,
    speed_rpm: float,
    strokes: int = 4,
) -> float:
    """Air taken in over what would fill the swept volume at inlet density; 1 = full.

    `density_kg_m3` has to go with the flow: that of dry air for a flow of dry air
    (`AirState.dry_density_kg_m3`), that of moist air for a flow of moist air.
    """
    _positive("Air density", density_kg_m3)
    _positive("Speed", speed_rpm)
    swept = theoretical_flow_m3_h(displacement_l, speed_rpm, strokes)
    return air_flow_kg_h / (density_kg_m3 * swept)


def specific_consumption_kg_kwh(flow_kg_h: float, power_kw: float) -> float:
    """Brake specific consumption of fuel or of air, kg/kWh, observed flow over observed power.

    1 lb/(hp·h) = 608.277388 g/kWh. A corrected power would make the engine look thriftier or
    thirstier than it was.
    """
    _positive("Power", power_kw)
    return flow_kg_h / power_kw


def net_fuel_kg_h(
    supply_m3_h: float,
    return_m3_h: float,
    supply_density_kg_m3: float,
    return_density_kg_m3: float | None = None,
) -> float:
    """Fuel burned, kg/h: supply less return, each by the density at its meter's temperature.

    The return's density defaults to that of the supply.
    """
    back = supply_density_kg_m3 if return_density_kg_m3 is None else return_density_kg_m3
    return supply_m3_h * supply_density_kg_m3 - return_m3_h * back


def air_fuel_ratio(air_flow_kg_h: float, fuel_flow_kg_h: float) -> float:
    """Mass of air over mass of fuel."""
    _positive("Fuel flow", fuel_flow_kg_h)
    return air_flow_kg_h / fuel_flow_kg_h


def lambda_of(air_fuel_ratio: float, stoichiometric_ratio: float) -> float:
    """Air–fuel ratio over the stoichiometric one; below 1 is rich."""
    _positive("Stoichiometric ratio", stoichiometric_ratio)
    return air_fuel_ratio / stoichiometric_ratio


def blow_by_share(blow_by_m3_h: float, air_volume_flow_m3_h: float) -> float:
    """Blow-by as a share of the air flow, both volumes at like conditions, 0–1."""
    _positive("Air flow", air_volume_flow_m3_h)
    return blow_by_m3_h / air_volume_flow_m3_h


def thermal_efficiency(power_kw: float, fuel_flow_kg_h: float, heating_value_mj_kg: float) -> float:
    """Brake power over the fuel's lower heating value times its flow, 0–1."""
    _positive("Fuel flow", fuel_flow_kg_h)
    _positive("Heating value", heating_value_mj_kg)
    return power_kw * 3.6 / (fuel_flow_kg_h * heating_value_mj_kg)


def inertia_torque_nm(inertia_kg_m2: float, speed_rate_rpm_s: float) -> float:
    """Torque, N·m, that accelerates a mass moment of inertia: J·dω/dt."""
    return inertia_kg_m2 * speed_rate_rpm_s * 2 * math.pi / 60


def _turns_per_cycle(strokes: int) -> int:
    if strokes not in (2, 4):
        raise BadInput(f"{strokes} strokes make no cycle", where="Strokes", wanted="2 or 4")
    return strokes // 2


def _positive(field: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise BadInput(f"{value:g} is not above zero", where=field, wanted="a value above zero")
