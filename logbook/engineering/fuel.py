"""Fuel: stoichiometry, blends, density, and the jets another fuel or air asks for.

CcHhOoNn burns with a = c + h/4 − o/2 mol of oxygen; air is 4.773 mol of 28.962 g/mol for each
(Heywood, *Internal Combustion Engine Fundamentals* (1988), chapter 3). Blends go by mass.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logbook.quantities.units import WATER_60F_KG_M3
from logbook.refusals import BadInput

AIR_PER_OXYGEN = 4.773 * 28.962  # g of air for each mol of oxygen
_CARBON, _HYDROGEN, _OXYGEN, _NITROGEN = 12.011, 1.008, 15.999, 14.007  # g/mol, IUPAC

JET_ADVICE = (
    "A starting point only: begin at least 5 % richer than computed (jet area × 1.05),"
    " check pump, needle-and-seat and pressure at full flow, make the first pull short and at"
    " reduced timing, and watch lambda"
)
# A nitrogen-to-carbon share no motor gasoline comes near: nitromethane is in it.
_NITRO_FREE = 0.01


@dataclass(frozen=True, slots=True)
class Composition:
    """Atoms of a fuel, per molecule or per carbon: only the proportions count."""

    carbon: float
    hydrogen: float
    oxygen: float = 0.0
    nitrogen: float = 0.0

    def __post_init__(self) -> None:
        atoms = (self.carbon, self.hydrogen, self.oxygen, self.nitrogen)
        if not all(math.isfinite(a) and a >= 0 for a in atoms) or self.molar_mass <= 0:
            raise BadInput(
                "atoms are counted from zero upward", where="Composition", wanted="such as 1:1.87"
            )

    @property
    def molar_mass(self) -> float:
        """Grams per mol of the formula as given."""
        return (
            _CARBON * self.carbon
            + _HYDROGEN * self.hydrogen
            + _OXYGEN * self.oxygen
            + _NITROGEN * self.nitrogen
        )

    @property
    def oxygen_mass_share(self) -> float:
        """Oxygen by mass, 0–1."""
        return _OXYGEN * self.oxygen / self.molar_mass


# Lower heating values, MJ/kg: Heywood, appendix D (from memory, not held against the print).
HEATING_VALUES_MJ_KG: Mapping[str, float] = {
    "isooctane": 44.3,
    "n-heptane": 44.6,
    "toluene": 40.6,
    "methanol": 20.0,
    "ethanol": 26.9,
    "gasoline": 44.0,
}


def stoichiometric_ratio(fuel: Composition) -> float:
    """Mass of air over mass of fuel for complete combustion: a·138.2356/M.

    Nitrogen of the fuel leaves as N₂. Refused where the fuel carries all its oxygen itself.
    """
    oxygen = fuel.carbon + fuel.hydrogen / 4 - fuel.oxygen / 2
    if oxygen <= 0:
        raise BadInput("this fuel needs no air", where="Composition", wanted="a fuel")
    return oxygen * AIR_PER_OXYGEN / fuel.molar_mass


def blend_by_mass(ratios: Sequence[float], mass_shares: Sequence[float]) -> float:
    """Stoichiometric ratio (or heating value) of a blend: the mean weighted by mass."""
    if len(ratios) != len(mass_shares) or not ratios:
        raise BadInput("each part needs its share", where="Blend", wanted="as many shares as parts")
    total = sum(mass_shares)
    if min(mass_shares) < 0 or not (math.isfinite(total) and total > 0):
        raise BadInput("the shares do not add up", where="Blend", wanted="shares from 0 upward")
    return sum(r * m for r, m in zip(ratios, mass_shares, strict=True)) / total


def mass_shares(
    volume_shares: Sequence[float], densities_kg_m3: Sequence[float]
) -> tuple[float, ...]:
    """Shares by mass, summing to 1, of parts measured by volume."""
    masses = [v * d for v, d in zip(volume_shares, densities_kg_m3, strict=True)]
    total = sum(masses)
    if not (math.isfinite(total) and total > 0) or min(masses) < 0:
        raise BadInput("the shares do not add up", where="Blend", wanted="shares from 0 upward")
    return tuple(mass / total for mass in masses)


def blend_composition(parts: Sequence[Composition], mass_shares: Sequence[float]) -> Composition:
    """Atoms of a blend by mass, per gram of it: only their proportions count."""
    per_gram = [
        (p.carbon / p.molar_mass, p.hydrogen / p.molar_mass, p.oxygen / p.molar_mass,
         p.nitrogen / p.molar_mass)
        for p in parts
    ]  # fmt: skip
    return Composition(
        *(blend_by_mass(atoms, mass_shares) for atoms in zip(*per_gram, strict=True))
    )


def blend_density(densities_kg_m3: Sequence[float], mass_shares: Sequence[float]) -> float:
    """Density of a blend by mass, kg/m³, whose parts keep their volumes.

    Alcohol in gasoline takes about 0.2 % more room than that (common practice, no source).
    """
    return 1.0 / blend_by_mass([1.0 / density for density in densities_kg_m3], mass_shares)


def density_from_api(degrees_api: float) -> float:
    """Density at 60 °F, kg/m³, from API gravity: SG = 141.5/(°API + 131.5) (ASTM D1298)."""
    if not -20 < degrees_api < 150:
        raise BadInput(
            f"{degrees_api:g} °API is outside −20–150", where="API gravity", wanted="such as 58"
        )
    return 141.5 / (degrees_api + 131.5) * WATER_60F_KG_M3


def jet_area_ratio(
    old_ratio: float, new_ratio: float, old_density: float, new_density: float
) -> float:
    """New jet area over old for the same lambda and air with another fuel.

    (ratio old/ratio new)·√(density old/density new): turbulent flow through a jet goes with
    area·√(density·Δp) (Bernoulli), fuel wanted with 1/stoichiometric ratio. Show it with
    `JET_ADVICE`; check `jet_refusal` first.
    """
    for name, value in (
        ("Stoichiometric ratio", old_ratio),
        ("Stoichiometric ratio", new_ratio),
        ("Fuel density", old_density),
        ("Fuel density", new_density),
    ):
        if not (math.isfinite(value) and value > 0):
            raise BadInput(f"{value:g} is not above zero", where=name, wanted="a value above it")
    return old_ratio / new_ratio * math.sqrt(old_density / new_density)


def jet_refusal(fuel: Composition) -> str | None:
    """Why no jet size is computed for a fuel, or ``None`` where it is."""
    if fuel.nitrogen > _NITRO_FREE * max(fuel.carbon, fuel.hydrogen):
        return "No jets are computed for nitromethane blends: they are not run near stoichiometric"
    return None


def jet_area_ratio_for_air(old_density: float, new_density: float) -> float:
    """New jet area over old for another air density, same fuel and lambda: √(new/old).

    At a fixed volume flow a carburetor meters fuel with √density of the air, and the engine
    needs it with the density: 10 % thinner air, 5 % less area.
    """
    for value in (old_density, new_density):
        if not (math.isfinite(value) and value > 0):
            raise BadInput(f"{value:g} is not above zero", where="Air density")
    return math.sqrt(new_density / old_density)
