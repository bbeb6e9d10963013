"""Fuels against each other: tables for people, and the same as JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from logbook.quantities import show
from logbook.reports.as_json import Document, cautions_json, plain_value, record_json
from logbook.reports.tables import NOTHING, grid, sheet

if TYPE_CHECKING:
    from rich.table import Table

    from logbook.cases.fuel_compare import FuelCompare, FuelSheet
    from logbook.engineering.fuel_change import FuelFigures


def fuel_json(one: FuelSheet) -> Document:
    """What ``logbook fuel show --json`` and ``fuel blend --json`` print."""
    figures = record_json(one.figures)
    return {
        "label": one.label,
        "id": one.fuel.id if one.fuel else None,
        "composition": None if one.composition is None else asdict(one.composition),
        **figures,
        "energy_per_air_mj_kg": plain_value(one.figures.energy_per_air_mj_kg),
    }


def fuel_compare_json(view: FuelCompare) -> Document:
    """What ``logbook fuel compare --json`` prints: ratios are new over old."""
    step = view.change
    return {
        "old": fuel_json(view.old),
        "new": fuel_json(view.new),
        "jet_area_ratio": plain_value(step.jet_area),
        "jet_diameter_ratio": plain_value(step.jet_diameter),
        "why_no_jets": step.why_no_jets or None,
        "mass_flow_ratio": plain_value(step.mass_flow),
        "volume_flow_ratio": plain_value(step.volume_flow),
        "energy_per_air_ratio": plain_value(step.energy_per_air),
        "old_jet_mm": view.old_jet_mm,
        "new_jet_mm": view.new_jet_mm,
        "begin_jet_mm": view.begin_jet_mm,
        "cautions": cautions_json(step.cautions),
    }


def fuel_lines(figures: FuelFigures, system: str) -> list[tuple[str, str, str]]:
    """Label, value and source of everything that is known of a fuel."""
    energy = figures.energy_per_air_mj_kg
    share = figures.oxygen_mass_share
    at = show(figures.temperature_c, "temperature", system, digits=0)
    return [
        ("Stoichiometric ratio", _plain(figures.stoichiometric_ratio, 2),
         figures.stoichiometric_source),
        ("Heating value", show(figures.heating_value_mj_kg, "heating_value", system),
         figures.heating_source),
        (f"Density at {at}", show(figures.density_kg_m3, "density", system, digits=1),
         figures.density_source),
        ("Energy per kg of air, MJ", _plain(energy, 3),
         "heating value over ratio" if energy else ""),
        ("Oxygen by mass", NOTHING if share is None else f"{100 * share:.1f} %",
         "composition" if share is not None else ""),
    ]  # fmt: skip


def fuel_table(one: FuelSheet, system: str) -> Table:
    """A fuel's or a blend's figures with where each came from."""
    return grid((one.label, "", "From"), fuel_lines(one.figures, system), right="b")


def compare_lines(view: FuelCompare, system: str) -> list[tuple[str, str]]:
    """What the step from one fuel to the other asks, in words with numbers."""
    step = view.change
    same = ", the same jets" if step.same_jets else ""
    lines = [
        ("Fuel for the same lambda, by mass", _times(step.mass_flow)),
        ("Fuel for the same lambda, by volume", _times(step.volume_flow)),
        ("Jet area", f"{_times(step.jet_area)}{same}" if step.jet_area else step.why_no_jets),
        ("Jet diameter", _times(step.jet_diameter)),
        ("Energy in each kg of air", _times(step.energy_per_air)),
    ]
    if view.old_jet_mm is not None and view.begin_jet_mm is not None:
        jets = [
            show(jet, "length", system, digits=4 if system == "us" else 3)
            for jet in (view.old_jet_mm, view.new_jet_mm, view.begin_jet_mm)
        ]
        change = "stays" if step.same_jets else f"becomes {jets[1]}; begin with {jets[2]} or more"
        lines.append(("A jet of", f"{jets[0]} {change}"))
    return lines


def fuel_compare_tables(view: FuelCompare, system: str) -> list[Table]:
    """Both fuels side by side, then the step."""
    old, new = (fuel_lines(one.figures, system) for one in (view.old, view.new))
    sides = grid(
        ("", view.old.label, "From", view.new.label, "From"),
        (
            (label, left, left_from, right, right_from)
            for (label, left, left_from), (_, right, right_from) in zip(old, new, strict=True)
        ),
        right="bd",
    )
    return [sides, sheet([("", " "), *compare_lines(view, system)])]


def _plain(value: float | None, digits: int) -> str:
    return NOTHING if value is None else f"{value:.{digits}f}"


def _times(ratio: float | None) -> str:
    """``× 1.043 (+4.3 %)``; a percentage that would be naught is left out."""
    if ratio is None:
        return NOTHING
    percent = f"{100 * (ratio - 1):+.1f} %".replace("-", "−")
    if percent[1:] == "0.0 %":
        return f"× {ratio:.3f}"
    return f"× {ratio:.3f} ({percent})"
