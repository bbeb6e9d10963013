"""Fuels against each other from a script."""

from __future__ import annotations

import pytest

from tests.cli.conftest import CommandLine


@pytest.fixture
def fuels(logbook: CommandLine) -> CommandLine:
    """A gasoline by its data sheet and methanol by its atoms."""
    logbook.ok("fuel", "add", "Tango", "--batch", "7", "--density", "0.742 kg/L",
               "--stoichiometric-ratio", "14.2", "--heating-value", "43.1 MJ/kg",
               "--carbon", "1", "--hydrogen", "1.87")  # fmt: skip
    logbook.ok("fuel", "add", "Methanol", "--density", "0.791 kg/L", "--density-at", "20 C",
               "--carbon", "1", "--hydrogen", "4", "--oxygen", "1")  # fmt: skip
    return logbook


def test_what_another_fuel_asks_of_the_jets(fuels: CommandLine) -> None:
    found = fuels.ok("fuel", "compare", "tango", "Methanol", "--jet", "1.35 mm", "--json").json
    assert found["mass_flow_ratio"] == pytest.approx(14.2 / 6.4713, rel=1e-4)
    assert found["new_jet_mm"] == pytest.approx(1.35 * found["jet_area_ratio"] ** 0.5)
    assert found["begin_jet_mm"] == pytest.approx(found["new_jet_mm"] * 1.05**0.5)
    assert found["old"]["density_source"].endswith("15 °C assumed, the sheet names none")
    assert [c["code"] for c in found["cautions"]] == [
        "jets-a-start", "fuel-oxygenated", "flame-invisible",
    ]  # fmt: skip
    spoken = fuels.ok("fuel", "compare", "Tango", "Methanol", "--units", "metric")
    assert "begin at least 5 % richer" in spoken.err
    assert "× 2.194 (+119.4 %)" in spoken.out


def test_the_same_jets_are_not_begun_richer(fuels: CommandLine) -> None:
    ended = fuels.ok("fuel", "compare", "Tango", "Tango", "--jet", "1.35 mm", "--units", "metric")
    assert "× 1.000, the same jets" in ended.out
    assert "1.350 mm stays" in ended.out
    assert "richer" not in ended.err


def test_a_fuel_without_figures_says_what_is_missing(fuels: CommandLine) -> None:
    fuels.ok("fuel", "add", "Drum 3")
    ended = fuels.ok("fuel", "compare", "Drum 3", "Tango")
    assert "The old fuel's sheet has no stoichiometric ratio or composition" in ended.out
    assert "Nothing on a fuel's sheet says whether there is oxygen in it" in ended.err
    refused = fuels("fuel", "show", "Tanga 7")
    assert refused.code == 2
    assert "Tango 7" in refused.err


def test_a_blend_by_volume_is_not_one_by_mass(fuels: CommandLine) -> None:
    by_mass = fuels.ok("fuel", "blend", "Tango=85", "Methanol=15", "--json").json
    by_volume = fuels.ok(
        "fuel", "blend", "Tango=85%", "Methanol=15%", "--by-volume", "--at", "20 C", "--json"
    ).json
    assert by_mass["oxygen_mass_share"] == pytest.approx(0.15 * 0.49931, rel=1e-4)
    assert by_volume["stoichiometric_ratio"] < by_mass["stoichiometric_ratio"]
    assert 738.0 < by_mass["density_kg_m3"] < 791.0
    assert fuels("fuel", "blend", "Tango=85").code == 2
    assert "no share" in fuels("fuel", "blend", "Tango=85", "Methanol").err
