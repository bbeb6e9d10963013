"""Density of a fuel at another temperature than that of its data sheet.

A can of gasoline at 35 °C is 2 % lighter than at 15 °C: a volume meter without this reads 2 %
too much fuel.
"""

from __future__ import annotations

import math

from logbook.refusals import BadInput

PETROLEUM, OWN, USUAL = (
    "API MPMS 11.1 / ASTM D1250, gasolines",
    "the fuel's own coefficient",
    "0.9 kg/m³ per K, common practice",
)

USUAL_LOSS_KG_M3_K = 0.9
"""What a liquid fuel loses for each kelvin (common practice, no source): pure heptane 0.84,
octane 0.81, toluene 0.93, methanol 0.94, ethanol 0.86 by CoolProp between 15 and 30 °C."""

_BASE_C = 15.0
_GASOLINE_KG_M3 = (653.0, 770.0)
# API MPMS 11.1 (1980), table 54B, gasolines, °C (from memory; in °F they are 192.4571 and 0.2438).
_K0, _K1 = 346.42278, 0.43884
_ROUNDS, _SETTLED = 50, 1e-10


def gasoline_factor(density_15c_kg_m3: float, temperature_c: float) -> float:
    """Density at a temperature over that at 15 °C for gasolines of 653–770 kg/m³.

    API MPMS 11.1 / ASTM D1250-80 (table 54B): exp(−α·Δt·(1 + 0.8·α·Δt)), α = K₀/ρ² + K₁/ρ.
    Constants from memory, not held against the print. For hydrocarbons: not for alcohols.
    """
    alpha = _K0 / density_15c_kg_m3**2 + _K1 / density_15c_kg_m3
    step = alpha * (temperature_c - _BASE_C)
    return math.exp(-step * (1.0 + 0.8 * step))


def density_at(
    density_kg_m3: float,
    at_c: float,
    temperature_c: float,
    *,
    oxygenated: bool = False,
    expansion_per_k: float | None = None,
) -> tuple[float, str]:
    """Density at a temperature, kg/m³, and the method it was carried there by.

    The fuel's own coefficient wins; hydrocarbons of a gasoline's density go by the petroleum
    tables; everything else (alcohols, blends with oxygen, toluene fuels) loses 0.9 kg/m³ per K.

    Parameters
    ----------
    density_kg_m3, at_c : the density and its temperature, as on the data sheet.
    expansion_per_k : volume expansion coefficient, 1/K, such as 0.00119 of methanol.

    Raises
    ------
    BadInput
        A density outside 500–1500 kg/m³, a temperature outside −40–80 °C or a coefficient
        outside 0–0.003 per K.
    """
    _check("Density", density_kg_m3, 500.0, 1500.0, "kg/m³")
    for field, value in (("Temperature of the density", at_c), ("Temperature", temperature_c)):
        _check(field, value, -40.0, 80.0, "°C")
    if expansion_per_k is not None:
        _check("Expansion coefficient", expansion_per_k, 0.0, 0.003, "per K")
        return density_kg_m3 / (1.0 + expansion_per_k * (temperature_c - at_c)), OWN
    if not oxygenated:
        base = _base_density(density_kg_m3, at_c)
        if _GASOLINE_KG_M3[0] <= base <= _GASOLINE_KG_M3[1]:
            return base * gasoline_factor(base, temperature_c), PETROLEUM
    return density_kg_m3 - USUAL_LOSS_KG_M3_K * (temperature_c - at_c), USUAL


def _base_density(density_kg_m3: float, at_c: float) -> float:
    """The density at 15 °C that gives this one at `at_c`."""
    base = density_kg_m3
    for _ in range(_ROUNDS):
        nearer = density_kg_m3 / gasoline_factor(base, at_c)
        if abs(nearer - base) < _SETTLED:
            return nearer
        base = nearer
    return base


def _check(field: str, value: float, low: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise BadInput(
            f"{value:g} {unit}".strip() + f" is outside {low:g}–{high:g} {unit}".rstrip(),
            where=field,
            wanted=f"a value of {low:g} to {high:g} {unit}".rstrip(),
        )
