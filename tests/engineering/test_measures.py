"""Tolerances, bores, rings, cylinders, compression, profiles: properties and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.engineering import bore, compression, cylinders, geometry, surface, tolerance
from logbook.engineering.tolerance import IN, NO_LIMIT, OUT, RECLAIM, Tolerance
from logbook.refusals import BadInput

lengths = st.floats(min_value=40.0, max_value=150.0)
small = st.floats(min_value=0.0, max_value=0.2)


@pytest.mark.parametrize(
    ("value", "word"),
    [(0.9, OUT), (1.0, RECLAIM), (1.9, RECLAIM), (2.0, IN), (3.0, IN), (3.1, OUT)],
)
def test_a_value_is_in_reclaim_or_out(value: float, word: str) -> None:
    assert tolerance.verdict(value, Tolerance(low=2, high=3, reclaim_low=1)) == word


def test_a_limit_typed_in_another_unit_is_still_met() -> None:
    typed_in_inches = 0.0045 * 25.4
    assert typed_in_inches != 0.1143
    assert tolerance.verdict(typed_in_inches, Tolerance(high=0.1143)) == IN
    assert tolerance.verdict(0.1143, Tolerance(high=typed_in_inches)) == IN


@given(st.floats(-10, 10), st.floats(-10, 10), st.floats(0, 5))
def test_a_wider_tolerance_never_judges_harder(value: float, low: float, wide: float) -> None:
    order = [IN, RECLAIM, OUT]
    narrow = tolerance.verdict(value, Tolerance(low=low, high=low + wide))
    wider = tolerance.verdict(
        value, Tolerance(low=low, high=low + wide, reclaim_low=low - 1, reclaim_high=low + wide + 1)
    )
    assert order.index(wider) <= order.index(narrow)


def test_the_worst_of_several_verdicts_counts() -> None:
    assert tolerance.worst([IN, OUT, RECLAIM]) == OUT
    assert tolerance.worst([IN, NO_LIMIT]) == IN
    assert tolerance.worst([]) == NO_LIMIT


def test_limits_out_of_order_are_refused() -> None:
    with pytest.raises(BadInput, match="not in order"):
        Tolerance(low=3, high=2)


def test_taper_and_out_of_round_of_a_bore() -> None:
    """Three heights, thrust and pin direction: 0.02 along the thrust side, 0.01 across."""
    found = bore.bore_shape([[86.03, 86.02], [86.02, 86.02], [86.01, 86.02]])
    assert found.taper_mm == pytest.approx(0.02)
    assert found.out_of_round_mm == pytest.approx(0.01)
    assert found.form == bore.TOP_WIDE
    worn_in_the_middle = bore.bore_shape([[86.00], [86.03], [86.01]])
    assert worn_in_the_middle.form == bore.BARREL
    assert worn_in_the_middle.out_of_round_mm is None


@given(st.lists(st.lists(lengths, min_size=2, max_size=2), min_size=2, max_size=5), small)
def test_boring_out_changes_no_shape(grid: list[list[float]], more: float) -> None:
    before, after = bore.bore_shape(grid), bore.bore_shape(np.asarray(grid) + more)
    assert after.taper_mm == pytest.approx(before.taper_mm, abs=1e-9)
    assert after.out_of_round_mm == pytest.approx(before.out_of_round_mm, abs=1e-9)
    assert 0.0 <= before.taper_mm <= before.largest_mm - before.smallest_mm


def test_readings_not_taken_are_left_out() -> None:
    found = bore.bore_shape([[86.0, math.nan], [86.01, 86.02]])
    assert (found.taper_mm, found.out_of_round_mm) == pytest.approx((0.01, 0.01))
    with pytest.raises(BadInput, match="no diameter"):
        bore.bore_shape([[math.nan]])


@pytest.mark.parametrize(
    ("heights", "form"),
    [
        ([86.00, 86.03, 86.01], bore.BARREL),
        ([86.03, 86.00, 86.02], bore.WAIST),
        ([86.03, 86.01, 86.02], bore.TOP_WIDE),  # as far out at the end as in the middle
        ([86.01, 86.02, 86.03], bore.BOTTOM_WIDE),
        ([86.00, 86.00, 86.00], bore.STRAIGHT),
        ([86.00], None),
    ],
)
def test_where_a_bore_is_wide(heights: list[float], form: str | None) -> None:
    assert bore.bore_shape([[height] for height in heights]).form == form
    again = [[height, height + 0.01] for height in heights]
    assert bore.bore_shape(again).form == form


def test_a_direction_that_was_not_measured_everywhere_makes_no_form() -> None:
    """An oval bore, straight along both directions, one of them left out in the middle."""
    oval = bore.bore_shape([[86.03, 86.00], [86.03, math.nan], [86.03, 86.00]])
    assert (oval.form, oval.taper_mm) == (bore.STRAIGHT, 0.0)
    crossed = bore.bore_shape([[86.03, math.nan], [math.nan, 86.00]])
    assert crossed.form is None
    skipped = bore.bore_shape([[86.03, 86.00], [math.nan, math.nan], [86.01, 86.00]])
    assert skipped.form == bore.TOP_WIDE


def test_a_piston_has_its_least_clearance_where_the_bore_is_tight() -> None:
    found = bore.piston_clearance(bore.bore_shape([[86.03], [86.01]]), 85.92)
    assert (found.least_mm, found.most_mm) == pytest.approx((0.09, 0.11))


def test_a_ring_gap_is_filed_open_but_never_closed() -> None:
    """4 thousandths per inch on a 4 in bore: 0.016 in."""
    limits = bore.ring_gap_tolerance(4.0 * 25.4, 0.0040)
    assert limits.low == pytest.approx(0.016 * 25.4)
    assert [tolerance.verdict(g * 25.4, limits) for g in (0.012, 0.018, 0.025)] == [
        RECLAIM, IN, OUT,
    ]  # fmt: skip
    own = bore.ring_gap_tolerance(4.0 * 25.4, 0.0040, most_mm=0.030 * 25.4)
    assert tolerance.verdict(0.025 * 25.4, own) == IN
    with pytest.raises(BadInput, match="no ring gap"):
        bore.ring_gap_tolerance(86.0, 4.0)


def test_the_cylinder_that_does_not_keep_up_is_named() -> None:
    leak = cylinders.spread([4, 5, 4, 14, 5, 4], bad=cylinders.HIGH_IS_BAD, step=1)
    assert leak.outliers == (4,)
    assert (leak.least, leak.most, leak.spread) == (4, 14, 10)
    # A cylinder better than the others is no fault, and 1 % apart is the gauge.
    assert not cylinders.spread([9, 9, 9, 1], bad=cylinders.HIGH_IS_BAD, step=1).outliers
    assert not cylinders.spread([4, 4, 4, 5], bad=cylinders.HIGH_IS_BAD, step=1).outliers
    pressures = cylinders.spread([13.1, None, 13.0, 9.9, 13.2], bad=cylinders.LOW_IS_BAD, step=0.2)
    assert pressures.outliers == (4,)
    assert pressures.spread_percent == pytest.approx(25.0)


def test_how_far_a_cylinder_may_lie_apart_before_it_is_named() -> None:
    """A modified z-score of 3.5: 0.6745·(x − median)/deviation, the deviation no less than what
    the gauge tells apart (here 1), so 5.19 apart. Of three nobody can say which stands apart."""
    for value, named in ((10.1, ()), (10.3, (5,))):
        leak = cylinders.spread([5, 5, 5, 5, value], bad=cylinders.HIGH_IS_BAD, step=1)
        assert leak.outliers == named
    assert cylinders.spread([5, 5, 5, 30], bad=cylinders.HIGH_IS_BAD, step=1).outliers == (4,)
    assert not cylinders.spread([5, 5, 30], bad=cylinders.HIGH_IS_BAD, step=1).outliers


@given(lengths, st.floats(min_value=5.0, max_value=20.0))
def test_the_clearance_for_a_ratio_gives_that_ratio(swept: float, ratio: float) -> None:
    clearance = compression.clearance_for_ratio(swept, ratio)
    assert compression.compression_ratio(swept, clearance) == pytest.approx(ratio)


def test_a_dome_larger_than_the_chamber_is_refused() -> None:
    with pytest.raises(BadInput, match="left over the piston"):
        compression.clearance_volume(bore_mm=86, chamber_cm3=40, piston_cm3=-45)


@given(lengths, lengths, st.integers(1, 12))
def test_an_engine_named_by_its_own_displacement_fits(size: float, long: float, n: int) -> None:
    from logbook.engineering.engine import displacement_l

    stated = displacement_l(size, long, n)
    assert geometry.geometry_agreement(size, long, n, stated).verdict == geometry.FITS
    off = geometry.geometry_agreement(size, long, n, stated * 1.3)
    assert off.verdict == geometry.WRONG
    assert geometry.geometry_agreement(size, off.stroke_mm, n, stated * 1.3).verdict == "fits"
    assert geometry.geometry_agreement(off.bore_mm, long, n, stated * 1.3).verdict == "fits"


@given(st.floats(0.1, 10.0), st.floats(-5.0, 5.0))
def test_core_roughness_scales_and_does_not_mind_the_zero(times: float, shift: float) -> None:
    x = np.arange(400) * 0.7
    heights = np.sin(x) - 2.0 * (np.sin(0.37 * x) > 0.9)
    once, more = surface.core_roughness(heights), surface.core_roughness(heights * times + shift)
    assert (more.rk_um, more.rpk_um, more.rvk_um) == pytest.approx(
        (once.rk_um * times, once.rpk_um * times, once.rvk_um * times), rel=1e-6, abs=1e-9
    )


PROFILE_MM = np.arange(8001) * 0.001


def plateau(half_height_um: float, groove_um: float) -> np.ndarray:
    """A fine triangular wave, and grooves 0.05 mm wide in every half millimeter."""
    wave = half_height_um * (4.0 * np.abs((PROFILE_MM / 0.0317) % 1.0 - 0.5) - 1.0)
    return np.asarray(wave - np.where(PROFILE_MM % 0.5 < 0.05, groove_um, 0.0))


def test_the_finish_of_a_triangular_wave_is_all_core_and_tilt_and_waviness_are_none_of_it() -> None:
    """Its material ratio curve is a straight line: Rk is its whole height, Ra a half of its
    half (ISO 13565-2, ISO 4287)."""
    for form in (0.0, 2.0 * PROFILE_MM, 3.0 * np.sin(2.0 * np.pi * PROFILE_MM / 8.0)):
        found = surface.finish(plateau(1.0, 0.0) + form, 0.001)
        assert found.rk_um == pytest.approx(2.0, rel=0.01)
        assert found.ra_um == pytest.approx(0.5, rel=0.01)
        assert max(found.rpk_um, found.rvk_um) < 0.05
        assert found.length_mm == pytest.approx(8.0 - 0.8)


def test_grooves_are_valleys_and_do_not_pull_the_line_down_beside_them() -> None:
    """ISO 13565-1, the filter in two steps: a single one makes peaks of the grooves' edges (Rpk
    0.15) and a third of their depth goes (Rvk 7.3). Without form the profile's own heights tell:
    a rectangle 6 deep has the area of a triangle twice as deep."""
    profile = plateau(0.25, 6.0)
    found, plain = surface.finish(profile, 0.001), surface.core_roughness(profile)
    assert plain.rvk_um == pytest.approx(2.0 * (6.0 - plain.rk_um / 2.0), rel=0.01)
    assert found.rk_um == pytest.approx(plain.rk_um, rel=0.02)
    assert found.rvk_um == pytest.approx(plain.rvk_um, rel=0.02)
    assert found.rpk_um < 0.05
    assert (found.mr1_percent, found.mr2_percent) == pytest.approx(
        (plain.mr1_percent, plain.mr2_percent), abs=2.0
    )


@pytest.mark.parametrize(
    ("samples", "spacing", "said"),
    [(1000, 0.001, "too short"), (1000, 0.05, "too coarse"), (9000, 0.001, "gaps")],
)
def test_a_profile_that_says_nothing_is_refused(samples: int, spacing: float, said: str) -> None:
    heights = np.zeros(samples)
    heights[5] = np.nan if said == "gaps" else 0.0
    with pytest.raises(BadInput, match=said):
        surface.finish(heights, spacing)


def test_a_hundred_heights_make_a_curve_and_fewer_make_none() -> None:
    heights = np.sin(np.arange(100.0))
    assert surface.core_roughness(heights).rk_um > 0.0
    with pytest.raises(BadInput, match="99 heights"):
        surface.core_roughness(heights[:99])
