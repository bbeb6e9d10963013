"""The demo's engines behave like engines: physics, check bands, and the declared truth."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.engineering.air import air_state
from logbook.engineering.correction import correct
from seed_db import model
from seed_db.day import set_point
from seed_db.model import Running
from seed_db.shop import BuildSpec, EngineSpec, engines, fuels
from seed_db.story import sessions
from seed_db.truth import band_power_kw, best_timing_deg, given_away_percent, reference_air

INHG_KPA = 3.386389
HP_KW = 0.745699872
LB_HPH = 0.608277388  # kg/kWh in one lb/(hp·h)


def set_up_of(tag: str, build: str) -> dict[str, str]:
    """The set-up that the story first runs this build with."""
    found = next(
        session
        for session in sessions().values()
        if session.engine.tag == tag and session.build.label == build
    )
    return dict(found.pulls[0].set_up)


def every_build() -> list[tuple[str, str]]:
    return [(tag, build) for tag, engine in engines().items() for build in engine.builds]


def running(engine: EngineSpec, build: BuildSpec, *, oil_c: float = 92.0) -> Running:
    point = set_point(engine, set_up_of(engine.tag, build.label))
    speed = np.arange(engine.family.sweep_rpm[0], engine.family.sweep_rpm[1] + 1, 50.0)
    return model.run(engine.family, build.wear, point, reference_air(), speed, oil_c=oil_c)


@pytest.mark.parametrize(("tag", "build"), every_build())
def test_engine_stays_within_the_check_bands_of_the_trade(tag: str, build: str) -> None:
    # Bands: common practice, no source.
    engine = engines()[tag]
    shown = running(engine, engine.builds[build])
    low, high = engine.family.band_rpm
    band = (shown.speed_rpm >= low) & (shown.speed_rpm <= high)
    fuel = fuels()[set_up_of(tag, build)["fuel"]]

    bmep_bar = 0.1256637 * shown.torque_nm / engine.family.displacement_l
    assert 10.0 < bmep_bar.max() < 16.0
    consumption = np.mean(shown.fuel_flow_kg_h[band] / shown.power_kw[band]) / LB_HPH
    assert 0.38 < consumption / (2.0 if fuel.name == "Methanol" else 1.0) < 0.50
    assert shown.volumetric_efficiency[band].min() > 0.85
    assert shown.volumetric_efficiency.max() < 1.15
    friction = shown.friction_kpa / (shown.friction_kpa + 100 * bmep_bar)
    assert friction.min() > 0.12
    assert friction.max() < 0.26


@pytest.mark.parametrize(("tag", "build"), every_build())
def test_fuel_energy_is_never_exceeded_and_well_used(tag: str, build: str) -> None:
    engine = engines()[tag]
    shown = running(engine, engine.builds[build])
    fuel = fuels()[set_up_of(tag, build)["fuel"]]
    heat_kw = shown.fuel_flow_kg_h * fuel.heating_value_mj_kg / 3.6
    efficiency = shown.power_kw / heat_kw
    assert efficiency.min() > 0.22
    assert efficiency.max() < 0.36  # full throttle, rich


@pytest.mark.parametrize(("tag", "build"), every_build())
def test_torque_peaks_before_power_and_both_inside_the_sweep(tag: str, build: str) -> None:
    engine = engines()[tag]
    shown = running(engine, engine.builds[build])
    torque_at, power_at = shown.torque_nm.argmax(), shown.power_kw.argmax()
    assert 0 < torque_at < power_at < len(shown.speed_rpm) - 1
    assert shown.speed_rpm[power_at] < engine.family.top_speed_rpm


@pytest.mark.parametrize("tag", list(engines()))
def test_power_follows_the_air(tag: str) -> None:
    engine = engines()[tag]
    build = engine.builds["build 1"]
    set_up = set_up_of(tag, "build 1")

    def power(pressure: float, temperature: float, vapor: float) -> float:
        air = air_state(pressure, temperature, "vapor pressure", vapor)
        return band_power_kw(engine, build, set_up, air)

    assert power(96, 25, 1) < power(98, 25, 1) < power(100, 25, 1) < power(102, 25, 1)
    assert power(99, 35, 1) < power(99, 25, 1) < power(99, 15, 1) < power(99, 5, 0.8)
    assert power(99, 25, 3) < power(99, 25, 2) < power(99, 25, 1)


@pytest.mark.parametrize("tag", list(engines()))
@pytest.mark.parametrize(
    ("pressure", "temperature", "vapor"), [(97, 32, 2.5), (101, 16, 0.8), (99, 25, 2.0)]
)
def test_correction_takes_the_weather_out_to_within_a_percent(
    tag: str, pressure: float, temperature: float, vapor: float
) -> None:
    # No engine follows a standard exactly: jets go lean in thick air.
    engine = engines()[tag]
    build = engine.builds["build 1"]
    set_up = set_up_of(tag, "build 1")
    air = air_state(pressure, temperature, "vapor pressure", vapor)
    corrected = band_power_kw(engine, build, set_up, air) * correct("sae-j1349", air).factor
    assert corrected == pytest.approx(band_power_kw(engine, build, set_up), rel=0.01)


@pytest.mark.parametrize("tag", list(engines()))
def test_best_timing_of_the_band_is_the_declared_one(tag: str) -> None:
    engine = engines()[tag]
    set_up = set_up_of(tag, "build 1")
    declared = engine.family.best_timing_deg + fuels()[set_up["fuel"]].best_timing_shift_deg
    best = best_timing_deg(engine, engine.builds["build 1"], set_up)
    assert best == pytest.approx(declared, abs=0.35)


@pytest.mark.parametrize("tag", list(engines()))
def test_timing_curve_is_flat_at_its_top_and_leans(tag: str) -> None:
    # Flatness: common practice, no source.
    engine = engines()[tag]
    set_up = set_up_of(tag, "build 1")
    build = engine.builds["build 1"]
    best = best_timing_deg(engine, build, set_up)
    lost = {
        step: given_away_percent(engine, build, set_up, best + step) for step in (-5, -2, 2, 5, 8)
    }
    assert 0.08 < lost[-2] < 0.25
    assert 0.08 < lost[2] < 0.25
    assert 0.7 < (lost[-5] + lost[5]) / 2 < 1.4
    assert lost[5] > 1.1 * lost[-5]
    assert lost[8] > lost[5]


def test_friction_is_chen_and_flynn() -> None:
    # 86 mm at 6000 rpm: 17.2 m/s; 13 bar mean, so 78 bar peak:
    # 0.40 + 0.005·78 + 0.085·17.2 + 0.0009·17.2² = 2.518 bar (form from memory, SAE 650733).
    family = engines()["HC-4A"].family
    bar = model.friction_kpa(family, np.array([6000.0]), np.array([1300.0])) / 100
    assert bar[0] == pytest.approx(2.5183, abs=1e-3)


def test_a_carburetor_drops_its_rated_vacuum_at_its_rated_flow() -> None:
    engine = engines()["RB-8"]
    build = engine.builds["build 1"]
    air = reference_air()
    speed = np.arange(4000.0, 6700.0, 10.0)
    point = set_point(engine, set_up_of("RB-8", "build 1"))
    shown = model.run(engine.family, build.wear, point, air, speed)
    inlet_m3_h = shown.air_flow_kg_h / air.dry_density_kg_m3
    vacuum = np.interp(point.carburetor.rated_m3_h, inlet_m3_h, shown.manifold_vacuum_kpa)
    assert vacuum == pytest.approx(1.5 * INHG_KPA * air.density_kg_m3 / 1.18, rel=1e-3)


def test_small_carburetors_restrict_and_large_ones_do_less() -> None:
    engine = engines()["RB-8"]
    set_up = set_up_of("RB-8", "build 1")
    speed = np.array([6400.0])

    def vacuum(name: str) -> float:
        point = set_point(engine, {**set_up, "carburetor": name})
        wear = engine.builds["build 1"].wear
        shown = model.run(engine.family, wear, point, reference_air(), speed)
        return float(shown.manifold_vacuum_kpa[0]) / INHG_KPA

    assert vacuum("550 cfm four-barrel") > 1.5
    assert 0.5 < vacuum("780 cfm four-barrel") < 1.2


def test_worn_rings_blow_by_and_fresh_ones_let_the_pump_pull() -> None:
    # 0.5–1.5 % of the air flow is good, 2–3 % worn: common practice, no source.
    tired = engines()["PT-6"]
    assert 0.02 < tired.builds["build 1"].wear.blow_by_share < 0.03
    assert 0.005 < tired.builds["build 2"].wear.blow_by_share < 0.015
    boat = engines()["RB-8"]
    point = set_point(boat, {**set_up_of("RB-8", "build 3"), "vacuum pump": "belt, 1:2"})
    speed = np.array([5500.0])

    def vacuum(build: str) -> float:
        wear = boat.builds[build].wear
        shown = model.run(boat.family, wear, point, reference_air(), speed)
        return float(shown.crankcase_vacuum_kpa[0]) / INHG_KPA

    assert vacuum("build 1") < vacuum("build 3") - 2
    assert 5 < vacuum("build 3") < 15


def test_cold_oil_costs_power_and_an_oxygenated_fuel_leans_the_mixture() -> None:
    engine = engines()["HC-4A"]
    build = engine.builds["build 1"]
    warm, cold = running(engine, build), running(engine, build, oil_c=60.0)
    lost = 1 - cold.torque_nm / warm.torque_nm
    assert 0.01 < lost.min() < lost.max() < 0.05
    set_up = set_up_of("HC-4A", "build 1")
    lean = set_point(engine, {**set_up, "fuel": "Race O2 drum 11"})
    shown = model.run(engine.family, build.wear, lean, reference_air(), [6000.0])
    pump = model.run(
        engine.family, build.wear, set_point(engine, set_up), reference_air(), [6000.0]
    )
    assert shown.lambda_ratio[0] > pump.lambda_ratio[0] + 0.03
