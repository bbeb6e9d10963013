"""Correction: what holds for every standard, and what is refused or cautioned."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering.air import air_state
from logbook.engineering.correction import STANDARDS, correct, refusal_to_correct, standard
from logbook.refusals import BadInput

KEYS = tuple(STANDARDS)
CORRECTING = tuple(key for key in KEYS if key != "none")

# The reference air of each standard: kPa dry, °C.
REFERENCE = {
    "sae-j1349": (99.0, 25.0),
    "sae-j607": (29.92 * 3.386389, (60 - 32) / 1.8),
    "sae-j816b": (29.00 * 3.386389, (85 - 32) / 1.8),
    "iso-1585": (99.0, 25.0),
    "din-70020": (101.3, 20.0),
    "din-70020-dry": (101.3, 20.0),
    "none": (80.0, 5.0),
}

pressures = st.floats(min_value=75.0, max_value=108.0)
temperatures = st.floats(min_value=-5.0, max_value=45.0)
humidities = st.floats(min_value=0.0, max_value=1.0)


def test_every_standard_of_the_trade_is_listed_with_what_a_sheet_must_say() -> None:
    assert tuple(REFERENCE) == KEYS
    for key, entry in STANDARDS.items():
        assert entry.key == key
        assert entry.name
        assert entry.reference
        assert entry.formula
        assert entry.note
    assert "withdrawn" in STANDARDS["sae-j607"].name
    assert "no friction term" in STANDARDS["sae-j607"].note
    assert "85 % mechanical efficiency" in STANDARDS["sae-j1349"].note


@pytest.mark.parametrize("key", KEYS)
def test_at_its_reference_air_a_standard_corrects_nothing(key: str) -> None:
    correction = correct(key, air_state(*REFERENCE[key], "relative", 0.0))
    assert correction.factor == pytest.approx(1.0, abs=1e-12)
    assert correction.in_range
    assert correction.cautions == ()


@pytest.mark.parametrize("key", CORRECTING)
@given(pressures, temperatures, humidities, st.floats(min_value=0.01, max_value=2.0))
def test_higher_pressure_lowers_the_factor(
    key: str, pressure: float, celsius: float, humidity: float, step: float
) -> None:
    low = air_state(pressure, celsius, "relative", humidity)
    high = air_state(pressure + step, celsius, "relative", humidity)
    assert correct(key, high).factor < correct(key, low).factor


@pytest.mark.parametrize("key", CORRECTING)
@given(pressures, temperatures, st.floats(min_value=0.01, max_value=5.0))
def test_warmer_air_raises_the_factor(
    key: str, pressure: float, celsius: float, step: float
) -> None:
    cool = air_state(pressure, celsius, "vapor pressure", 0.2)
    warm = air_state(pressure, celsius + step, "vapor pressure", 0.2)
    assert correct(key, warm).factor > correct(key, cool).factor


@pytest.mark.parametrize("key", CORRECTING)
@given(pressures, temperatures, humidities)
def test_humid_air_raises_the_factor_of_all_but_the_total_pressure_one(
    key: str, pressure: float, celsius: float, humidity: float
) -> None:
    dry = correct(key, air_state(pressure, celsius, "relative", 0.0)).factor
    moist = correct(key, air_state(pressure, celsius, "relative", humidity)).factor
    if key == "din-70020":
        assert moist == dry
    else:
        assert moist >= dry


@given(pressures, temperatures, humidities)
def test_the_friction_share_makes_j1349_move_more_than_iso(
    pressure: float, celsius: float, humidity: float
) -> None:
    """a − 0.15 over 0.85 stretches the ratio of airs by 1/0.85: close to ISO's powers 1.2, 0.6."""
    air = air_state(pressure, celsius, "relative", humidity)
    factor, other = correct("sae-j1349", air).factor, correct("iso-1585", air).factor
    # Apart by 3 % at the thinnest air tried: 75 kPa, 45 °C and saturated.
    assert factor == pytest.approx(other, rel=0.035)


@given(pressures, temperatures, humidities)
def test_without_correction_the_factor_is_one_in_any_air(
    pressure: float, celsius: float, humidity: float
) -> None:
    correction = correct("none", air_state(pressure, celsius, "relative", humidity))
    assert (correction.factor, correction.in_range, correction.cautions) == (1.0, True, ())


def test_air_outside_a_standards_range_is_cautioned_with_every_reason() -> None:
    correction = correct("sae-j1349", air_state(84.3, 38.0, "relative", 0.3))
    assert not correction.in_range
    assert [caution.code for caution in correction.cautions] == [
        "factor-out-of-range",
        "air-temperature-out-of-range",
        "dry-pressure-out-of-range",
    ]
    assert correction.cautions[1].text == (
        "SAE J1349: the inlet temperature 38.0 °C is outside 15–35 °C, where the standard stands"
    )


def test_a_standard_without_a_stated_range_stands_everywhere() -> None:
    assert correct("sae-j607", air_state(75.0, 45.0, "relative", 0.9)).in_range


def test_an_unknown_standard_is_answered_with_the_known_ones() -> None:
    with pytest.raises(BadInput) as refused:
        standard("sae")
    assert "one of sae-j1349, sae-j607, sae-j816b, iso-1585" in refused.value.sentence


def test_a_standard_is_found_in_any_case() -> None:
    assert standard(" SAE-J1349 ").key == "sae-j1349"


@pytest.mark.parametrize(
    ("ignition", "aspiration", "said"),
    [
        ("compression", "natural", "Compression-ignition engines are not corrected"),
        ("spark", "boosted", "Boosted engines are not corrected"),
        ("compression", "boosted", "Compression-ignition engines are not corrected"),
    ],
)
def test_engines_these_factors_are_not_made_for(ignition: str, aspiration: str, said: str) -> None:
    refusal = refusal_to_correct(ignition, aspiration)
    assert refusal is not None
    assert refusal.startswith(said)


def test_a_naturally_aspirated_spark_engine_is_corrected() -> None:
    assert refusal_to_correct("spark", "natural") is None
