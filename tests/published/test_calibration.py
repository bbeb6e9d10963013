"""Calibration fits, gravity and control limits against certified and printed values."""

from __future__ import annotations

import pytest

from logbook.engineering.calibration import LINE, PARABOLA, fit
from logbook.engineering.gravity import local_gravity_m_s2
from logbook.verdict.control import individuals, trend
from tests.published import nist_strd


def test_load_cell_as_nist_certifies_it() -> None:
    """NIST StRD Pontius, to its 15 printed digits' tenth: coefficients, errors, residual SD."""
    found = fit(*nist_strd.PONTIUS, PARABOLA)
    assert found.coefficients == pytest.approx(nist_strd.PONTIUS_CERTIFIED, rel=1e-11)
    assert found.standard_errors == pytest.approx(nist_strd.PONTIUS_ERRORS, rel=1e-10)
    assert found.residual_sd == pytest.approx(nist_strd.PONTIUS_RESIDUAL_SD, rel=1e-10)
    assert found.degrees_of_freedom == 37


def test_line_as_nist_certifies_it() -> None:
    """NIST StRD Norris."""
    found = fit(*nist_strd.NORRIS, LINE)
    assert found.coefficients == pytest.approx(nist_strd.NORRIS_CERTIFIED, rel=1e-12)
    assert found.standard_errors == pytest.approx(nist_strd.NORRIS_ERRORS, rel=1e-12)
    assert found.residual_sd == pytest.approx(nist_strd.NORRIS_RESIDUAL_SD, rel=1e-12)
    assert found.degrees_of_freedom == 34


@pytest.mark.parametrize(
    ("latitude", "gravity"), [(0.0, 9.7803253359), (90.0, 9.8321849378), (-90.0, 9.8321849378)]
)
def test_gravity_of_equator_and_poles(latitude: float, gravity: float) -> None:
    """[P] NIMA TR8350.2, table 3.4."""
    assert local_gravity_m_s2(latitude, 0.0) == pytest.approx(gravity, abs=2e-10)


@pytest.mark.parametrize(
    ("latitude", "altitude", "gravity"),
    [
        (45.0, 0.0, 9.806197769377),
        (38.5, 1600.0, 9.795431877160),
        (52.0, 30.0, 9.812381526635),
        (-33.9, 700.0, 9.794248527989),
        (64.0, 2500.0, 9.814477365430),
    ],
)
def test_gravity_at_a_height(latitude: float, altitude: float, gravity: float) -> None:
    """[R] by boule 0.6.0 (closed form of Li and Götze, *Geophysics* 66 (2001), 1660); the
    series keeps the first power of the flattening, 10⁻⁸ short of it."""
    assert local_gravity_m_s2(latitude, altitude) == pytest.approx(gravity, abs=1e-7)


def test_individuals_chart_of_the_handbook() -> None:
    """[M] NIST/SEMATECH e-Handbook, section 6.3.2.2: flow rate of ten batches; printed: mean
    50.81, mean moving range 1.8778, limits 55.8041 and 45.8159, all points within them."""
    flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    found = individuals(flow)
    assert found.center == pytest.approx(50.81, abs=5e-5)
    assert found.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert found.high == pytest.approx(55.8041, abs=1e-4)
    assert found.low == pytest.approx(45.8159, abs=1e-4)
    assert found.high - found.center == pytest.approx(2.66 * found.mean_range, rel=2e-4)
    assert found.beyond == found.jumps == ()


def test_trend_is_the_independent_librarys() -> None:
    """[R] scipy.stats.theilslopes, ties in time and value among them."""
    from scipy.stats import theilslopes

    years = [0.0, 0.4, 0.4, 1.0, 1.7, 2.0, 2.6, 3.1, 3.5, 4.2]
    best = [312.4, 311.9, 312.4, 310.2, 311.0, 309.1, 300.0, 308.8, 308.1, 307.9]
    found, wanted = trend(years, best), theilslopes(best, years, 0.95)
    assert found is not None
    assert (found.slope, found.low, found.high) == pytest.approx(
        (wanted.slope, wanted.low_slope, wanted.high_slope), rel=1e-12
    )
    assert found.word == "falls"
