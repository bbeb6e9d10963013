"""An engine that never was: what a full-throttle sweep of the demo's engines would show.

A mean-value model, one point per engine speed, steady at each: air in, fuel burned, friction
taken off, the timing's loss taken off. Its forms are the textbook's, its constants are the
demo's own. Everything is deterministic; the day's drift and noise are laid over it in `day`.

Sources, all quoted from memory: friction as Chen & Flynn, SAE 650733 (a constant, a share of the
peak pressure, a linear and a squared term of mean piston speed); charge heating by a volumetric
efficiency that grows with the square root of the inlet temperature, and the orifice law for the
carburetor, as Heywood, *Internal Combustion Engine Fundamentals*, §6.2 and §7.2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logbook.engineering.air import AirState
    from seed_db.shop import CarburetorSpec, FamilySpec, FuelSpec, WearSpec

Array = npt.NDArray[np.float64]

DRY_AIR_R = 287.05287  # J/(kg·K)
RATED_DROP_KPA = 1.5 * 3.386389  # carburetors are rated at 1.5 inHg
BEST_LAMBDA = 0.88
LAMBDA_CURVATURE = 1.7  # relative loss of work per (lambda − best)²
EXPANSION_EXPONENT = 0.27  # of the fuel–air cycle, γ − 1
CYCLE_SHARE = 0.865  # indicated work of a real engine over that of the fuel–air cycle
OIL_COLD_PER_K = 0.004  # relative friction per kelvin below warm oil
WARM_OIL_C = 92.0
VACUUM_GAIN_PER_KPA = 0.0004  # relative torque per kPa of crankcase vacuum
TIMING_LEAN_DEG = 6.0  # the curve's lean grows over about this many degrees from its top


@dataclass(frozen=True, slots=True)
class SetPoint:
    """What was really set on the engine for a pull, as the model needs it.

    `share` are the relative effects of parts on the trapped air at the low and at the high
    edge of the band (0.01 is 1 % more). `pump_kpa` and `pump_m3_h` describe the vacuum pump:
    vacuum with no blow-by to swallow, and the flow at which none is left (0: no pump).
    """

    timing_deg: float
    fuel: FuelSpec
    carburetor: CarburetorSpec
    jets: float
    share: tuple[float, float] = (0.0, 0.0)
    pump_kpa: float = 0.0
    pump_m3_h: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Running:
    """What the engine does at each speed; arrays of equal shape (points,), SI as named."""

    speed_rpm: Array
    torque_nm: Array
    power_kw: Array
    friction_kpa: Array
    volumetric_efficiency: Array
    air_flow_kg_h: Array
    fuel_flow_kg_h: Array
    lambda_ratio: Array
    manifold_vacuum_kpa: Array
    crankcase_vacuum_kpa: Array
    blow_by_m3_h: Array
    exhaust_c: Array
    oil_pressure_kpa: Array


def run(
    family: FamilySpec,
    wear: WearSpec,
    point: SetPoint,
    air: AirState,
    speed_rpm: Sequence[float] | Array,
    *,
    oil_c: float = WARM_OIL_C,
) -> Running:
    """Full throttle at each speed of `speed_rpm`, in this air and with this oil."""
    n = np.asarray(speed_rpm, dtype=np.float64)
    displacement_m3 = family.displacement_l / 1000
    inlet_k = air.temperature_c + 273.15
    dry_density = air.dry_pressure_kpa * 1000 / (DRY_AIR_R * inlet_k)

    breathing = (
        volumetric_efficiency(family, n)
        * wear.breathing
        * math.sqrt(inlet_k / 298.15)
        * (1 + point.fuel.charge_cooling)
        * (1 + _over_band(family, n, point.share))
    )
    swept_m3_h = displacement_m3 * n / 2 * 60
    vacuum = _carburetor_vacuum(point.carburetor, breathing * swept_m3_h, air)
    breathing = breathing * (1 - vacuum / air.pressure_kpa)
    air_flow = breathing * swept_m3_h * dry_density

    lambda_ratio = np.full_like(n, _lambda(family, point, dry_density))
    burned = 1 - LAMBDA_CURVATURE * (lambda_ratio - BEST_LAMBDA) ** 2
    energy_per_air = point.fuel.heating_value_mj_kg / point.fuel.stoichiometric_ratio * 1e3  # kJ/kg
    efficiency = CYCLE_SHARE * (1 - wear.compression_ratio**-EXPANSION_EXPONENT)
    leaked = wear.blow_by_share * (1.15 - 0.3 * n / family.top_speed_rpm)
    indicated_kpa = (
        breathing * dry_density * energy_per_air * efficiency * burned * (1 - 0.8 * leaked)
    )

    friction = friction_kpa(family, n, indicated_kpa) * wear.friction
    friction = friction * (1 + OIL_COLD_PER_K * max(0.0, WARM_OIL_C - oil_c))
    # Blow-by leaves the crankcase warm and at about the surrounding pressure.
    blow_by = leaked * air_flow / (air.pressure_kpa * 1000 / (DRY_AIR_R * 350.0))
    crankcase = _crankcase_vacuum(point, blow_by)
    mean_kpa = (indicated_kpa - friction - vacuum) * (1 + VACUUM_GAIN_PER_KPA * crankcase)
    mean_kpa = mean_kpa * (1 - timing_loss(family, point.fuel, n, point.timing_deg))

    torque = mean_kpa * displacement_m3 * 1000 / (4 * math.pi)
    late = best_timing(family, point.fuel, n) - point.timing_deg
    exhaust = 640 + 170 * n / family.top_speed_rpm + 4 * late + 300 * (lambda_ratio - BEST_LAMBDA)
    return Running(
        speed_rpm=n,
        torque_nm=torque,
        power_kw=torque * n / 9549.2966,
        friction_kpa=friction,
        volumetric_efficiency=breathing,
        air_flow_kg_h=air_flow,
        fuel_flow_kg_h=air_flow / (lambda_ratio * point.fuel.stoichiometric_ratio),
        lambda_ratio=lambda_ratio,
        manifold_vacuum_kpa=vacuum,
        crankcase_vacuum_kpa=crankcase,
        blow_by_m3_h=blow_by,
        exhaust_c=exhaust,
        oil_pressure_kpa=np.minimum(470.0, 170 + 330 * n / family.top_speed_rpm)
        * (1 - 0.004 * (oil_c - WARM_OIL_C)),
    )


def volumetric_efficiency(family: FamilySpec, speed_rpm: Array) -> Array:
    """Trapped dry air over swept volume at inlet density, before the carburetor, at 25 °C:
    two half parabolas that meet at the top, and a bump for every tuned length."""
    away = (speed_rpm - family.breathing_at_rpm) / 1000
    fall = np.where(away < 0, family.breathing_fall_below, family.breathing_fall_above)
    curve = family.breathing_peak * (1 - fall * away**2)
    for bump in family.bumps:
        curve = curve + bump.height * np.exp(-(((speed_rpm - bump.at_rpm) / bump.width_rpm) ** 2))
    return np.asarray(np.maximum(curve, 0.3))


def friction_kpa(family: FamilySpec, speed_rpm: Array, indicated_kpa: Array) -> Array:
    """Friction mean effective pressure as Chen & Flynn, constants common for four-strokes."""
    piston_m_s = 2 * family.stroke_mm / 1000 * speed_rpm / 60
    peak_bar = 6.0 * indicated_kpa / 100  # a full-throttle cycle peaks at about six times its mean
    bar = 0.40 + 0.005 * peak_bar + 0.085 * piston_m_s + 0.0009 * piston_m_s**2
    return np.asarray(100 * bar)


def best_timing(family: FamilySpec, fuel: FuelSpec, speed_rpm: Array) -> Array:
    """The timing of best torque at each speed, degrees before top dead center."""
    middle = (family.band_rpm[0] + family.band_rpm[1]) / 2
    return np.asarray(
        family.best_timing_deg
        + fuel.best_timing_shift_deg
        + family.timing_slope_deg * (speed_rpm - middle) / 1000
    )


def timing_loss(family: FamilySpec, fuel: FuelSpec, speed_rpm: Array, timing_deg: float) -> Array:
    """Relative torque lost at `timing_deg`: a parabola at its top, leaning away from it
    (advance costs more than retard where `timing_lean` is positive)."""
    x = timing_deg - best_timing(family, fuel, speed_rpm)
    lean = 1 + family.timing_lean * x / (np.abs(x) + TIMING_LEAN_DEG)
    return np.asarray(family.timing_curvature * x**2 * lean)


def knock_from(family: FamilySpec, fuel: FuelSpec, air: AirState) -> float:
    """The timing from which knock is heard, degrees; hot air brings it closer."""
    return family.knock_from_deg + fuel.knock_shift_deg - 0.15 * max(0.0, air.temperature_c - 25.0)


def _over_band(family: FamilySpec, speed_rpm: Array, share: tuple[float, float]) -> Array:
    low, high = family.band_rpm
    return np.asarray(np.interp(speed_rpm, (low, high), share))


def _carburetor_vacuum(carburetor: CarburetorSpec, free_flow_m3_h: Array, air: AirState) -> Array:
    """The orifice law: the drop grows with density and the square of volume flow, and the
    thinner charge behind it asks for less (a few rounds settle it)."""
    density = air.density_kg_m3 / 1.18
    drop = np.zeros_like(free_flow_m3_h)
    for _ in range(8):
        flow = free_flow_m3_h * (1 - drop / air.pressure_kpa)
        drop = RATED_DROP_KPA * density * (flow / carburetor.rated_m3_h) ** 2
    return drop


def _lambda(family: FamilySpec, point: SetPoint, dry_density: float) -> float:
    """What the jets make of this fuel and this air: fuel flow follows jet area and the square
    root of both densities, the need follows the air's density."""
    reference = family.reference_fuel
    area = (point.carburetor.jets / point.jets) ** 2
    ratio = reference.stoichiometric_ratio / point.fuel.stoichiometric_ratio
    fuel_density = math.sqrt(reference.density_kg_m3 / point.fuel.density_kg_m3)
    thin = math.sqrt(dry_density / 1.157)
    return family.lambda_as_jetted * area * ratio * fuel_density * thin


def _crankcase_vacuum(point: SetPoint, blow_by_m3_h: Array) -> Array:
    if point.pump_m3_h <= 0:  # an open breather: a little pressure, growing with the flow
        return -0.006 * blow_by_m3_h
    return np.asarray(point.pump_kpa * np.maximum(0.0, 1 - blow_by_m3_h / point.pump_m3_h))
