"""Conversion factors: exact by definition (NIST SP 811, Appendix B), [R] by plain arithmetic."""

from __future__ import annotations

import pytest

from logbook.quantities import to_stored

POUND_KG, FOOT_M, INCH_M, GRAVITY = 0.45359237, 0.3048, 0.0254, 9.80665


@pytest.mark.parametrize(
    ("unit", "kind", "stored"),
    [
        ("hp", "power", 0.74569987158227022),
        ("hp", "power", 550 * FOOT_M * POUND_KG * GRAVITY / 1000),
        ("PS", "power", 75 * GRAVITY / 1000),
        ("lb·ft", "torque", 1.3558179483314004),
        ("lb·ft", "torque", FOOT_M * POUND_KG * GRAVITY),
        ("psi", "pressure", 6.894757293168361),
        ("psi", "pressure", POUND_KG * GRAVITY / INCH_M**2 / 1000),
        ("inHg", "pressure", 3.386389),  # conventional, at 0 °C
        ("gr/lb", "mixing_ratio", 1 / 7000),
        ("cfm", "volume_flow", 4.719474432e-4 * 3600),
        ("in³", "displacement", 16.387064 / 1000),
        ("lb/h", "mass_flow", POUND_KG),
        ("BTU/lb", "heating_value", 0.002326),
    ],
)
def test_exact_factor(unit: str, kind: str, stored: float) -> None:
    assert to_stored(1, unit, kind) == pytest.approx(stored, rel=1e-14)


def test_derived_factors() -> None:
    assert to_stored(1, "lb/(hp·h)", "specific_consumption") == pytest.approx(0.608277388, rel=1e-9)
    assert to_stored(29.92, "inHg", "pressure") == pytest.approx(101.3208, abs=5e-5)


def test_mercury_at_60_degrees_is_another_unit() -> None:
    """[M] density of mercury at 60 °F 13556.8 kg/m³ (at 0 °C 13595.1): 0.28 % apart."""
    at_60f = 13556.8 * GRAVITY * INCH_M / 1000
    assert to_stored(1, "inHg", "pressure") / at_60f - 1 == pytest.approx(0.0028, abs=5e-5)


def test_seventy_seven_fahrenheit_in_rankine() -> None:
    """77 °F is 536.67 °R (505 is a common slip)."""
    assert to_stored(536.67, "°R", "temperature") == pytest.approx(
        to_stored(77, "°F", "temperature"), abs=1e-9
    )
