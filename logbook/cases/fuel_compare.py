"""Fuels on file against each other: figures at one temperature, jets to begin with, blends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.engines import fuel_label, match_fuel
from logbook.cases.typed import nearest
from logbook.records.engine import Fuel
from logbook.refusals import BadInput, NotFound

if TYPE_CHECKING:
    from logbook.engineering.fuel import Composition
    from logbook.engineering.fuel_change import FuelChange, FuelFigures
    from logbook.store.reader import Reader

RICHER = 1.05
"""Jets to be changed are begun at least 5 % richer than computed (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class FuelSheet:
    """A fuel, or a blend of some, with its figures. `fuel` is ``None`` for a blend."""

    label: str
    fuel: Fuel | None
    composition: Composition | None
    figures: FuelFigures


@dataclass(frozen=True, slots=True)
class FuelCompare:
    """The step from one fuel to the other. `old_jet_mm`, `new_jet_mm` and `begin_jet_mm` (5 %
    richer by area) only where a jet was given and the step can be computed."""

    old: FuelSheet
    new: FuelSheet
    change: FuelChange
    old_jet_mm: float | None
    new_jet_mm: float | None
    begin_jet_mm: float | None


def fuel_sheet(desk: Desk, name: str, temperature_c: float | None = None) -> FuelSheet:
    """What is known of a fuel on file at a temperature (20 °C where none is given)."""
    from logbook.engineering.fuel_change import REFERENCE_C

    with desk.book.reading() as read:
        return _sheet(read, name, REFERENCE_C if temperature_c is None else temperature_c)


def compare_fuels(
    desk: Desk,
    old: str,
    new: str,
    *,
    temperature_c: float | None = None,
    jet_mm: float | None = None,
) -> FuelCompare:
    """One fuel on file against another. Raises `NotFound` with the nearest names."""
    from logbook.engineering.fuel_change import fuel_change

    before = fuel_sheet(desk, old, temperature_c)
    after = fuel_sheet(desk, new, temperature_c)
    step = fuel_change(
        before.figures,
        after.figures,
        old_composition=before.composition,
        new_composition=after.composition,
    )
    if jet_mm is not None and not 0.1 <= jet_mm <= 20.0:
        raise BadInput(f"{jet_mm:g} mm is no jet", where="Jet", wanted="such as 1.35 mm")
    jets: list[float | None] = [jet_mm, None, None]
    if jet_mm is not None and step.jet_diameter is not None and step.jet_area is not None:
        richer = 1.0 if step.same_jets else RICHER
        jets = [jet_mm, jet_mm * step.jet_diameter, jet_mm * (step.jet_area * richer) ** 0.5]
    return FuelCompare(before, after, step, *jets)


def blend_fuels(
    desk: Desk,
    parts: Sequence[tuple[str, float]],
    *,
    by_volume: bool = False,
    temperature_c: float | None = None,
) -> FuelSheet:
    """A blend of fuels on file, by mass or by volume; the shares may have any sum."""
    from logbook.engineering.fuel_blend import blend, shares_of_volumes

    if len(parts) < 2:
        raise BadInput("one fuel is no blend", where="Blend", wanted="two fuels or more")
    sheets = [fuel_sheet(desk, name, temperature_c) for name, _ in parts]
    shares: Sequence[float] = [share for _, share in parts]
    if by_volume:
        shares = shares_of_volumes([sheet.figures for sheet in sheets], shares)
    figures, composition = blend(
        [sheet.figures for sheet in sheets], [sheet.composition for sheet in sheets], shares
    )
    total = sum(shares)
    label = " + ".join(
        f"{100 * share / total:.3g} % {sheet.label}"
        for share, sheet in zip(shares, sheets, strict=True)
    )
    return FuelSheet(label, None, composition, figures)


def _sheet(read: Reader, name: str, temperature_c: float) -> FuelSheet:
    from logbook.engineering.fuel_change import fuel_figures

    fuel = match_fuel(read, name)
    if fuel is None:
        known = [fuel_label(one) for one in read.where(Fuel)]
        raise NotFound(f"no fuel {name[:40]!r} on file", where="Fuel", wanted=nearest(name, known))
    composition = composition_of(fuel)
    figures = fuel_figures(
        composition,
        ratio=fuel.stoichiometric_ratio,
        heating_mj_kg=fuel.heating_value_mj_kg,
        density_kg_m3=fuel.density_kg_m3,
        density_at_c=fuel.density_at_c,
        temperature_c=temperature_c,
    )
    return FuelSheet(fuel_label(fuel), fuel, composition, figures)


def composition_of(fuel: Fuel) -> Composition | None:
    """A fuel's atoms, where its sheet names carbon and hydrogen."""
    from logbook.engineering.fuel import Composition

    if fuel.carbon is None or fuel.hydrogen is None:
        return None
    return Composition(fuel.carbon, fuel.hydrogen, fuel.oxygen or 0.0, fuel.nitrogen or 0.0)
