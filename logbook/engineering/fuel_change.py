"""One fuel against another: what is known of each, and what changes when the tank is changed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.engineering.fuel import (
    JET_ADVICE,
    Composition,
    jet_area_ratio,
    jet_refusal,
    stoichiometric_ratio,
)
from logbook.engineering.fuel_density import density_at
from logbook.records.caution import Caution

DATA_SHEET, COMPOSITION, ESTIMATE = "data sheet", "composition", "estimated from the composition"

REFERENCE_C = 20.0
"""Densities of two fuels are only comparable at one temperature."""

ASSUMED_C = 15.0
"""A density without a temperature is taken as one at 15 °C, where fuels are sold (EN 228)."""

_ONE_KIND = 0.01  # of the ratio: batches of one blend differ by less (common practice, no source)
SAME_JETS = 0.005  # of the area: no set of jets is graded finer (common practice, no source)
_NO_OXYGEN = 0.001
# Aromatics need the least air of all hydrocarbons: benzene 13.2 (computed from C6H6).
_LEAST_HYDROCARBON_RATIO = 13.1
_METHANOL_LIKE = 0.4  # of its mass: methanol carries 0.50, ethanol 0.35
# Methanol with a fifth of gasoline has that much oxygen and this ratio (computed).
_METHANOL_LIKE_RATIO = 8.1


@dataclass(frozen=True, slots=True)
class FuelFigures:
    """What is known of a fuel; ``None`` where nothing tells, each with where it came from.

    Density in kg/m³ at `temperature_c`, heating value (lower) in MJ/kg, energy in MJ for each kg
    of air at the stoichiometric ratio. `oxygenated` is ``None`` where nothing tells.
    """

    temperature_c: float
    stoichiometric_ratio: float | None
    stoichiometric_source: str
    heating_value_mj_kg: float | None
    heating_source: str
    density_kg_m3: float | None
    density_source: str
    oxygenated: bool | None
    oxygen_mass_share: float | None

    @property
    def energy_per_air_mj_kg(self) -> float | None:
        """Heating value over stoichiometric ratio: what a kg of air can be made to burn."""
        if self.heating_value_mj_kg is None or self.stoichiometric_ratio is None:
            return None
        return self.heating_value_mj_kg / self.stoichiometric_ratio


@dataclass(frozen=True, slots=True)
class FuelChange:
    """The step from one fuel to another, each ratio new over old, ``None`` where not known.

    `jet_area` is the jet area for the same lambda in the same air; `why_no_jets` says why there
    is none. `energy_per_air` is the fuel's share in the power, before timing and charge cooling.
    `one_kind`: two drums of one kind of fuel, as far as their sheets say.
    """

    jet_area: float | None
    why_no_jets: str
    mass_flow: float | None
    volume_flow: float | None
    energy_per_air: float | None
    cautions: tuple[Caution, ...]
    one_kind: bool

    @property
    def same_jets(self) -> bool:
        """One kind of fuel that asks for the same jets: there is no step to begin with care.
        Another fuel is begun with care even where ratio and density happen to cancel."""
        return self.one_kind and _is_same(self.jet_area)

    @property
    def jet_diameter(self) -> float | None:
        """Jet diameter new over old: the root of the area's ratio."""
        return None if self.jet_area is None else math.sqrt(self.jet_area)


def heating_value_mj_kg(fuel: Composition) -> float:
    """Lower heating value estimated from the elements, MJ/kg, good to about 2 %.

    Mendeleev's formula, 33.91·C + 125.6·H − 10.89·O − 2.51·9·H with shares by mass (Kolchin &
    Demidov, *Design of Automotive Engines* (1984), from memory). For hydrocarbons and alcohols;
    a fuel with nitrogen in it (nitromethane) is far off it.
    """
    mass = fuel.molar_mass
    carbon, hydrogen = 12.011 * fuel.carbon / mass, 1.008 * fuel.hydrogen / mass
    water = 2.51 * 9.0 * hydrogen
    return 33.91 * carbon + 125.6 * hydrogen - 10.89 * fuel.oxygen_mass_share - water


def fuel_figures(
    composition: Composition | None,
    *,
    ratio: float | None = None,
    heating_mj_kg: float | None = None,
    density_kg_m3: float | None = None,
    density_at_c: float | None = None,
    temperature_c: float = REFERENCE_C,
    expansion_per_k: float | None = None,
) -> FuelFigures:
    """What is known of a fuel at a temperature: the data sheet first, else its composition.

    Parameters
    ----------
    composition : atoms, or ``None`` where they are not known.
    ratio, heating_mj_kg, density_kg_m3 : from the data sheet.
    density_at_c : the temperature that the density was given at; `ASSUMED_C` where none was.
    temperature_c : of the density asked for.
    """
    sources = ["", "", ""]
    if ratio is not None:
        sources[0] = DATA_SHEET
    elif composition is not None:
        ratio, sources[0] = stoichiometric_ratio(composition), COMPOSITION
    if heating_mj_kg is not None:
        sources[1] = DATA_SHEET
    elif composition is not None and jet_refusal(composition) is None:
        heating_mj_kg, sources[1] = heating_value_mj_kg(composition), ESTIMATE
    oxygen = composition.oxygen_mass_share if composition is not None else None
    oxygenated = _oxygenated(oxygen, ratio)
    if density_kg_m3 is not None:
        density_kg_m3, sources[2] = density_at(
            density_kg_m3,
            ASSUMED_C if density_at_c is None else density_at_c,
            temperature_c,
            oxygenated=oxygenated is not False,
            expansion_per_k=expansion_per_k,
        )
        if density_at_c is None:
            sources[2] += f"; {ASSUMED_C:g} °C assumed, the sheet names none"
    return FuelFigures(
        temperature_c,
        ratio,
        sources[0],
        heating_mj_kg,
        sources[1],
        density_kg_m3,
        sources[2],
        oxygenated,
        oxygen,
    )


def _oxygenated(share: float | None, ratio: float | None) -> bool | None:
    """Whether there is oxygen in a fuel; no hydrocarbon has a ratio below `_LEAST_…`."""
    if share is not None:
        return share > _NO_OXYGEN
    return True if ratio is not None and ratio < _LEAST_HYDROCARBON_RATIO else None


def fuel_change(
    old: FuelFigures,
    new: FuelFigures,
    *,
    old_composition: Composition | None = None,
    new_composition: Composition | None = None,
) -> FuelChange:
    """What changing from one fuel to the other asks of jets and pump, and gives per kg of air.

    Common practice, no source, as a starting point; `JET_ADVICE` is among the cautions. Refused
    in words for nitromethane blends. Densities have to be at one temperature.
    """
    why = ""
    for composition in (old_composition, new_composition):
        if composition is not None and not why:
            why = jet_refusal(composition) or ""
    if not why:
        why = _missing(old, new)
    jets = mass = volume = None
    if not why and old.stoichiometric_ratio and new.stoichiometric_ratio:
        mass = old.stoichiometric_ratio / new.stoichiometric_ratio
        if old.density_kg_m3 and new.density_kg_m3:
            volume = mass * old.density_kg_m3 / new.density_kg_m3
            jets = jet_area_ratio(
                old.stoichiometric_ratio,
                new.stoichiometric_ratio,
                old.density_kg_m3,
                new.density_kg_m3,
            )
    energy = None
    if old.energy_per_air_mj_kg and new.energy_per_air_mj_kg:
        energy = new.energy_per_air_mj_kg / old.energy_per_air_mj_kg
    kind = _one_kind(old, new)
    cautions = (*_cautions(old, new, jets, kind), *_flame(new, new_composition), *_untold(old, new))
    return FuelChange(jets, why, mass, volume, energy, cautions, kind)


def _missing(old: FuelFigures, new: FuelFigures) -> str:
    for name, fuel in (("old", old), ("new", new)):
        lacking = [
            words
            for words, value in (
                ("stoichiometric ratio or composition", fuel.stoichiometric_ratio),
                ("density", fuel.density_kg_m3),
            )
            if value is None
        ]
        if lacking:
            return f"The {name} fuel's sheet has no {' and no '.join(lacking)}"
    return ""


def _is_same(jets: float | None) -> bool:
    return jets is not None and abs(jets - 1.0) <= SAME_JETS


def _one_kind(old: FuelFigures, new: FuelFigures) -> bool:
    """Both with oxygen or both without, and ratios within 1 %; not where a sheet does not say."""
    if old.oxygenated is None or old.oxygenated != new.oxygenated:
        return False
    ratios = old.stoichiometric_ratio, new.stoichiometric_ratio
    return bool(ratios[0] and ratios[1] and abs(ratios[0] / ratios[1] - 1.0) <= _ONE_KIND)


def _cautions(
    old: FuelFigures, new: FuelFigures, jets: float | None, one_kind: bool
) -> tuple[Caution, ...]:
    found = []
    if jets is not None and not (one_kind and _is_same(jets)):
        found.append(Caution("jets-a-start", JET_ADVICE))
    if (old.oxygenated or new.oxygenated) and not one_kind:
        found.append(
            Caution(
                "fuel-oxygenated",
                "An oxygenated fuel brings oxygen along: it wants richer jets, and its fuel flow"
                " is not comparable pound for pound",
            )
        )
    return tuple(found)


def _flame(new: FuelFigures, composition: Composition | None) -> tuple[Caution, ...]:
    """What burns without being seen: by its oxygen, or by its ratio where only that is known.
    Methanol is named where the atoms say that it is nothing else: nitromethane is as rich in
    oxygen."""
    if new.oxygen_mass_share is not None:
        hidden = new.oxygen_mass_share > _METHANOL_LIKE
    else:
        ratio = new.stoichiometric_ratio
        hidden = ratio is not None and ratio < _METHANOL_LIKE_RATIO
    if not hidden:
        return ()
    if composition is not None and jet_refusal(composition) is None:
        said = "Methanol burns invisibly: extinguisher and water at hand"
    else:
        said = (
            "A fuel with so much oxygen in it may burn with a flame that nobody sees:"
            " extinguisher at hand"
        )
    return (Caution("flame-invisible", said),)


def _untold(old: FuelFigures, new: FuelFigures) -> tuple[Caution, ...]:
    if old.oxygenated is not None and new.oxygenated is not None:
        return ()
    return (
        Caution(
            "oxygen-unknown",
            "Nothing on a fuel's sheet says whether there is oxygen in it: enter its composition",
        ),
    )
