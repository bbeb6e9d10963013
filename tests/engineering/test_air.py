"""Air: every humidity leads to the same state, and impossible readings are refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering.air import AirState, air_state, saturation_pressure_kpa
from logbook.engineering.atmosphere import (
    density_altitude_m,
    sea_level_suspicion,
    standard_density_kg_m3,
    standard_pressure_kpa,
    station_from_sea_level,
)
from logbook.records.air import HUMIDITY_KINDS
from logbook.refusals import BadInput

pressures = st.floats(min_value=50.0, max_value=110.0)
temperatures = st.floats(min_value=-40.0, max_value=60.0)
humidities = st.floats(min_value=0.0, max_value=1.0)


def test_the_same_air_by_every_kind_of_humidity() -> None:
    first = air_state(99.9, 30.0, "relative", 0.4)
    mixing = 0.621945 * first.vapor_pressure_kpa / first.dry_pressure_kpa
    for kind, value in (("vapor pressure", first.vapor_pressure_kpa), ("mixing ratio", mixing)):
        again = air_state(99.9, 30.0, kind, value)
        assert again.dry_pressure_kpa == pytest.approx(first.dry_pressure_kpa, rel=1e-9)
        assert again.density_kg_m3 == pytest.approx(first.density_kg_m3, rel=1e-9)


def test_vapor_lowers_dry_pressure_and_density() -> None:
    state = air_state(99.9, 30.0, "relative", 0.4)
    assert state.dry_pressure_kpa == state.pressure_kpa - state.vapor_pressure_kpa
    assert state.dry_density_kg_m3 < state.density_kg_m3


@given(pressures, temperatures, humidities)
def test_more_vapor_is_thinner_air(pressure: float, celsius: float, humidity: float) -> None:
    dry = air_state(pressure, celsius, "relative", 0.0)
    moist = air_state(pressure, celsius, "relative", humidity)
    assert moist.density_kg_m3 <= dry.density_kg_m3
    assert moist.density_altitude_m >= dry.density_altitude_m - 1e-6
    assert moist.relative_humidity == pytest.approx(humidity, abs=1e-12)


@given(pressures, temperatures, st.floats(min_value=0.01, max_value=5.0))
def test_warmer_air_is_thinner(pressure: float, celsius: float, step: float) -> None:
    warmer = min(celsius + step, 60.0)
    cold = air_state(pressure, celsius, "vapor pressure", 0.0)
    assert air_state(pressure, warmer, "vapor pressure", 0.0).density_kg_m3 <= cold.density_kg_m3


@given(pressures, st.floats(min_value=-20.0, max_value=60.0))
def test_saturated_air_has_one_temperature(pressure: float, celsius: float) -> None:
    for kind in ("wet bulb", "dew point"):
        state = air_state(pressure, celsius, kind, celsius)
        assert state.relative_humidity == pytest.approx(1.0, rel=1e-4)
        assert state.relative_humidity <= 1.0


@given(st.floats(min_value=-39.0, max_value=59.0), st.floats(min_value=0.01, max_value=1.0))
def test_saturation_rises_with_temperature(celsius: float, step: float) -> None:
    assert saturation_pressure_kpa(celsius + step) > saturation_pressure_kpa(celsius)


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ((49.9, 20.0, "relative", 0.4), "Pressure: 49.9 kPa is outside 50 to 110 kPa"),
        ((110.1, 20.0, "relative", 0.4), "Pressure: 110.1 kPa is outside"),
        ((99.0, -40.1, "relative", 0.4), "Air temperature: -40.1 °C is outside -40 to 60 °C"),
        ((99.0, 60.1, "relative", 0.4), "Air temperature: 60.1 °C is outside"),
        ((99.0, 20.0, "relative", 1.4), "Relative humidity: 140 % is outside 0 to 100 %"),
        ((99.0, 20.0, "relative", -0.1), "Relative humidity: -10 % is outside"),
        (
            (99.0, 20.0, "wet bulb", 20.1),
            "Wet bulb: 20.1 °C (68.2 °F) is above the dry bulb of 20.0 °C (68.0 °F)",
        ),
        ((99.0, 20.0, "dew point", 20.1), "Dew point: 20.1 °C (68.2 °F) is above the dry bulb"),
        ((99.0, 20.0, "dew point", -101.0), "Dew point: -101 °C is below"),
        ((99.0, 20.0, "wet bulb", 0.0), "colder than even dry air"),
        ((99.0, 20.0, "vapor pressure", 3.0), "Vapor pressure: 3 kPa of vapor is more than"),
        ((99.0, 20.0, "vapor pressure", -1.0), "Vapor pressure: -1 is below zero"),
        ((99.0, 20.0, "mixing ratio", 0.03), "Mixing ratio: "),
        ((99.0, 20.0, "mixing ratio", -0.01), "Mixing ratio: -0.01 is below zero"),
        ((99.0, 20.0, "damp", 0.4), "Humidity: 'damp' is no kind of humidity reading"),
        ((float("nan"), 20.0, "relative", 0.4), "Pressure: nan is not a number"),
        ((99.0, float("inf"), "relative", 0.4), "Air temperature: inf is not a number"),
        ((99.0, 20.0, "wet bulb", float("nan")), "Wet bulb: nan is not a number"),
        ((99.0, 20.0, "mixing ratio", float("inf")), "Mixing ratio: inf is not a number"),
    ],
)
def test_an_impossible_reading_is_refused(
    reading: tuple[float, float, str, float], said: str
) -> None:
    with pytest.raises(BadInput) as refused:
        air_state(*reading)
    assert said in refused.value.sentence


@given(
    st.floats(),
    st.floats(),
    st.sampled_from(HUMIDITY_KINDS),
    st.one_of(st.floats(), st.floats(min_value=-50, max_value=50)),
)
def test_any_numbers_are_air_or_a_sentence(
    pressure: float, celsius: float, kind: str, humidity: float
) -> None:
    try:
        state: AirState | None = air_state(pressure, celsius, kind, humidity)
    except BadInput:
        state = None
    assert state is None or (state.density_kg_m3 > 0 and 0 <= state.relative_humidity <= 1)


@given(st.floats(min_value=-4000.0, max_value=10_000.0))
def test_density_altitude_inverts_the_standard_atmosphere(altitude: float) -> None:
    assert density_altitude_m(standard_density_kg_m3(altitude)) == pytest.approx(altitude, abs=1e-6)


def test_sea_level_pressure_is_taken_back_to_the_station() -> None:
    assert station_from_sea_level(101.325, 1600.0) == pytest.approx(83.5235, abs=1e-4)
    assert station_from_sea_level(100.0, 0.0) == 100.0


@given(st.floats(min_value=85.0, max_value=110.0), st.floats(min_value=0.0, max_value=3000.0))
def test_the_station_reads_less_the_higher_it_lies(sea_level: float, altitude: float) -> None:
    station = station_from_sea_level(sea_level, altitude)
    assert station_from_sea_level(sea_level, altitude + 100) < station <= sea_level


def test_a_weather_service_reading_is_suspected_at_altitude() -> None:
    implied = sea_level_suspicion(101.6, 1600.0)
    assert implied == pytest.approx(station_from_sea_level(101.6, 1600.0))


@pytest.mark.parametrize("altitude", [0.0, 150.0, 600.0, 1600.0, 2500.0])
def test_a_station_reading_is_not_suspected(altitude: float) -> None:
    for weather in (0.97, 1.0, 1.02):
        assert sea_level_suspicion(standard_pressure_kpa(altitude) * weather, altitude) is None


def test_an_altitude_nobody_builds_at_is_refused() -> None:
    with pytest.raises(BadInput, match="Altitude: 9000 m is outside -500 to 6000 m"):
        station_from_sea_level(101.0, 9000.0)
