"""What is known of a blend of fuels, from what is known of its parts."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.engineering.fuel import (
    Composition,
    blend_by_mass,
    blend_composition,
    blend_density,
    mass_shares,
)
from logbook.engineering.fuel_change import FuelFigures
from logbook.refusals import BadInput

BLENDED = "blended"


def shares_of_volumes(parts: Sequence[FuelFigures], volumes: Sequence[float]) -> tuple[float, ...]:
    """Shares by mass of parts measured out by volume, at the temperature of their densities."""
    densities = _known([part.density_kg_m3 for part in parts])
    if densities is None:
        raise BadInput(
            "parts measured by volume need their densities",
            where="Blend",
            wanted="a density on every fuel's sheet, or shares by mass",
        )
    return mass_shares(volumes, densities)


def blend(
    parts: Sequence[FuelFigures],
    compositions: Sequence[Composition | None],
    shares: Sequence[float],
) -> tuple[FuelFigures, Composition | None]:
    """The figures of a blend by mass, and its atoms where those of every part are known.

    Ratio and heating value go by mass, volumes add up (`blend_density`); what one part does not
    tell, the blend does not.

    Parameters
    ----------
    parts, compositions : as many of each, densities at one temperature.
    shares : by mass, any sum.
    """
    if len({part.temperature_c for part in parts}) != 1:
        raise BadInput("the densities are of different temperatures", where="Blend")
    known = [composition for composition in compositions if composition is not None]
    whole = blend_composition(known, shares) if len(known) == len(parts) else None
    ratios = _known([part.stoichiometric_ratio for part in parts])
    heating = _known([part.heating_value_mj_kg for part in parts])
    density = _known([part.density_kg_m3 for part in parts])
    carrying = [part.oxygenated for part, share in zip(parts, shares, strict=True) if share > 0]
    return FuelFigures(
        temperature_c=parts[0].temperature_c,
        stoichiometric_ratio=blend_by_mass(ratios, shares) if ratios else None,
        stoichiometric_source=BLENDED if ratios else "",
        heating_value_mj_kg=blend_by_mass(heating, shares) if heating else None,
        heating_source=BLENDED if heating else "",
        density_kg_m3=blend_density(density, shares) if density else None,
        density_source=BLENDED if density else "",
        oxygenated=True if True in carrying else None if None in carrying else False,
        oxygen_mass_share=whole.oxygen_mass_share if whole else None,
    ), whole


def _known(values: Sequence[float | None]) -> list[float] | None:
    """The values, or ``None`` where one is missing."""
    found = [value for value in values if value is not None]
    return found if len(found) == len(values) else None
