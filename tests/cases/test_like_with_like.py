"""A band average is never set against a peak, nor one standard's figure against another's."""

from __future__ import annotations

import pytest

from logbook.cases import compare, engines, judge, pulls, sessions
from logbook.cases.days import Almanac, Terms
from logbook.cases.history import PEAK

from .conftest import AIR, Shop


def with_air(shop: Shop) -> None:
    pulls.new_air(shop.desk, shop.session_id, AIR, units="us")


def test_a_sweep_and_typed_peaks_are_compared_by_their_peaks(shop: Shop) -> None:
    with_air(shop)
    sweep, typed = shop.trace(1.0, timing=30), shop.peaks(400)
    view = compare.compare(shop.desk, sweep.pull_id, typed.pull_id)
    assert view.worth is None
    assert view.left_figures.band_power_kw is not None
    assert view.right_figures.band_power_kw is None
    assert view.bare is not None
    left, right = view.left_figures.peak_power_kw, view.right_figures.peak_power_kw
    assert left is not None
    assert right is not None
    assert view.bare.quantity == "peak power"
    assert view.bare.difference_kw == pytest.approx(right - left)
    assert view.bare.percent == pytest.approx(100 * (right / left - 1))


def test_figures_that_have_nothing_in_common_are_not_subtracted(shop: Shop) -> None:
    with_air(shop)
    sweep = shop.trace(1.0)
    torque_only = shop.log({"peak-torque": "390 lb-ft", "at": "4800"})
    view = compare.compare(shop.desk, sweep.pull_id, torque_only.pull_id)
    assert view.bare is None


def test_the_best_of_a_session_with_sweeps_is_a_band_average(shop: Shop) -> None:
    with_air(shop)
    shop.trace(1.0)
    shop.peaks(600)  # a typed peak above any band average
    rows = judge.session_view(shop.desk, shop.session_id).rows
    band = max(r.score.corrected.band_power_kw or 0 for r in rows if r.score)
    assert sessions.list_sessions(shop.desk)[0].best_power_kw == pytest.approx(band)
    assert engines.list_engines(shop.desk)[0].best_power_kw == pytest.approx(band)


def test_the_best_of_an_engine_is_under_the_standard_it_runs_under_now(shop: Shop) -> None:
    """The 60 °F standard reads some percent higher for the same air: its figure is no best."""
    sessions.change_session(shop.desk, shop.session_id, standard="sae-j607")
    with_air(shop)
    shop.trace(1.0)
    sessions.close_session(shop.desk, shop.session_id)
    shop.clock.turn(60)
    later = sessions.open_session(shop.desk, "RB-2", standard="sae-j1349")
    shop.session_id = later.id
    with_air(shop)
    newest = shop.trace(1.001)
    row = engines.list_engines(shop.desk)[0]
    assert row.best_standard == "sae-j1349"
    score = judge.session_view(shop.desk, later.id).rows[0].score
    assert score is not None
    assert row.best_power_kw == pytest.approx(score.corrected.band_power_kw)
    engine = engines.engine_by_tag(shop.desk, "RB-2")
    assert compare.best_pull_ref(shop.desk, engine.id, standard="sae-j1349") == newest.pull_id


def test_what_only_warmed_the_engine_is_left_out_across_years_by_the_same_rule(shop: Shop) -> None:
    """0.75 % apart: more than two of a band average agree within, less than two peaks."""
    with_air(shop)
    for torque in (400.0, 403.0, 403.1):
        shop.peaks(torque, timing=30)
    label = judge.session_view(shop.desk, shop.session_id).baseline_label
    assert label == "first set-up, pulls 2–3"
    with shop.desk.book.reading() as read:
        day = Almanac(shop.desk, read, Terms(PEAK)).of([shop.session_id])[shop.session_id]
    assert [pull.number for pull in day.pulls] == [2, 3]
