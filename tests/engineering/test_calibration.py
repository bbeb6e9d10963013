"""Calibrations: figures, verdicts, and readings turned back into what they stood for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering import calibration as cal
from logbook.engineering import gravity
from logbook.records.calibration import DOWN, UP
from logbook.refusals import BadInput

LOADS = [0.0, 100.0, 200.0, 300.0, 400.0]


def test_span_zero_linearity_and_hysteresis_of_a_load_cell() -> None:
    """Reads 1 % high, 0.4 N·m of zero, 0.8 N·m more on the way down at 200."""
    reference = LOADS + LOADS[-2::-1]
    reading = [1.01 * r + 0.4 for r in LOADS] + [1.01 * r + 0.4 for r in LOADS[-2::-1]]
    reading[6] += 0.8
    ways = [UP] * 5 + [DOWN] * 4
    found = cal.figures(reference, reading, ways, zero_before=0.0, zero_after=0.2)
    assert found.span_error_percent == pytest.approx(1.0, abs=0.02)
    assert found.hysteresis_percent == pytest.approx(0.2)
    assert found.zero_shift_percent == pytest.approx(0.05)
    assert found.worst_percent == pytest.approx(1.1)
    assert found.worst_at == 400.0
    assert found.curved is False
    assert cal.judge(found, 1.1) == cal.WITHIN
    assert cal.judge(found, 1.0) == cal.BEYOND
    assert cal.judge(found, None) == cal.UNJUDGED


def test_zero_and_linearity_are_those_of_the_line() -> None:
    """By hand: 0.8 too much in the middle of five raises the line by 0.16 and bends nothing; it
    is 0.56 at zero, and the middle lies 0.64 off it, of a span of 400."""
    reading = [1.01 * r + 0.4 for r in LOADS]
    reading[2] += 0.8
    found = cal.figures(LOADS, reading)
    assert found.zero_error_percent == pytest.approx(0.14)
    assert found.linearity_percent == pytest.approx(0.16)
    low = cal.figures(LOADS, [2.0 * r - y for r, y in zip(LOADS, reading, strict=True)])
    assert low.zero_error_percent == pytest.approx(-0.14)
    assert low.linearity_percent == pytest.approx(0.16)


def test_a_bent_instrument_is_called_bent() -> None:
    reading = [r + 2e-5 * r * r + 0.01 * (-1) ** i for i, r in enumerate(LOADS)]
    assert cal.figures(LOADS, reading).curved


def test_a_moved_zero_alone_is_out_of_tolerance() -> None:
    found = cal.figures(LOADS, LOADS, zero_before=0.0, zero_after=-3.0)
    assert cal.judge(found, 0.5) == cal.BEYOND


@given(
    st.floats(0.8, 1.2), st.floats(-5, 5), st.floats(-1e-4, 1e-4), st.sampled_from([1, 2])
)  # fmt: skip
def test_a_calibration_turned_round_gives_the_references(
    slope: float, zero: float, bend: float, degree: int
) -> None:
    loads = np.linspace(-50.0, 600.0, 8)
    bend = bend if degree == cal.PARABOLA else 0.0
    readings = zero + slope * loads + bend * loads**2
    fitted = cal.fit(loads, readings, degree)
    assert cal.true_values(readings, fitted) == pytest.approx(loads, abs=1e-6)
    assert (fitted.low, fitted.high) == (-50.0, 600.0)


def test_where_a_parabola_has_turned_back_nothing_is_invented() -> None:
    fitted = cal.fit(LOADS, [r - 1e-3 * r * r for r in LOADS], cal.PARABOLA)
    with pytest.raises(BadInput, match="turns back"):
        cal.true_values([260.0], fitted)


@pytest.mark.parametrize(
    ("bend", "about", "turns_at"),
    [(-1.6e-3, 0.0, "312.5"), (-1.3e-3, 0.0, "384.6"), (1.6e-3, 400.0, "87.5")],
)
def test_a_parabola_that_turns_back_between_its_references_is_not_turned_round(
    bend: float, about: float, turns_at: str
) -> None:
    """Two loads have the same reading: which of them it stood for nothing can tell."""
    readings = [r + bend * (r - about) ** 2 for r in LOADS]
    fitted = cal.fit(LOADS, readings, cal.PARABOLA)
    with pytest.raises(BadInput, match=f"turns back at {turns_at}, between its references 0 and"):
        cal.true_values(readings, fitted)


def test_a_parabola_that_turns_back_where_its_references_end_is_turned_round() -> None:
    readings = [r - r * r / 800.0 for r in LOADS]
    fitted = cal.fit(LOADS, readings, cal.PARABOLA)
    assert cal.true_values(readings[:-1], fitted) == pytest.approx(LOADS[:-1], abs=1e-6)


@pytest.mark.parametrize(
    ("reference", "reading", "said"),
    [
        ([1.0, 1.0, 1.0], [1.0, 1.1, 0.9], "1 different references"),
        ([1.0, 2.0], [1.0], "do not go together"),
        ([1.0, math.inf, 2.0], [1.0, 1.0, 1.0], "not a number"),
    ],
)
def test_too_little_for_a_fit_is_refused(
    reference: list[float], reading: list[float], said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        cal.fit(reference, reading, cal.LINE)


def test_two_points_make_a_line_without_an_error() -> None:
    found = cal.fit([0.0, 100.0], [0.5, 101.0], cal.LINE)
    assert found.coefficients == pytest.approx((0.5, 1.005))
    assert found.residual_sd is found.standard_errors is None


def test_dead_weights_make_their_torque() -> None:
    """20 kg on 1 m at standard gravity less the air's buoyancy, 0.015 %."""
    torque = gravity.dead_weight_torque_nm(20.0, 1000.0, 9.80665)
    assert torque == pytest.approx(20.0 * 9.80665 * 0.99985)
    with pytest.raises(BadInput, match="nowhere on earth"):
        gravity.dead_weight_torque_nm(20.0, 1000.0, 32.174)


@given(st.floats(-90, 90), st.floats(-400, 5900))
def test_gravity_falls_with_height_and_is_the_same_north_and_south(lat: float, up: float) -> None:
    here = gravity.local_gravity_m_s2(lat, up)
    assert here == gravity.local_gravity_m_s2(-lat, up)
    assert gravity.local_gravity_m_s2(lat, up + 100) - here == pytest.approx(-3.08e-4, rel=0.01)
