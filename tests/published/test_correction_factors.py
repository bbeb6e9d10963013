"""Correction factors for five airs, recomputed [R] with IAPWS-95 vapor pressure.

T with 273.15 over 298.15 or 293.15, 1 inHg = 3386.389 Pa. The constants of the printed texts:
J1349 1.18a − 0.18 (1990) [P], 1.176a − 0.176 [M]; J816b [M]; validity ranges of J1349 [M].
"""

from __future__ import annotations

import pytest
from CoolProp import CoolProp

from logbook.engineering.air import AirState, air_state
from logbook.engineering.correction import correct

INHG = 3.386389
F85 = (85 - 32) / 1.8

# kPa, °C, relative humidity → pd, J1349 by 1.18 and by 1.176, J607, J816b, ISO 1585,
# DIN 70020 dry, DIN 70020 total
AIRS = {
    "29.50 inHg, 85 °F, 60 %": (
        (29.50 * INHG, F85, 0.60),
        (97.430439, 1.027913, 1.027818, 1.064650, 1.007953, 1.028453, 1.056332, 1.030235),
    ),
    "dry 99 kPa, 25 °C": (
        (99.0, 25.0, 0.0),
        (99.0, 1.0, 1.0, 1.040047, 0.984661, 1.0, 1.031922, 1.031922),
    ),
    "24.9 inHg, 20 °C, 30 %": (
        (24.9 * INHG, 20.0, 0.30),
        (83.619291, 1.205282, 1.204586, 1.220982, 1.155960, 1.212237, 1.211443, 1.201360),
    ),
    "101.325 kPa, 15 °C, dry": (
        (101.325, 15.0, 0.0),
        (101.325, 0.953424, 0.953582, 0.998996, 0.945795, 0.952824, 0.991191, 0.991191),
    ),
    "28.85 inHg, 85 °F, 85 %": (
        (28.85 * INHG, F85, 0.85),
        (94.200938, 1.069324, 1.069089, 1.101149, 1.042509, 1.070907, 1.092546, 1.053446),
    ),
}
# where each standard with a range stands
OUT_OF_RANGE = {
    ("24.9 inHg, 20 °C, 30 %", "sae-j1349"),
    ("24.9 inHg, 20 °C, 30 %", "iso-1585"),
    ("28.85 inHg, 85 °F, 85 %", "iso-1585"),
}


def _air(name: str) -> AirState:
    pressure, celsius, humidity = AIRS[name][0]
    return air_state(pressure, celsius, "relative", humidity)


@pytest.mark.parametrize("name", AIRS)
def test_dry_pressure(name: str) -> None:
    assert _air(name).dry_pressure_kpa == pytest.approx(AIRS[name][1][0], rel=2e-5)


@pytest.mark.parametrize("name", AIRS)
@pytest.mark.parametrize(
    ("standard", "column"),
    [("sae-j607", 3), ("sae-j816b", 4), ("iso-1585", 5), ("din-70020-dry", 6), ("din-70020", 7)],
)
def test_factor(name: str, standard: str, column: int) -> None:
    assert correct(standard, _air(name)).factor == pytest.approx(AIRS[name][1][column], abs=2e-4)


@pytest.mark.parametrize("name", AIRS)
@pytest.mark.parametrize("rounding", [1, 2], ids=["1.18a-0.18", "1.176a-0.176"])
def test_j1349_lies_close_to_both_printed_roundings(name: str, rounding: int) -> None:
    factor = correct("sae-j1349", _air(name)).factor
    assert factor == pytest.approx(AIRS[name][1][rounding], abs=8e-4)


@pytest.mark.parametrize("name", AIRS)
@pytest.mark.parametrize("standard", ["sae-j1349", "iso-1585", "sae-j607", "din-70020"])
def test_range(name: str, standard: str) -> None:
    correction = correct(standard, _air(name))
    assert correction.in_range == ((name, standard) not in OUT_OF_RANGE)
    assert bool(correction.cautions) == (not correction.in_range)


def test_j1349_live_from_the_definition() -> None:
    kelvin = F85 + 273.15
    dry = 29.5 * INHG - 0.6 * CoolProp.PropsSI("P", "T", kelvin, "Q", 0, "Water") / 1000
    expected = (99 / dry * (kelvin / 298.15) ** 0.5 - 0.15) / 0.85
    assert correct("sae-j1349", _air("29.50 inHg, 85 °F, 60 %")).factor == pytest.approx(
        expected, abs=1e-5
    )


def test_how_far_a_slip_of_an_instrument_moves_j1349() -> None:
    """[R] at the first air: +0.01 inHg −0.0004, +1 °F +0.0021, +5 % humidity +0.0026."""

    def factor(inhg: float = 29.5, celsius: float = F85, humidity: float = 0.6) -> float:
        return correct("sae-j1349", air_state(inhg * INHG, celsius, "relative", humidity)).factor

    assert factor(inhg=29.51) - factor() == pytest.approx(-0.0004, abs=5e-5)
    assert factor(celsius=F85 + 5 / 9) - factor() == pytest.approx(0.0021, abs=2e-4)
    assert factor(humidity=0.65) - factor() == pytest.approx(0.0026, abs=2e-4)


def test_the_older_60_degree_factor_is_no_constant_multiple() -> None:
    """[R] J607 over J1349 runs from 1.013 to 1.048 in these airs."""
    ratios = [
        correct("sae-j607", a).factor / correct("sae-j1349", a).factor for a in map(_air, AIRS)
    ]
    assert min(ratios) == pytest.approx(1.013, abs=1e-3)
    assert max(ratios) == pytest.approx(1.048, abs=1e-3)
