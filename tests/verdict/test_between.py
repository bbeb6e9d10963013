"""Between sessions and builds: reproducibility, what is not controlled, conditioning pulls."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.verdict.between import (
    Circumstances,
    Side,
    compare_sessions,
    conditioning,
    reproducibility,
)
from logbook.verdict.noise import Noise
from logbook.verdict.visits import welch

QUIET = Noise(0.15, 6.0, "this session")


def test_without_history_one_per_cent_is_assumed_and_said() -> None:
    found = reproducibility([88.0, 91.0], ["build 1", "build 2"])
    assert (found.percent, found.degrees_of_freedom, found.source) == (1.0, 2.0, "assumed")


def test_pairs_of_sessions_that_should_have_agreed_give_the_cells_own_figure() -> None:
    means = [100.0, 100.8, 90.0, 90.4, 95.0, 94.6, 80.0, 80.2]
    found = reproducibility(means, ["a", "a", "b", "b", "c", "c", "d", "d"])
    logs = 100.0 * np.log(means)
    by_hand = np.sqrt(np.mean([(logs[k] - logs[k + 1]) ** 2 / 2.0 for k in (0, 2, 4, 6)]))
    assert found.percent == pytest.approx(by_hand)
    assert (found.degrees_of_freedom, found.source) == (4.0, "cell history")


def test_a_single_pair_is_weighed_with_the_assumption_unless_it_is_worse() -> None:
    near = reproducibility([100.0, 100.2], ["a", "a"])
    far = reproducibility([100.0, 104.0], ["a", "a"])
    assert (near.source, near.degrees_of_freedom) == ("assumed", 3.0)
    assert near.percent < 1.0
    assert (far.source, far.degrees_of_freedom) == ("cell history", 1.0)
    assert far.percent > 2.0


def test_a_rebuild_of_one_per_cent_is_not_settled_across_days() -> None:
    found = compare_sessions(Side(88.0, 4, QUIET), Side(88.9, 4, QUIET), Noise(1.0, 2.0, "assumed"))
    assert found.verdict == "not settled"
    assert found.percent == pytest.approx(1.0227, abs=1e-4)
    assert found.difference == pytest.approx(0.9)
    assert found.interval_percent[0] < -2.0 < 4.0 < found.interval_percent[1]
    assert "1.00 % (assumed)" in found.reason


def test_a_cell_known_to_reproduce_well_settles_a_large_one_but_never_finally() -> None:
    steady = Noise(0.4, 12.0, "cell history")
    found = compare_sessions(Side(88.0, 3, QUIET), Side(91.0, 3, QUIET), steady)
    assert found.verdict == "gain so far"
    single = compare_sessions(Side(88.0, 3, QUIET), Side(91.0, 1, QUIET), steady)
    assert single.verdict == "leaning"


def test_what_else_differs_is_listed() -> None:
    here = Circumstances("North", "water brake", "drum 12", "20W-50")
    there = Circumstances("South", "eddy current", "drum 9", "10W-40", broken_in=False)
    found = compare_sessions(
        Side(88.0, 3, QUIET), Side(89.0, 3, QUIET), Noise(1.0, 2.0, "assumed"),
        circumstances=(here, there),
    )  # fmt: skip
    assert found.uncontrolled == (
        "another cell", "another absorber", "another fuel batch", "another oil",
        "pulls before break-in ended",
    )  # fmt: skip
    assert "Not controlled: another cell" in found.reason


def test_sides_without_pulls_are_refused() -> None:
    with pytest.raises(ValueError, match="needs a pull"):
        compare_sessions(Side(88.0, 0, QUIET), Side(89.0, 1, QUIET), QUIET)


@pytest.mark.parametrize(
    ("scores", "count"),
    [
        ([100.0], 0),
        ([100.0, 100.4, 100.5], 0),
        ([97.0, 99.0, 100.0, 100.2], 2),
        ([97.0, 98.0, 99.0], 3),
        ([], 0),
    ],
)
def test_pulls_before_two_agree_are_conditioning(scores: list[float], count: int) -> None:
    assert conditioning(scores, 0.3) == count


@pytest.mark.parametrize("unknown", [float("nan"), float("inf")])
@pytest.mark.parametrize("place", [0, 1, 2])
def test_a_variance_that_is_not_known_is_not_left_out_of_the_sum(
    unknown: float, place: int
) -> None:
    """Wherever it stands: nothing is known of the sum, and its interval holds everything."""
    parts = [(0.04, 6.0), (1.0, 2.0)]
    parts.insert(place, (unknown, 4.0))
    assert welch(parts) == (np.inf, 0.0)


def test_a_side_without_any_noise_figure_gets_no_verdict() -> None:
    silent = Noise(float("nan"), 0.0, "this session")
    found = compare_sessions(Side(100.0, 3, QUIET), Side(120.0, 1, silent), QUIET)
    assert found.interval == (-np.inf, np.inf)
    assert (found.degrees_of_freedom, found.p_value) == (0.0, 1.0)
    assert found.verdict == "leaning"
    pair = compare_sessions(Side(100.0, 3, QUIET), Side(120.0, 2, silent), QUIET)
    assert pair.verdict == "not settled"
