"""Correction of power and torque to a standard atmosphere: corrected = observed × factor.

For spark-ignition engines without a blower only. pd is the dry pressure (station pressure
less vapor pressure), T the inlet temperature in kelvin. Ranges and constants marked
"from memory" have not been held against the printed text.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from logbook.engineering.air import KELVIN, AirState
from logbook.quantities.units import INCH_OF_MERCURY_PA
from logbook.records.caution import Caution
from logbook.refusals import BadInput

_RANKINE = 1.8  # degrees Rankine in a kelvin


@dataclass(frozen=True, slots=True)
class Range:
    """The air in which a standard stands; ``None`` where it names no bound. °C and kPa."""

    factor: tuple[float, float]
    temperature_c: tuple[float, float] | None = None
    dry_pressure_kpa: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Standard:
    """One correction standard: key, name shown, reference air, formula, source, remarks."""

    key: str
    name: str
    reference: str
    formula: str
    source: str
    note: str
    valid: Range | None = None


@dataclass(frozen=True, slots=True)
class Correction:
    """The factor for one air, whether the standard stands there, and why not."""

    factor: float
    in_range: bool
    cautions: tuple[Caution, ...]


def sae_j1349(air: AirState) -> float:
    """SAE J1349: a = (99/pd)·√(T/298.15); factor = (a − 0.15)/0.85.

    15 % of indicated power is taken as friction that no air changes. The printed texts round
    to 1.18a − 0.18 (1990) and 1.176a − 0.176 (from memory): apart by less than 0.001 while the
    factor lies within 0.93–1.07.
    """
    indicated = 99.0 / air.dry_pressure_kpa * math.sqrt(_kelvin(air) / 298.15)
    return (indicated - 0.15) / 0.85


def sae_j607(air: AirState) -> float:
    """SAE J607 (withdrawn): (29.92 inHg/pd)·√(T°R/519.67), no friction term."""
    return _without_friction(air, 29.92, 519.67)


def sae_j816b(air: AirState) -> float:
    """SAE J816b (withdrawn, from memory): (29.00 inHg/pd)·√(T°R/544.67), no friction term."""
    return _without_friction(air, 29.00, 544.67)


def iso_1585(air: AirState) -> float:
    """ISO 1585, UN R85, 80/1269/EEC, spark ignition: (99/pd)^1.2·(T/298.15)^0.6.

    Printed with 298 K: apart by 3·10⁻⁵.
    """
    return math.pow(99.0 / air.dry_pressure_kpa, 1.2) * math.pow(_kelvin(air) / 298.15, 0.6)


def din_70020(air: AirState) -> float:
    """DIN 70020 (withdrawn), total pressure: (101.3/p)·√(T/293.15)."""
    return _din(air, air.pressure_kpa)


def din_70020_dry(air: AirState) -> float:
    """DIN 70020 (withdrawn), read with dry pressure: (101.3/pd)·√(T/293.15)."""
    return _din(air, air.dry_pressure_kpa)


def observed(air: AirState) -> float:
    """No correction: 1."""
    return 1.0


def _kelvin(air: AirState) -> float:
    return air.temperature_c + KELVIN


def _without_friction(air: AirState, reference_inhg: float, reference_rankine: float) -> float:
    pressure = reference_inhg * INCH_OF_MERCURY_PA / 1000 / air.dry_pressure_kpa
    return pressure * math.sqrt(_kelvin(air) * _RANKINE / reference_rankine)


def _din(air: AirState, pressure_kpa: float) -> float:
    return 101.3 / pressure_kpa * math.sqrt(_kelvin(air) / 293.15)


_ENTRIES: tuple[tuple[Standard, Callable[[AirState], float]], ...] = (
    (
        Standard(
            key="sae-j1349",
            name="SAE J1349",
            reference="dry 99 kPa (29.23 inHg), 25 °C (77 °F)",
            formula="a = (99/pd)·√(T/298.15); factor = (a − 0.15)/0.85",
            source="SAE J1349, spark ignition without a blower; range from memory",
            note="85 % mechanical efficiency assumed; the printed roundings 1.18a − 0.18 and"
            " 1.176a − 0.176 differ by less than 0.001",
            valid=Range((0.93, 1.07), (15.0, 35.0), (90.0, 105.0)),
        ),
        sae_j1349,
    ),
    (
        Standard(
            key="sae-j607",
            name="SAE J607 (60 °F, withdrawn)",
            reference="dry 29.92 inHg (101.3 kPa), 60 °F (15.6 °C)",
            formula="factor = (29.92 inHg/pd)·√(T°R/519.67)",
            source="SAE J607, withdrawn",
            note="no friction term (variants with one exist); reads about 4 % higher than the"
            " 77 °F standard",
        ),
        sae_j607,
    ),
    (
        Standard(
            key="sae-j816b",
            name="SAE J816b (85 °F, withdrawn)",
            reference="dry 29.00 inHg (98.2 kPa), 85 °F (29.4 °C)",
            formula="factor = (29.00 inHg/pd)·√(T°R/544.67)",
            source="SAE J816b, withdrawn; constants from memory",
            note="no friction term",
        ),
        sae_j816b,
    ),
    (
        Standard(
            key="iso-1585",
            name="ISO 1585 (UN R85, 80/1269/EEC)",
            reference="dry 99 kPa, 25 °C",
            formula="factor = (99/pd)^1.2·(T/298.15)^0.6",
            source="ISO 1585, spark ignition; the same in UN Regulation 85 and 80/1269/EEC",
            note="no friction term; printed with 298 K",
            valid=Range((0.93, 1.07)),
        ),
        iso_1585,
    ),
    (
        Standard(
            key="din-70020",
            name="DIN 70020 (total pressure, withdrawn)",
            reference="101.3 kPa, 20 °C",
            formula="factor = (101.3/p)·√(T/293.15)",
            source="DIN 70020, withdrawn",
            note="no friction term; humidity is not taken out",
        ),
        din_70020,
    ),
    (
        Standard(
            key="din-70020-dry",
            name="DIN 70020 (dry pressure, withdrawn)",
            reference="dry 101.3 kPa, 20 °C",
            formula="factor = (101.3/pd)·√(T/293.15)",
            source="DIN 70020, withdrawn, as some texts read it",
            note="no friction term; texts split on whether the pressure is dry",
        ),
        din_70020_dry,
    ),
    (
        Standard(
            key="none",
            name="Observed, not corrected",
            reference="the air as it was",
            formula="factor = 1",
            source="",
            note="only pulls in like air can be compared",
        ),
        observed,
    ),
)

STANDARDS: Mapping[str, Standard] = {entry.key: entry for entry, _ in _ENTRIES}
_FACTORS: Mapping[str, Callable[[AirState], float]] = {entry.key: f for entry, f in _ENTRIES}


def standard(key: str) -> Standard:
    """The standard of that key. Raises `BadInput` with the keys for any other text."""
    found = STANDARDS.get(key.strip().casefold())
    if found is None:
        raise BadInput(
            f"{key[:40]!r} is no standard known here",
            where="Standard",
            wanted=f"one of {', '.join(STANDARDS)}",
        )
    return found


def correct(standard_key: str, air: AirState) -> Correction:
    """The factor of a standard for the air of a pull.

    Raises
    ------
    BadInput
        No standard of that key. Air outside the standard's range is a caution, not a refusal.
    """
    chosen = standard(standard_key)
    factor = _FACTORS[chosen.key](air)
    cautions = tuple(_range_cautions(chosen, air, factor))
    return Correction(factor, not cautions, cautions)


def _range_cautions(chosen: Standard, air: AirState, factor: float) -> list[Caution]:
    if chosen.valid is None:
        return []
    checks = (
        ("factor-out-of-range", "factor", factor, chosen.valid.factor, ".4f", ""),
        ("air-temperature-out-of-range", "inlet temperature", air.temperature_c,
         chosen.valid.temperature_c, ".1f", " °C"),
        ("dry-pressure-out-of-range", "dry pressure", air.dry_pressure_kpa,
         chosen.valid.dry_pressure_kpa, ".2f", " kPa"),
    )  # fmt: skip
    return [
        Caution(
            code,
            f"{chosen.name}: the {what} {value:{digits}}{unit} is outside"
            f" {bounds[0]:g}–{bounds[1]:g}{unit}, where the standard stands",
        )
        for code, what, value, bounds, digits, unit in checks
        if bounds is not None and not bounds[0] <= value <= bounds[1]
    ]


def refusal_to_correct(ignition: str, aspiration: str) -> str | None:
    """Why an engine cannot be corrected by these standards, or ``None`` where it can.

    `ignition` is ``"spark"`` or ``"compression"``, `aspiration` ``"natural"`` or ``"boosted"``.
    """
    if ignition.strip().casefold() != "spark":
        return (
            "Compression-ignition engines are not corrected: these factors are made for spark"
            " ignition; observed figures are shown"
        )
    if aspiration.strip().casefold() != "natural":
        return (
            "Boosted engines are not corrected: with a blower the factor depends on how boost is"
            " controlled; observed figures are shown"
        )
    return None
