"""The difference over speed and its band."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from logbook.verdict.curve import DifferenceBand, between_curve, difference_curve
from logbook.verdict.difference import judge
from logbook.verdict.noise import ASSUMED, ASSUMED_PEAKS, Noise
from tests.benchmarks.honest_bands import NOISES, BinNoise, band_row

ORDER = [0, 0, 1, 1, 0, 0]
GRID = np.arange(4000.0, 7000.0, 250.0)


def curves(seed: int = 1) -> np.ndarray:
    rng = np.random.default_rng(seed)
    shape = 300.0 + 40.0 * np.sin((GRID - 4000.0) / 1000.0)
    # A gain at the top paid for at the bottom.
    tilt = np.linspace(-0.02, 0.02, GRID.size)
    worth = 1.0 + np.outer(np.array(ORDER) == 1, tilt)
    return np.asarray(shape * worth * (1.0 + rng.normal(0.0, 0.002, (6, GRID.size))))


def test_a_gain_at_the_top_paid_for_at_the_bottom_is_seen() -> None:
    band = difference_curve(GRID, curves(), range(6), ORDER, 0, 1)
    assert band.high[0] < 0.0 < band.low[-1]
    assert np.all(band.low < band.difference)
    assert np.all(band.difference < band.high)


def test_each_speed_is_judged_as_the_score_is() -> None:
    data = curves()
    band = difference_curve(GRID, data, range(6), ORDER, 0, 1, prior=ASSUMED, pooled_share=0.0)
    for k in (0, 5, 11):
        change = judge(range(6), ORDER, data[:, k], baseline=0).by_setup[1]
        assert band.difference[k] == pytest.approx(change.difference, rel=1e-9)
        assert (band.low[k], band.high[k]) == pytest.approx(change.interval, rel=1e-9)


def test_speeds_that_a_pull_does_not_reach_are_judged_by_the_others() -> None:
    data = curves()
    data[5, :3] = np.nan  # the last baseline started late
    data[2:4, -1] = np.nan  # the change never reached the top
    band = difference_curve(GRID, data, range(6), ORDER, 0, 1, pooled_share=0.0)
    assert np.isnan(band.difference[-1])
    assert np.isnan(band.low[-1])
    assert np.all(np.isfinite(band.difference[:-1]))
    without = judge(range(5), ORDER[:5], data[:5, 1], baseline=0, prior=ASSUMED_PEAKS)
    assert band.difference[1] == pytest.approx(without.by_setup[1].difference, rel=1e-9)


def ragged(band: DifferenceBand) -> float:
    """How far the width of the band jumps from one speed to the next, on average."""
    return float(np.mean(np.abs(np.diff(np.log(band.high - band.low)))))


def test_the_width_of_the_band_does_not_jump_from_bin_to_bin() -> None:
    grid = np.arange(4000.0, 7001.0, 50.0)
    rng = np.random.default_rng(3)
    data = 300.0 * (1.0 + rng.normal(0.0, 0.006, (6, grid.size)))
    alone = difference_curve(grid, data, range(6), ORDER, 0, 1, pooled_share=0.0)
    pooled = difference_curve(grid, data, range(6), ORDER, 0, 1)
    assert ragged(alone) > 0.25
    assert ragged(pooled) < 0.05


def test_pooling_what_errs_together_claims_nothing() -> None:
    """The same error in every bin: the width is that of a single bin."""
    errors = np.array([0.0, 0.3, -0.2, 0.25, -0.3, 0.1])
    data = 300.0 * (1.0 + 0.02 * errors[:, None] * np.ones(GRID.size))
    alone = difference_curve(GRID, data, range(6), ORDER, 0, 1, pooled_share=0.0)
    pooled = difference_curve(GRID, data, range(6), ORDER, 0, 1, pooled_share=1.0)
    assert pooled.low == pytest.approx(alone.low, rel=1e-9)


@pytest.mark.parametrize("noise", [NOISES[1], NOISES[3]])
def test_the_band_holds_the_truth_at_each_speed(noise: BinNoise) -> None:
    """The limits leave room for 100 sessions' Monte-Carlo error; the benchmark prints 94 % and
    more."""
    row = band_row("AABBA", noise, 100)
    assert row.covered >= 0.92
    assert row.worst >= 0.83


def test_the_order_of_the_rows_does_not_matter() -> None:
    data, rows = curves(), [3, 0, 5, 2, 1, 4]
    one = difference_curve(GRID, data, range(6), ORDER, 0, 1)
    other = difference_curve(GRID, data[rows], rows, np.array(ORDER)[rows], 0, 1)
    assert other.low == pytest.approx(one.low)


@pytest.mark.parametrize(("shape", "b"), [((5, GRID.size), 1), ((6, 3), 1), ((6, GRID.size), 4)])
def test_what_does_not_fit_together_is_refused(shape: tuple[int, int], b: int) -> None:
    with pytest.raises(ValueError, match=r"curves|set-ups"):
        difference_curve(GRID, np.ones(shape), range(6), ORDER, 0, b)


def test_mean_curves_of_different_days_differ_within_what_the_cell_reproduces() -> None:
    shape = 300.0 + 40.0 * np.sin((GRID - 4000.0) / 1000.0)
    rng = np.random.default_rng(2)
    before, after = (
        by * shape * (1.0 + rng.normal(0.0, 0.002, (6, GRID.size))) for by in (1.0, 1.03)
    )
    days = ["a", "a", "a", "b", "b", "b"]
    band = between_curve(GRID, (before, after), (days, days), Noise(0.5, 8.0, "cell history"))
    assert band.difference == pytest.approx(0.03 * shape, rel=0.15)
    half = (band.high - band.low) / 2.0 / shape
    # Two days a side: √(2 · 0.5²/2) = 0.5 % and a little for the repeats; t(8+) is about 2.3.
    assert half == pytest.approx(np.full(GRID.size, 0.0118), rel=0.1)


def half_of(scatter: float, pulls: int, between: Noise) -> float:
    """Half the band, log percent, of one day a side with so many pulls of this scatter."""
    up = 1.0 + scatter / 100.0
    one = np.outer([1.0, up][:pulls], np.full(GRID.size, 100.0))
    days = ["a"] * pulls
    band = between_curve(GRID, (one, one), (days, days), between)
    return 100.0 * float(np.log1p(band.high[0] / one.mean(axis=0)[0]))


def test_a_single_pull_a_day_scatters_though_nothing_was_repeated() -> None:
    """As for a score: two days and two pulls, the noise of a bin assumed (0.5 %)."""
    between = Noise(1.0, 2.0, "assumed")
    square, df = 2.0 * (1.0 + 0.25), (2.0 + 0.5) ** 2 / (2.0**2 / 2.0 + 0.5**2 / 2.0)
    expected = float(stats.t.ppf(0.975, df)) * np.sqrt(square)
    assert half_of(0.0, 1, between) == pytest.approx(expected, rel=1e-9)
    # Where the cell reproduces to nothing the pulls' own noise is all there is: t(2; 0.975).
    quiet = half_of(0.0, 1, Noise(1e-9, 50.0, "cell history"))
    assert quiet == pytest.approx(4.302652729911275 * np.sqrt(2.0 * 0.25), rel=1e-6)


def test_repeats_that_agree_by_luck_do_not_take_the_noise_away() -> None:
    """Two repeats a day that are all but equal, beside the assumption of the house."""
    quiet = Noise(1e-9, 50.0, "cell history")
    lucky, wild = half_of(0.001, 2, quiet), half_of(2.0, 2, quiet)
    # σ² = 2·0.5²/(2 + 2) of four degrees of freedom, over two pulls on each of two days.
    expected = float(stats.t.ppf(0.975, 4.0)) * np.sqrt(0.125)
    assert lucky == pytest.approx(expected, rel=1e-3)
    # Repeats worse than assumed stand alone: √2 % with two degrees of freedom.
    assert wild == pytest.approx(4.302652729911275 * np.sqrt(2.0), rel=0.02)


def test_mean_curves_must_be_positive_and_fit_their_days() -> None:
    one = np.full((2, GRID.size), 100.0)
    for curves_, days in ((one, ["a"]), (-one, ["a", "b"])):
        with pytest.raises(ValueError, match="positive curves"):
            between_curve(GRID, (curves_, one), (days, ["a", "b"]), Noise(1.0, 2.0, "assumed"))
