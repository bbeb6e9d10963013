"""The workshop as data: engines, fuels and cells read from the TOML files beside this module."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from logbook import quantities

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class FuelSpec:
    """A fuel batch: its sheet as typed, and what the model needs of it."""

    name: str
    sheet: Mapping[str, str]
    density_kg_m3: float
    stoichiometric_ratio: float
    heating_value_mj_kg: float
    charge_cooling: float
    best_timing_shift_deg: float
    knock_shift_deg: float

    @property
    def label(self) -> str:
        """How a set-up names it."""
        return f"{self.name} {self.sheet.get('batch', '')}".strip()


@dataclass(frozen=True, slots=True)
class CarburetorSpec:
    """Air flow at 1.5 inHg, the main jets with which it was delivered, and one size of jet."""

    rated_m3_h: float
    jets: float
    jet_step: float


@dataclass(frozen=True, slots=True)
class Bump:
    """A tuned length seen in the volumetric efficiency."""

    at_rpm: float
    height: float
    width_rpm: float


@dataclass(frozen=True, slots=True)
class WearSpec:
    """The state of one build, as factors on the family's model."""

    breathing: float
    friction: float
    blow_by_share: float
    compression_ratio: float


@dataclass(frozen=True, slots=True)
class FamilySpec:
    """What sister engines share."""

    name: str
    sheet: Mapping[str, str]
    displacement_l: float
    stroke_mm: float
    band_rpm: tuple[float, float]
    sweep_rpm: tuple[float, float]
    sweep_rate_rpm_s: float
    top_speed_rpm: float
    breathing_peak: float
    breathing_at_rpm: float
    breathing_fall_below: float
    breathing_fall_above: float
    bumps: tuple[Bump, ...]
    best_timing_deg: float
    timing_slope_deg: float
    timing_curvature: float
    timing_lean: float
    knock_from_deg: float
    lambda_as_jetted: float
    reference_fuel: FuelSpec
    carburetors: Mapping[str, CarburetorSpec]
    parts: Mapping[str, Mapping[str, tuple[float, float]]]
    pumps: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class BuildSpec:
    """One build: its sheet, and its wear."""

    label: str
    built_on: str
    notes: str
    wear: WearSpec


@dataclass(frozen=True, slots=True)
class EngineSpec:
    """One engine with its builds, oldest first."""

    tag: str
    sheet: Mapping[str, str]
    family: FamilySpec
    builds: Mapping[str, BuildSpec]


@dataclass(frozen=True, slots=True)
class LogSpec:
    """How a cell's data system writes a file. A channel is (what, name, unit, decimals); the
    log starts `hold_s` before the sweep and runs on `coast_s` after it."""

    name: str
    delimiter: str
    decimal: str
    encoding: str
    newline: str
    header: str
    rate_hz: float
    hold_s: float
    coast_s: float
    preamble: tuple[str, ...]
    channels: tuple[tuple[str, str, str, int], ...]


@dataclass(frozen=True, slots=True)
class CellSpec:
    """One cell: its sheet, how its air is read (unit and digits), how it logs."""

    name: str
    standard: str
    units: str
    sheet: Mapping[str, str]
    pressure: tuple[str, int]
    temperature: tuple[str, int]
    humidity: tuple[str, str, int]
    log: LogSpec


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))


def si(text: str, kind: str) -> float:
    """A quantity of the story in the logbook's stored unit."""
    return quantities.parse(text, kind, field="demo").value


@cache
def fuels() -> Mapping[str, FuelSpec]:
    """Every fuel batch by name and batch."""
    found = []
    for entry in _table("fuels.toml")["fuel"]:
        sheet = entry["sheet"]
        found.append(
            FuelSpec(
                **entry,
                density_kg_m3=si(sheet["density"], "density"),
                stoichiometric_ratio=float(sheet["stoichiometric-ratio"]),
                heating_value_mj_kg=si(sheet["heating-value"], "heating_value"),
            )
        )
    return {fuel.label: fuel for fuel in found}


@cache
def cells() -> Mapping[str, CellSpec]:
    """Every cell by name."""
    found = {}
    for entry in _table("cells.toml")["cell"]:
        air, log = entry["air"], dict(entry["log"])
        log["preamble"] = tuple(log["preamble"])
        log["channels"] = tuple(tuple(channel) for channel in log["channels"])
        found[entry["name"]] = CellSpec(
            name=entry["name"],
            standard=entry["standard"],
            units=entry["units"],
            sheet=entry["sheet"],
            pressure=tuple(air["pressure"]),
            temperature=tuple(air["temperature"]),
            humidity=tuple(air["humidity"]),
            log=LogSpec(**log),
        )
    return found


@cache
def engines() -> Mapping[str, EngineSpec]:
    """Every engine by tag."""
    found = {}
    for name, entry in _table("engines.toml")["family"].items():
        family = _family(name, entry)
        for engine in entry["engine"]:
            found[engine["tag"]] = _engine(engine, family)
    return found


def _family(name: str, entry: Mapping[str, Any]) -> FamilySpec:
    sheet, model = entry["sheet"], dict(entry["model"])
    bore, stroke = si(sheet["bore"], "length"), si(sheet["stroke"], "length")
    cylinders = int(sheet["cylinders"])
    for pair in ("band_rpm", "sweep_rpm"):
        model[pair] = tuple(model[pair])
    model["bumps"] = tuple(Bump(**bump) for bump in model["bumps"])
    model["reference_fuel"] = fuels()[model["reference_fuel"]]
    return FamilySpec(
        name=name,
        sheet=sheet,
        displacement_l=3.141592653589793 / 4 * bore**2 * stroke * cylinders / 1e6,
        stroke_mm=stroke,
        top_speed_rpm=si(sheet["limit-speed"], "speed"),
        carburetors={
            label: CarburetorSpec(si(spec["rated"], "volume_flow"), spec["jets"], spec["jet_step"])
            for label, spec in entry["carburetors"].items()
        },
        parts={
            factor: {level: (low / 100, high / 100) for level, (low, high) in levels.items()}
            for factor, levels in entry["parts"].items()
        },
        pumps={
            label: (si(spec["vacuum"], "vacuum"), si(spec["swallows"], "volume_flow"))
            for label, spec in entry.get("pumps", {}).items()
        },
        **model,
    )


def _engine(entry: Mapping[str, Any], family: FamilySpec) -> EngineSpec:
    as_built = {"compression_ratio": float(family.sheet["compression-ratio"])}
    builds = {
        build["label"]: BuildSpec(
            label=build["label"],
            built_on=build["built_on"],
            notes=build["notes"],
            wear=WearSpec(**(as_built | build["wear"])),
        )
        for build in entry["build"]
    }
    first = next(iter(builds.values()))
    own = {key: entry[key] for key in ("name", "owner")}
    note = f"{entry['note']} {first.label.capitalize()}: {first.notes}"
    sheet = {**own, "family": family.name, "note": note, **family.sheet}
    return EngineSpec(entry["tag"], sheet, family, builds)
