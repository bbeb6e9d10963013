"""The judgement against printed and independently recomputed values.

Where the published method has neither prior nor drift both are off.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import scipy
from scipy.special import stdtrit

from logbook.verdict import advice, difference
from logbook.verdict.fit import Fit, fit
from logbook.verdict.noise import FREE_DRIFT, NO_WANDER, pooled
from logbook.verdict.timing import TimingFit, fit_timing, timing_pulls
from logbook.verdict.timing_trust import judge_timing
from tests.published import nist_strd


def polynomial(x: Sequence[float], y: Sequence[float], degree: int) -> tuple[np.ndarray, Fit]:
    """A polynomial by the one fit, x scaled to 1 before and coefficients scaled back after."""
    scaled = np.asarray(x) / np.max(x)
    columns = np.vander(scaled, degree + 1, increasing=True)
    fitted = fit(
        np.arange(len(x)), columns, np.asarray(y)[:, None],
        drift_sd=0.0, resetting_sd=0.0, run=np.arange(len(x)),
    )  # fmt: skip
    return fitted.plain[:, 0] / float(np.max(x)) ** np.arange(degree + 1), fitted


def residual_sd(fitted: Fit) -> float:
    return float(np.sqrt(np.sum(fitted.turned**2) / fitted.own_df))


def test_repeatability_within_sets_as_nist_certifies_it() -> None:
    """NIST StRD SiRstv, "Certified Residual Standard Deviation"; ships in the scipy wheel."""
    path = Path(scipy.__file__).parent / "stats/tests/data/nist_anova/SiRstv.dat"
    rows = [line.split() for line in path.read_text().splitlines()[60:] if line.split()]
    instrument, resistance = zip(*((int(a), float(b)) for a, b in rows), strict=True)
    found = pooled(resistance, instrument)
    assert found.s == pytest.approx(nist_strd.SIRSTV_WITHIN_SD, rel=1e-13)
    assert found.degrees_of_freedom == 20


def test_pooled_repeatability_of_three_set_ups() -> None:
    """Recomputed with an independent library (ISO 5725-2 method)."""
    scores = [512.4, 513.1, 511.8, 515.0, 514.2, 515.6, 509.9, 511.0, 510.3, 510.6]
    found = pooled(scores, [0] * 3 + [1] * 3 + [2] * 4)
    assert found.s == pytest.approx(0.595618926, abs=5e-10)
    assert found.degrees_of_freedom == 7
    # √2 · t(7; 0.975) · s_r, recomputed: 1.41421356 · 2.36462425 · 0.595618926.
    assert found.limit == pytest.approx(1.99179953, abs=5e-9)


def test_load_cell_calibration_as_nist_certifies_it() -> None:
    """NIST StRD Pontius: quadratic, average difficulty; printed to 15 digits. The deflections go up
    to 2, so doubles carry the intercept of 0.0007 to 4·10⁻¹³ of itself and the rest to 10⁻¹⁴."""
    coefficients, fitted = polynomial(*nist_strd.PONTIUS, degree=2)
    assert coefficients[0] == pytest.approx(nist_strd.PONTIUS_CERTIFIED[0], rel=1e-12)
    assert coefficients[1:] == pytest.approx(nist_strd.PONTIUS_CERTIFIED[1:], rel=1e-13)
    assert residual_sd(fitted) == pytest.approx(nist_strd.PONTIUS_RESIDUAL_SD, rel=1e-12)


def test_line_as_nist_certifies_it() -> None:
    """NIST StRD Norris: line, lower difficulty."""
    coefficients, fitted = polynomial(*nist_strd.NORRIS, degree=1)
    assert coefficients == pytest.approx(nist_strd.NORRIS_CERTIFIED, rel=1e-12)
    assert residual_sd(fitted) == pytest.approx(nist_strd.NORRIS_RESIDUAL_SD, rel=1e-12)


# Brinkman (1981), SAE Trans. 90, as in Cleveland, Visualizing Data (1993): a single-cylinder
# engine on ethanol, nitrogen oxides against equivalence ratio. Not torque: a check of the
# mathematics. Rows with 0.78–1.05 of two compression ratios.
ETHANOL = {
    7.5: (
        (1.009, 1.006, 1.045, 0.878, 0.811, 0.911, 0.808, 0.892, 1.002, 0.899, 0.795),
        (2.845, 2.836, 2.157, 3.206, 2.471, 3.536, 2.202, 3.656, 2.964, 3.488, 2.064),
    ),
    9.0: (
        (1.001, 0.808, 0.893, 0.868, 0.872, 1.030),
        (3.120, 3.148, 3.567, 3.423, 3.519, 2.581),
    ),
}


def plain(x: Sequence[float], y: Sequence[float]) -> TimingFit:
    """The top of a parabola through all points, nothing assumed."""
    pulls = timing_pulls(np.arange(len(x)), x, y, prior=None, wander=NO_WANDER)
    return fit_timing(pulls, near_percent=None)


def delta_interval(found: TimingFit) -> tuple[float, float]:
    assert found.best_deg is not None
    assert found.standard_error is not None
    half = float(stdtrit(found.degrees_of_freedom, 0.975)) * found.standard_error
    return found.best_deg - half, found.best_deg + half


@pytest.mark.parametrize(
    ("ratio", "top", "delta", "fieller"),
    [
        (7.5, 0.922300966, (0.917682630, 0.926919301), (0.917734388, 0.927060905)),
        (9.0, 0.899570006, (0.879918557, 0.919221456), (0.866744822, 0.915099459)),
    ],
)
def test_top_of_a_parabola_on_a_real_engine(
    ratio: float, top: float, delta: tuple[float, float], fieller: tuple[float, float]
) -> None:
    """Recomputed with an independent library on the published data."""
    found = plain(*ETHANOL[ratio])
    assert found.best_deg == pytest.approx(top, abs=5e-9)
    assert delta_interval(found) == pytest.approx(delta, abs=5e-9)
    assert found.interval_deg == pytest.approx(fieller, abs=5e-9)


def test_best_timing_of_a_constructed_sweep() -> None:
    """Constructed; recomputed with an independent library."""
    torque = [488.9, 493.6, 497.2, 499.1, 500.4, 499.8, 498.3, 494.9]
    found = plain(range(24, 39, 2), torque)
    assert found.best_deg == pytest.approx(32.3563636, abs=5e-8)
    assert delta_interval(found) == pytest.approx((32.22329994, 32.48942733), abs=5e-9)
    assert found.interval_deg == pytest.approx((32.22715891, 32.49381832), abs=5e-9)
    assert found.greatest == pytest.approx(500.263645, abs=5e-7)
    assert found.least_deg == pytest.approx(29.884055, abs=5e-7)


def test_a_best_that_the_pulls_do_not_identify() -> None:
    """Constructed: Fieller's set is the whole line."""
    found = plain([28, 30, 32, 34], [499.8, 500.3, 500.1, 500.0])
    assert found.best_deg is None
    assert found.interval_deg == (None, None)
    assert found.why_not.startswith("Not bracketed")


def test_propane_sweep_of_a_real_engine() -> None:
    """A real single-cylinder research engine on propane, 1100 rpm (university exercise, 2025),
    typed in as five steady points."""
    torque = [32.196, 33.470, 32.086, 28.611, 23.209]
    pulls = timing_pulls(np.arange(1, 6), [0, 10, 20, 30, 40], torque)
    answer = judge_timing(pulls, near_percent=None)
    assert answer.fit.best_deg == pytest.approx(9.65, abs=0.005)
    assert answer.fit.greatest == pytest.approx(33.30, abs=0.005)
    assert not answer.trusted
    assert answer.doubts[0].text.startswith("Steps of 10° do not deserve so tight an interval")
    x = np.array([0, 10, 20, 30, 40]) / 10.0
    _, fitted = polynomial(list(x), torque, degree=2)
    total = np.sum((np.array(torque) - np.mean(torque)) ** 2)
    assert 1.0 - np.sum(fitted.turned**2) / total == pytest.approx(0.999, abs=5e-4)


def test_repeats_of_the_propane_engine() -> None:
    """The same exercise: three repeats of one setting, N·m."""
    found = pooled([33.390, 33.586, 33.693], [0, 0, 0])
    assert found.s == pytest.approx(0.154, abs=5e-4)
    assert 100.0 * found.s / np.mean([33.390, 33.586, 33.693]) == pytest.approx(0.46, abs=5e-3)


def test_bracket_with_drift() -> None:
    """Constructed; recomputed with an independent library. Drift is one more unknown."""
    judged = difference.judge(
        [0, 4, 8, 16, 20, 24, 32, 36, 40],
        [0, 0, 0, 1, 1, 1, 0, 0, 0],
        [512.4, 513.1, 511.8, 515.0, 514.2, 515.6, 509.9, 510.6, 509.3],
        baseline=0, prior=None, wander=FREE_DRIFT,
    )  # fmt: skip
    change = judged.by_setup[1]
    assert float(np.mean(judged.scores[3:6]) - np.mean(judged.scores[:3])) == pytest.approx(2.5)
    assert change.difference == pytest.approx(3.75, abs=1e-9)
    assert change.standard_error == pytest.approx(0.489472505, abs=5e-10)
    assert change.interval == pytest.approx((2.552304, 4.947696), abs=5e-7)
    assert judged.drift.percent_per_pull * judged.base / 100.0 == pytest.approx(-0.075, abs=1e-9)
    t = judged.drift.percent_per_pull / judged.drift.standard_error
    from scipy.special import stdtr

    assert 2.0 * stdtr(6, -abs(t)) == pytest.approx(0.00468, abs=5e-6)


def test_pulls_per_set_up_that_resolve_a_difference() -> None:
    """Recomputed with an independent library: power of Student's two-sample test, 80 %."""
    assert advice.pulls_per_setup(1.0, 1.0) == 17
    assert advice.pulls_per_setup(2.0, 1.0) == 6
    # Nine pulls make the half width of the interval as small as the difference: a coin's toss.
    assert [float(stdtrit(2 * n - 2, 0.975) * np.sqrt(2 / n)) <= 1.0 for n in (8, 9)] == [
        False,
        True,
    ]
    assert advice.power(1.0, np.sqrt(2.0 / 9.0), 16.0, 0.95) == pytest.approx(0.51, abs=0.005)
