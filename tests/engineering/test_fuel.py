"""Fuel: proportions, blends, densities, jets, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering import fuel
from logbook.engineering.fuel import Composition
from logbook.refusals import BadInput

positive = st.floats(min_value=0.5, max_value=20.0)


@given(positive, st.floats(min_value=0.0, max_value=4.0), st.floats(min_value=0.1, max_value=10))
def test_only_the_proportions_of_atoms_count(carbon: float, hydrogen: float, times: float) -> None:
    once = fuel.stoichiometric_ratio(Composition(carbon, carbon * hydrogen))
    more = fuel.stoichiometric_ratio(Composition(carbon * times, carbon * hydrogen * times))
    assert more == pytest.approx(once)


@given(st.floats(min_value=0.0, max_value=1.0), st.floats(min_value=0.001, max_value=0.5))
def test_oxygen_in_the_fuel_lowers_the_ratio(oxygen: float, more: float) -> None:
    less_air = fuel.stoichiometric_ratio(Composition(1, 2, oxygen + more))
    assert less_air < fuel.stoichiometric_ratio(Composition(1, 2, oxygen))


@given(positive, positive, st.floats(min_value=0.0, max_value=1.0))
def test_a_blend_lies_between_its_parts(first: float, second: float, share: float) -> None:
    blended = fuel.blend_by_mass((first, second), (share, 1 - share))
    assert min(first, second) - 1e-9 <= blended <= max(first, second) + 1e-9


def test_oxygen_share_of_methanol() -> None:
    assert Composition(1, 4, 1).oxygen_mass_share == pytest.approx(15.999 / 32.042)


def test_shares_by_mass_weigh_the_denser_part_more() -> None:
    assert fuel.mass_shares((0.5, 0.5), (700, 800)) == pytest.approx((7 / 15, 8 / 15))


def test_api_gravity_of_water_is_ten() -> None:
    assert fuel.density_from_api(10) == pytest.approx(999.016)
    assert fuel.density_from_api(60) < fuel.density_from_api(50)


@given(positive, positive, positive, positive)
def test_changing_the_fuel_back_restores_the_jets(
    old: float, new: float, old_density: float, new_density: float
) -> None:
    there = fuel.jet_area_ratio(old, new, old_density, new_density)
    back = fuel.jet_area_ratio(new, old, new_density, old_density)
    assert there * back == pytest.approx(1.0)


@given(positive, positive)
def test_the_same_fuel_keeps_its_jets(ratio: float, density: float) -> None:
    assert fuel.jet_area_ratio(ratio, ratio, density, density) == pytest.approx(1.0)
    assert fuel.jet_area_ratio_for_air(density, density) == pytest.approx(1.0)


def test_no_jets_for_nitromethane() -> None:
    refusal = fuel.jet_refusal(Composition(1, 3, 2, 1))
    assert refusal is not None
    assert "nitromethane" in refusal
    assert fuel.jet_refusal(Composition(8, 18)) is None


def test_jet_advice_names_the_margin_and_the_checks() -> None:
    for word in ("starting point", "5 % richer", "needle-and-seat", "reduced", "lambda"):
        assert word in fuel.JET_ADVICE


@pytest.mark.parametrize(
    "attempt",
    [
        lambda: Composition(0, 0),
        lambda: Composition(-1, 4),
        lambda: Composition(math.nan, 4),
        lambda: fuel.stoichiometric_ratio(Composition(1, 0, 2)),
        lambda: fuel.blend_by_mass((14.6,), (0.5, 0.5)),
        lambda: fuel.blend_by_mass((), ()),
        lambda: fuel.blend_by_mass((14.6, 9.0), (0.0, 0.0)),
        lambda: fuel.blend_by_mass((14.6, 9.0), (1.5, -0.5)),
        lambda: fuel.mass_shares((0.0,), (700,)),
        lambda: fuel.density_from_api(-131.5),
        lambda: fuel.density_from_api(math.nan),
        lambda: fuel.jet_area_ratio(14.6, 0.0, 700, 700),
        lambda: fuel.jet_area_ratio(14.6, 9.0, 700, math.inf),
        lambda: fuel.jet_area_ratio_for_air(1.2, -1.0),
    ],
)
def test_impossible_fuels_are_refused(attempt: object) -> None:
    assert callable(attempt)
    with pytest.raises(BadInput):
        attempt()
