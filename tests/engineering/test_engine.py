"""Engine quantities: inverse pairs, proportions, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering import engine
from logbook.refusals import BadInput

positive = st.floats(min_value=0.01, max_value=1e4)


@given(positive, positive)
def test_power_and_torque_are_each_others_inverse(torque: float, speed: float) -> None:
    assert engine.torque_nm(engine.power_kw(torque, speed), speed) == pytest.approx(torque)


@given(positive, st.floats(min_value=1.0, max_value=3.0))
def test_mean_pressure_goes_with_torque(torque: float, times: float) -> None:
    once = engine.bmep_kpa(torque, 2.0)
    assert engine.bmep_kpa(torque * times, 2.0) == pytest.approx(once * times)
    assert engine.bmep_kpa(torque, 2.0 * times) == pytest.approx(once / times)
    assert engine.bmep_kpa(torque, 2.0, strokes=2) == pytest.approx(once / 2)


def test_displacement_of_a_square_two_liter_four() -> None:
    assert engine.displacement_l(86, 86, 4) == pytest.approx(math.pi * 86**3 / 1e6)


def test_mean_piston_speed() -> None:
    assert engine.mean_piston_speed_m_s(86, 9000) == pytest.approx(25.8)


def test_full_cylinders_are_an_efficiency_of_one() -> None:
    flow = engine.theoretical_flow_m3_h(2.0, 6000) * 1.18
    assert engine.volumetric_efficiency(flow, 1.18, 2.0, 6000) == pytest.approx(1.0)
    assert engine.theoretical_flow_m3_h(2.0, 6000, strokes=2) == pytest.approx(720.0)


def test_fuel_that_returns_to_the_tank_was_not_burned() -> None:
    assert engine.net_fuel_kg_h(0.2, 0.1, 750) == pytest.approx(75)
    assert engine.net_fuel_kg_h(0.2, 0.1, 750, 740) == pytest.approx(76)


def test_mixture_and_lambda() -> None:
    ratio = engine.air_fuel_ratio(1176, 90)
    assert engine.lambda_of(ratio, 14.6) == pytest.approx(1176 / 90 / 14.6)
    assert engine.specific_consumption_kg_kwh(90, 300) == pytest.approx(0.3)


def test_blow_by_and_thermal_efficiency() -> None:
    assert engine.blow_by_share(6, 600) == pytest.approx(0.01)
    # 0.27 kg/kWh of 44 MJ/kg: 3.6 MJ out of 11.88 MJ
    assert engine.thermal_efficiency(100, 27, 44) == pytest.approx(3.6 / 11.88)


def test_inertia_torque() -> None:
    assert engine.inertia_torque_nm(2.0, 60 / (2 * math.pi)) == pytest.approx(2.0)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_what_must_be_above_zero_is_refused_otherwise(bad: float) -> None:
    for attempt in (
        lambda: engine.torque_nm(100, bad),
        lambda: engine.displacement_l(bad, 86, 4),
        lambda: engine.bmep_kpa(100, bad),
        lambda: engine.mean_piston_speed_m_s(bad, 6000),
        lambda: engine.volumetric_efficiency(100, bad, 2, 6000),
        lambda: engine.specific_consumption_kg_kwh(10, bad),
        lambda: engine.air_fuel_ratio(100, bad),
        lambda: engine.lambda_of(13, bad),
        lambda: engine.blow_by_share(1, bad),
        lambda: engine.thermal_efficiency(100, bad, 44),
    ):
        with pytest.raises(BadInput, match="is not above zero"):
            attempt()


def test_only_two_and_four_strokes_make_a_cycle() -> None:
    with pytest.raises(BadInput, match="6 strokes make no cycle"):
        engine.bmep_kpa(100, 2.0, strokes=6)
