"""Displacement, compression ratio and surface finish against printed and recomputed values."""

from __future__ import annotations

import math

import numpy as np
import pytest

from logbook.engineering.compression import (
    clearance_for_ratio,
    clearance_volume,
    compression_ratio,
    cylinder_cm3,
)
from logbook.engineering.engine import displacement_l, mean_piston_speed_m_s
from logbook.engineering.geometry import WRONG, Agreement, geometry_agreement
from logbook.engineering.surface import core_roughness, finish
from tests.published.imports85 import ENGINES

INCH = 25.4
CUBIC_INCH_L = 0.016387064


def test_compression_of_a_textbook_engine() -> None:
    """[M] Pulkrabek, *Engineering Fundamentals of the Internal Combustion Engine*, example 2-1:
    a square V6 of 3 L, ratio 9.5, 3600 rpm: bore and stroke 8.60 cm, clearance volume 59 cm³,
    mean piston speed 10.32 m/s."""
    bore = (4.0 * 500.0 / math.pi) ** (1.0 / 3.0) * 10.0
    assert bore == pytest.approx(86.0, abs=0.05)
    assert displacement_l(86.0, 86.0, 6) == pytest.approx(3.0, abs=0.005)
    clearance = clearance_for_ratio(500.0, 9.5)
    assert clearance == pytest.approx(59.0, abs=0.5)
    assert compression_ratio(500.0, clearance) == pytest.approx(9.5)
    assert mean_piston_speed_m_s(86.0, 3600) == pytest.approx(10.32, abs=0.005)


def test_compression_ratio_part_by_part() -> None:
    """[R] by hand from the definition, a constructed cylinder of 86 × 86 mm: swept 499.5572 cm³;
    chamber 42, deck 0.5 mm (2.9044), gasket 88 × 1.2 mm (7.2985), dish 4, crevice 0.8."""
    found = clearance_volume(
        bore_mm=86, chamber_cm3=42, deck_mm=0.5, gasket_bore_mm=88, gasket_mm=1.2,
        piston_cm3=4, crevice_cm3=0.8,
    )  # fmt: skip
    assert found.deck == pytest.approx(2.9044, abs=5e-5)
    assert found.gasket == pytest.approx(7.2985, abs=5e-5)
    assert found.total == pytest.approx(57.00295, abs=5e-5)
    assert compression_ratio(cylinder_cm3(86, 86), found.total) == pytest.approx(9.7637, abs=5e-5)


def _agreement(cylinders: int, stated: float, bore: float, stroke: float) -> Agreement:
    return geometry_agreement(
        bore * INCH, stroke * INCH, cylinders, stated * CUBIC_INCH_L,
        bore_step_mm=0.01 * INCH, stroke_step_mm=0.01 * INCH, stated_step_l=CUBIC_INCH_L,
    )  # fmt: skip


def test_real_engines_with_a_wrong_bore_or_stroke_are_caught() -> None:
    """`imports85`: 15 of 67 engines do not have the displacement of their bore and stroke."""
    caught = {row for row in ENGINES if _agreement(*row).verdict == WRONG}
    assert caught == {
        (4, 79, 2.91, 3.07), (4, 91, 3.08, 3.15), (4, 92, 2.97, 3.23), (4, 92, 3.05, 3.03),
        (4, 97, 3.15, 3.29), (4, 98, 2.97, 3.23), (4, 98, 3.24, 3.08), (4, 103, 2.99, 3.47),
        (4, 120, 3.46, 2.19), (4, 121, 2.54, 2.07), (4, 130, 3.47, 2.68), (4, 132, 3.46, 3.9),
        (6, 152, 2.68, 3.47), (6, 161, 3.27, 3.35), (8, 203, 3.94, 3.11),
    }  # fmt: skip


def test_the_slip_behind_a_wrong_engine_is_named() -> None:
    exchanged = _agreement(6, 152, 2.68, 3.47)
    assert exchanged.exchanged
    assert exchanged.cylinders == ()
    # The same engine stands beside it in the data with the right stroke, 3.19.
    misprint = _agreement(4, 120, 3.46, 2.19)
    assert misprint.stroke_mm / INCH == pytest.approx(3.19, abs=0.005)
    assert not misprint.exchanged
    # An eight with the figures of another engine: neither a slip nor another count explains it.
    assert _agreement(8, 203, 3.94, 3.11).cylinders == ()


def _honed() -> np.ndarray:
    """A plateau with grooves by formula, µm, 8 mm at 1 µm."""
    x = np.arange(8000) / 1000.0
    tau = 2.0 * np.pi
    fine = (
        0.25 * np.sin(tau * x / 0.031)
        + 0.15 * np.sin(tau * x / 0.0173 + 1.0)
        + 0.1 * np.sin(tau * x / 0.0071 + 2.0)
    )
    grooves = np.zeros_like(x)
    for k in range(1, 60):
        place, depth, width = (k * g % 1.0 for g in (0.6180339887, 0.7548776662, 0.5698402910))
        shape = np.clip(1.0 - np.abs(x - 8.0 * place) / (0.012 + 0.02 * width), 0.0, 1.0)
        grooves = np.minimum(grooves, -(0.8 + 2.2 * depth) * shape)
    return np.asarray(fine + grooves)


def test_core_roughness_of_a_honed_profile() -> None:
    """[R] by surfalize 0.19.2 (200,000 classes): Rk 0.87765, Rpk 0.14202, Rvk 1.50821 µm,
    Mr1 5.536 %, Mr2 78.400 %. It cuts the areas a class off, hence 0.2 %."""
    found = core_roughness(_honed())
    assert found.rk_um == pytest.approx(0.87765, rel=5e-4)
    assert found.rpk_um == pytest.approx(0.14202, rel=2.5e-3)
    assert found.rvk_um == pytest.approx(1.50821, rel=1e-3)
    assert found.mr1_percent == pytest.approx(5.536, abs=0.01)
    assert found.mr2_percent == pytest.approx(78.400, abs=0.01)


def test_core_roughness_where_the_construction_is_exact() -> None:
    """ISO 13565-2 on a curve of three straight parts: the triangles are the parts themselves.
    Peaks 1.5 µm over 10 %, core 0.9 µm over 70 % (so 0.9/0.7 over 100 %), valleys 2.4 over 20 %."""
    ratio = (np.arange(100_000) + 0.5) / 100_000
    slope = 0.9 / 0.7
    core = -slope * (ratio - 0.1)
    peaks = np.where(ratio < 0.1, 15.0 * (0.1 - ratio), 0.0)
    valleys = np.where(ratio > 0.8, -12.0 * (ratio - 0.8), 0.0)
    found = core_roughness(core + peaks + valleys)
    assert found.rk_um == pytest.approx(slope, rel=1e-6)
    # The line at 0 % stands 0.1·slope above the core's edge: a triangle less that strip.
    steep = 15.0 + slope
    width = 0.1 - 0.1 * slope / steep
    assert found.mr1_percent == pytest.approx(100 * width, abs=0.002)
    assert found.rpk_um == pytest.approx(steep * width, rel=1e-4)


@pytest.mark.parametrize(("wave_mm", "passed"), [(0.8, 0.5), (0.08, 1.0), (8.0, 0.007)])
def test_gaussian_filter_passes_half_of_a_wave_as_long_as_its_cut_off(
    wave_mm: float, passed: float
) -> None:
    """ISO 16610-21: the definition of the cut-off; Ra of a sine is 2/π of its height."""
    x = np.arange(32_001) / 1000.0
    found = finish(np.sin(2.0 * np.pi * x / wave_mm), 0.001, 0.8)
    assert found.ra_um == pytest.approx(passed * 2.0 / np.pi, abs=0.012)
