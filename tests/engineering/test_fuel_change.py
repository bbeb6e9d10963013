"""A fuel against another: what is known of each, density with temperature, what a change asks."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering import fuel_change as change
from logbook.engineering import fuel_density as density
from logbook.engineering.fuel import Composition, blend_composition, blend_density
from logbook.engineering.fuel import stoichiometric_ratio as ratio_of
from logbook.refusals import BadInput

GASOLINE, METHANOL, ETHANOL = Composition(1, 1.87), Composition(1, 4, 1), Composition(2, 6, 1)


def figures(
    composition: Composition | None, rho: float | None, **known: float
) -> change.FuelFigures:
    return change.fuel_figures(composition, density_kg_m3=rho, density_at_c=20.0, **known)


def test_the_data_sheet_goes_before_the_composition() -> None:
    found = figures(GASOLINE, 745.0, ratio=14.2, heating_mj_kg=43.1)
    assert (found.stoichiometric_ratio, found.heating_value_mj_kg) == (14.2, 43.1)
    assert found.stoichiometric_source == found.heating_source == change.DATA_SHEET
    assert found.energy_per_air_mj_kg == pytest.approx(43.1 / 14.2)
    bare = figures(GASOLINE, None)
    assert bare.stoichiometric_ratio == ratio_of(GASOLINE)
    assert bare.heating_source == change.ESTIMATE
    assert bare.density_kg_m3 is None


def test_methanol_wants_more_than_twice_the_jet_and_gives_a_little_more_per_air() -> None:
    old = figures(GASOLINE, 745.0, heating_mj_kg=44.0)
    new = figures(METHANOL, 791.0, heating_mj_kg=20.0)
    found = change.fuel_change(old, new, old_composition=GASOLINE, new_composition=METHANOL)
    assert found.mass_flow == pytest.approx(14.5985 / 6.4713, rel=1e-4)
    assert found.volume_flow == pytest.approx(14.5985 / 6.4713 * 745.0 / 791.0, rel=1e-4)
    assert found.jet_area == pytest.approx(2.19, abs=0.01)
    assert found.jet_diameter == pytest.approx(1.48, abs=0.005)
    assert found.energy_per_air == pytest.approx(1.025, abs=0.001)
    codes = [caution.code for caution in found.cautions]
    assert codes == ["jets-a-start", "fuel-oxygenated", "flame-invisible"]


def test_another_drum_of_one_fuel_is_not_warned_of_as_another_fuel() -> None:
    blend = Composition(1, 1.9, 0.08)
    drums = [figures(blend, rho, ratio=13.7) for rho in (742.0, 743.0)]
    found = change.fuel_change(*drums, old_composition=blend, new_composition=blend)
    assert found.same_jets
    assert [caution.code for caution in found.cautions] == [], "nothing to begin with care"


def test_another_fuel_is_begun_with_care_even_where_it_asks_for_the_same_jets() -> None:
    """A lighter fuel of a higher ratio: the jets cancel, knock and lambda do not."""
    blend = Composition(1, 1.9, 0.08)
    old = figures(blend, 742.0, ratio=13.7)
    new = figures(GASOLINE, 742.0 * (13.7 / 14.5985) ** 2)
    found = change.fuel_change(old, new, old_composition=blend, new_composition=GASOLINE)
    assert found.jet_area == pytest.approx(1.0, abs=change.SAME_JETS)
    assert not found.same_jets
    assert [caution.code for caution in found.cautions] == ["jets-a-start", "fuel-oxygenated"]


def test_how_alike_two_fuels_are_to_be_one() -> None:
    """Ratios within 1 %; oxygen below a thousandth of the mass is none (no source for either)."""
    blend = Composition(1, 1.9, 0.08)
    for ratio, another in ((13.58, False), (13.54, True)):
        drums = figures(blend, 742.0, ratio=13.7), figures(blend, 743.0, ratio=ratio)
        codes = [caution.code for caution in change.fuel_change(*drums).cautions]
        assert ("fuel-oxygenated" in codes) is another
    for atoms, oxygenated in ((0.0008, False), (0.0010, True)):  # of 13.9 g/mol: 0.09 and 0.12 %
        assert figures(Composition(1, 1.87, atoms), None).oxygenated is oxygenated


def test_a_density_without_a_temperature_is_one_at_15_degrees() -> None:
    said = change.fuel_figures(GASOLINE, density_kg_m3=745.0, density_at_c=15.0)
    silent = change.fuel_figures(GASOLINE, density_kg_m3=745.0)
    assert silent.density_kg_m3 == said.density_kg_m3
    assert silent.density_source.endswith("15 °C assumed, the sheet names none")
    assert said.density_kg_m3 == pytest.approx(745.0 - 5 * 0.9, abs=1.0)


def test_no_jets_for_nitromethane_or_an_empty_sheet() -> None:
    nitro = Composition(1, 3, 2, 1)
    found = change.fuel_change(
        figures(GASOLINE, 745.0), figures(nitro, 1137.0), new_composition=nitro
    )
    assert found.jet_area is None
    assert "nitromethane" in found.why_no_jets
    empty = change.fuel_change(figures(GASOLINE, 745.0), figures(None, None))
    assert empty.jet_area is empty.energy_per_air is None
    assert empty.why_no_jets == (
        "The new fuel's sheet has no stoichiometric ratio or composition and no density"
    )
    assert "oxygen-unknown" in [caution.code for caution in empty.cautions]


def flame(new: Composition | None, **known: float) -> str:
    """What is said of the flame after a change from gasoline, "" where nothing is."""
    found = change.fuel_change(
        figures(GASOLINE, 745.0), figures(new, 791.0, **known), new_composition=new
    )
    said = [caution.text for caution in found.cautions if caution.code == "flame-invisible"]
    return said[0] if said else ""


def test_a_flame_that_nobody_sees_is_warned_of_by_oxygen_or_by_the_ratio_alone() -> None:
    assert "Methanol" in flame(METHANOL)
    assert flame(ETHANOL) == flame(None, ratio=9.0) == flame(None) == ""
    # A data sheet with nothing but the ratio, of methanol and of 85 % of it by volume.
    for ratio in (6.47, 7.6):
        assert "a flame that nobody sees: extinguisher at hand" in flame(None, ratio=ratio)
    # Both say the same of methanol in gasoline: warned of from four parts in five.
    for share, warned in ((0.79, False), (0.82, True)):
        blend = blend_composition((GASOLINE, METHANOL), (1.0 - share, share))
        assert bool(flame(blend)) is bool(flame(None, ratio=ratio_of(blend))) is warned


@pytest.mark.parametrize("nitro", [0.2, 1.0])
def test_what_has_nitrogen_in_it_is_not_called_methanol(nitro: float) -> None:
    blend = blend_composition((METHANOL, Composition(1, 3, 2, 1)), (1.0 - nitro, nitro))
    said = flame(blend)
    assert "nobody sees" in said
    assert "ethanol" not in said


def test_a_ratio_no_hydrocarbon_has_says_oxygen() -> None:
    assert ratio_of(Composition(6, 6)) > 13.1
    assert figures(None, None, ratio=12.4).oxygenated is True
    assert figures(None, None, ratio=14.1).oxygenated is None


@given(st.floats(660, 765), st.floats(-20, 45), st.floats(-20, 45))
def test_density_there_and_back(rho: float, one: float, two: float) -> None:
    there, method = density.density_at(rho, 15.0, one)
    assert method == density.PETROLEUM
    back, _ = density.density_at(there, one, two)
    again, _ = density.density_at(back, two, 15.0)
    assert again == pytest.approx(rho, abs=1e-6)
    assert (there < rho) == (one > 15.0) or one == pytest.approx(15.0, abs=1e-6)


def test_what_is_no_gasoline_loses_nine_tenths_a_kelvin_or_what_its_sheet_says() -> None:
    assert density.density_at(791.0, 20.0, 30.0, oxygenated=True) == (782.0, density.USUAL)
    assert density.density_at(872.0, 20.0, 30.0)[1] == density.USUAL
    own, method = density.density_at(791.0, 20.0, 30.0, expansion_per_k=1.19e-3)
    assert (round(own, 1), method) == (781.7, density.OWN)
    with pytest.raises(BadInput, match="outside 500–1500"):
        density.density_at(0.745, 15.0, 20.0)


@given(st.floats(0.0, 1.0))
def test_a_blend_has_the_ratio_of_its_atoms(share: float) -> None:
    from logbook.engineering.fuel import blend_by_mass

    shares = (1.0 - share, share)
    blend = blend_composition((GASOLINE, ETHANOL), shares)
    wanted = blend_by_mass((ratio_of(GASOLINE), ratio_of(ETHANOL)), shares)
    assert ratio_of(blend) == pytest.approx(wanted)
    assert 745.0 - 1e-9 <= blend_density((745.0, 789.3), shares) <= 789.3 + 1e-9


@given(st.floats(600, 900), st.floats(5.0, 16.0), st.floats(600, 900), st.floats(5.0, 16.0))
def test_changing_back_restores_everything(a: float, b: float, c: float, d: float) -> None:
    one, two = figures(None, a, ratio=b), figures(None, c, ratio=d)
    there, back = change.fuel_change(one, two), change.fuel_change(two, one)
    assert there.jet_area is not None
    assert back.jet_area is not None
    assert there.jet_area * back.jet_area == pytest.approx(1.0)
