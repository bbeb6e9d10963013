"""Far from the best the advice neither learns nor sends anybody."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.verdict.bounds import Bounds
from logbook.verdict.next_timing import next_timing
from logbook.verdict.timing import timing_pulls


@pytest.mark.parametrize("start", [20.0, 30.0, 36.0])
def test_no_pull_is_advised_that_is_expected_to_lose_more_than_the_fit_would_use(
    start: float,
) -> None:
    """Bounds as wide as somebody's earlier sweep left them: 0–60°."""
    timings = [28.0, 30.0, 32.0]
    torque = [100.0 - 0.04 * (t - 30.0) ** 2 for t in timings]
    advice = next_timing(
        timing_pulls([1, 2, 3], timings, torque), Bounds(0.0, 60.0, "", (), 60.0),
        present_deg=start, stop_below_percent=0.0,
    )  # fmt: skip
    assert advice.next_deg is not None
    assert abs(advice.next_deg - 30.0) <= 12.0


def test_pulls_far_down_do_not_move_the_choice() -> None:
    timings = np.array([26.0, 28.0, 30.0, 32.0, 34.0])
    torque = 100.0 - 0.04 * (timings - 30.0) ** 2
    bounds = Bounds(20.0, 40.0, "", (), 40.0)
    near = next_timing(timing_pulls(range(1, 6), timings, torque), bounds, present_deg=30.0)
    far = next_timing(
        timing_pulls(range(1, 8), [*timings, 5.0, 60.0], [*torque, 80.0, 55.0]), bounds,
        present_deg=30.0,
    )  # fmt: skip
    assert far.now_deg == near.now_deg
