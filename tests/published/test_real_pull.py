"""A real single-cylinder pull: figures known from plain arithmetic on its printed table [R]."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.engineering.trace import Array, bin_curve, figures, power_disagreement
from logbook.quantities import from_stored, to_stored

BAND = (7000.0, 11000.0)


@pytest.fixture(scope="module")
def samples(sample_pull: Path) -> tuple[Array, Array, Array]:
    table = np.genfromtxt(sample_pull, delimiter=",", skip_header=1)
    return (
        table[:, 0],
        table[:, 2] * to_stored(1, "lb·ft", "torque"),
        table[:, 1] * to_stored(1, "hp", "power"),
    )


def _hp(kw: float | None) -> float:
    assert kw is not None
    return from_stored(kw, "hp", "power")


def test_peaks_are_the_tables_own(samples: tuple[Array, Array, Array]) -> None:
    found = figures(bin_curve(*samples), BAND)
    assert _hp(found.peak_power_kw) == pytest.approx(68.39, abs=1e-9)
    assert found.peak_power_rpm == 10600
    assert found.peak_torque_nm == pytest.approx(to_stored(34.864, "lb·ft", "torque"))
    assert found.peak_torque_rpm == 7700


def test_band_average(samples: tuple[Array, Array, Array]) -> None:
    assert _hp(figures(bin_curve(*samples), BAND).band_power_kw) == pytest.approx(56.81, abs=0.005)


def test_band_average_from_torque_alone_is_higher(samples: tuple[Array, Array, Array]) -> None:
    speed, torque, _ = samples
    found = figures(bin_curve(speed, torque, None), BAND)
    assert _hp(found.band_power_kw) == pytest.approx(57.13, abs=0.005)


def test_a_band_that_is_not_covered_has_no_average(samples: tuple[Array, Array, Array]) -> None:
    curve = bin_curve(*samples)
    for band in ((7000.0, 12950.0), (3500.0, 9000.0)):
        found = figures(curve, band)
        assert found.band_power_kw is None
        assert found.band_torque_nm is None
        assert found.peak_power_kw is not None


def test_power_and_torque_disagree(samples: tuple[Array, Array, Array]) -> None:
    apart = power_disagreement(*samples)
    assert _hp(apart.max_kw) == pytest.approx(0.73, abs=0.005)
    assert apart.at_rpm == 7900
    assert apart.percent > 0.5
