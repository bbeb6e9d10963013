"""Stoichiometric ratios [R] of CcHhOoNn after Heywood (1988), chapter 3, and what follows."""

from __future__ import annotations

import math

import pytest

from logbook.engineering.fuel import (
    HEATING_VALUES_MJ_KG,
    Composition,
    blend_by_mass,
    jet_area_ratio,
    jet_area_ratio_for_air,
    mass_shares,
    stoichiometric_ratio,
)
from logbook.engineering.fuel_change import heating_value_mj_kg
from logbook.engineering.fuel_density import USUAL_LOSS_KG_M3_K, gasoline_factor

GASOLINE = Composition(1, 1.87)
ETHANOL = Composition(2, 6, 1)
METHANOL = Composition(1, 4, 1)
ISOOCTANE = Composition(8, 18)


@pytest.mark.parametrize(
    ("fuel", "ratio"),
    [
        (ISOOCTANE, 15.1266),
        (Composition(7, 16), 15.1748),
        (Composition(7, 8), 13.5024),
        (METHANOL, 6.4713),
        (ETHANOL, 9.0019),
        (Composition(5, 12, 1), 11.7614),
        (Composition(1, 3, 2, 1), 1.6985),
        (GASOLINE, 14.5985),
    ],
    ids=[
        "isooctane",
        "heptane",
        "toluene",
        "methanol",
        "ethanol",
        "MTBE",
        "nitromethane",
        "CH1.87",
    ],
)
def test_stoichiometric_ratio(fuel: Composition, ratio: float) -> None:
    assert stoichiometric_ratio(fuel) == pytest.approx(ratio, abs=5e-5)


def _e10() -> float:
    shares = mass_shares((0.9, 0.1), (745, 789.3))
    return blend_by_mass((stoichiometric_ratio(GASOLINE), stoichiometric_ratio(ETHANOL)), shares)


def test_ten_percent_ethanol_by_volume() -> None:
    assert _e10() == pytest.approx(14.0091, abs=5e-5)


def test_jets_for_another_fuel() -> None:
    """[R] rounded: methanol against isooctane about 2.2, E10 against gasoline 1.04.

    Densities at 20 °C, kg/m³, from memory: isooctane 692, methanol 791.
    """
    to_methanol = jet_area_ratio(
        stoichiometric_ratio(ISOOCTANE), stoichiometric_ratio(METHANOL), 692, 791
    )
    assert to_methanol == pytest.approx(2.2, abs=0.05)
    density_e10 = 0.9 * 745 + 0.1 * 789.3
    to_e10 = jet_area_ratio(stoichiometric_ratio(GASOLINE), _e10(), 745, density_e10)
    assert to_e10 == pytest.approx(1.04, abs=0.005)


def test_jets_for_thinner_air() -> None:
    """10 % thinner air, 5 % less area (√0.9)."""
    assert jet_area_ratio_for_air(1.2, 1.08) == pytest.approx(0.95, abs=0.002)


def test_heating_values_are_those_remembered_from_heywood() -> None:
    """[M] Heywood, appendix D: lower heating values, MJ/kg."""
    assert HEATING_VALUES_MJ_KG == {
        "isooctane": 44.3,
        "n-heptane": 44.6,
        "toluene": 40.6,
        "methanol": 20.0,
        "ethanol": 26.9,
        "gasoline": 44.0,
    }


def test_heating_values_from_the_elements_lie_by_those_of_the_book() -> None:
    """Mendeleev's formula [M] against Heywood's appendix D [M]: within 2 %."""
    for name, fuel in (
        ("isooctane", ISOOCTANE),
        ("n-heptane", Composition(7, 16)),
        ("toluene", Composition(7, 8)),
        ("methanol", METHANOL),
        ("ethanol", ETHANOL),
    ):
        assert heating_value_mj_kg(fuel) == pytest.approx(HEATING_VALUES_MJ_KG[name], rel=0.02)


def test_thermal_expansion_of_gasolines_in_both_printings() -> None:
    """[M] API MPMS 11.1 prints its constants for °F (192.4571, 0.2438) and °C: the same ones."""
    for density in (680.0, 745.0):
        in_fahrenheit = 192.4571 / density**2 + 0.2438 / density
        step = in_fahrenheit * (30.0 - 15.0) * 1.8
        assert gasoline_factor(density, 30.0) == pytest.approx(
            math.exp(-step * (1.0 + 0.8 * step)), rel=1e-8
        )


def test_thermal_expansion_lies_by_that_of_pure_liquids() -> None:
    """[R] CoolProp 6, kg/m³ lost from 15 to 30 °C at one atmosphere: n-heptane 0.8436 and
    toluene 0.9308 a kelvin; gasoline of a density between them by the tables, and the usual
    0.9 for everything."""
    lost = (745.0 - 745.0 * gasoline_factor(745.0, 30.0)) / 15.0
    assert lost == pytest.approx((0.8436 + 0.9308) / 2.0, rel=0.06)
    for pure in (0.8436, 0.8073, 0.9308, 0.9375, 0.8580):
        assert pytest.approx(pure, rel=0.12) == USUAL_LOSS_KG_M3_K
