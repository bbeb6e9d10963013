"""The engine, its builds and its fuels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Engine:
    """One engine with its geometry, limits and ready window.

    Bore and stroke in mm, speeds in rpm, temperatures in °C, pressures in kPa, timing in
    degrees before top dead center. A limit that is ``None`` is not on the engine's sheet.
    `displacement_l` is the one it is known by (a plate, papers), to hold bore and stroke
    against; figures are computed from these.
    """

    id: str
    tag: str
    name: str = ""
    owner: str = ""
    family: str = ""
    layout: str = ""
    cylinders: int | None = None
    bore_mm: float | None = None
    stroke_mm: float | None = None
    displacement_l: float | None = None
    strokes: int = 4
    ignition: str = "spark"
    aspiration: str = "natural"
    compression_ratio: float | None = None
    limit_speed_rpm: float | None = None
    limit_timing_deg: float | None = None
    least_timing_deg: float | None = None
    limit_coolant_c: float | None = None
    limit_oil_c: float | None = None
    limit_exhaust_c: float | None = None
    least_oil_pressure_kpa: float | None = None
    limit_crankcase_vacuum_kpa: float | None = None
    ready_oil_low_c: float | None = None
    ready_oil_high_c: float | None = None
    ready_coolant_low_c: float | None = None
    ready_coolant_high_c: float | None = None
    band_low_rpm: float | None = None
    band_high_rpm: float | None = None
    inertia_kg_m2: float | None = None
    break_in: str = ""
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Build:
    """One assembled state of an engine; the difference from `parent_id` is computed."""

    id: str
    engine_id: str
    label: str
    built_on: str | None = None
    parent_id: str | None = None
    notes: str = ""
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Fuel:
    """One batch of fuel. Density in kg/m³ at `density_at_c`, heating value in MJ/kg.

    Composition is atoms per molecule or per carbon (C, H, O, N); the stoichiometric ratio is
    mass of air per mass of fuel, from the data sheet when given, else from the composition.
    """

    id: str
    name: str
    batch: str = ""
    density_kg_m3: float | None = None
    density_at_c: float | None = None
    carbon: float | None = None
    hydrogen: float | None = None
    oxygen: float | None = None
    nitrogen: float | None = None
    stoichiometric_ratio: float | None = None
    heating_value_mj_kg: float | None = None
    octane_ron: float | None = None
    octane_mon: float | None = None
    opened_on: str | None = None
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
