"""Pooled evidence and combined uncertainty against printed values and an independent library."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from logbook.verdict.evidence import between_engines
from logbook.verdict.visits import welch

# Thirteen trials of one vaccine (Colditz et al. 1994, JAMA 271:698–702, table 1): ill and not ill
# among the treated, ill and not ill among the others. The table is quoted from memory; the printed
# results below would not come out if a figure of it were wrong.
TRIALS = np.array([
    (4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619),
    (33, 5036, 47, 5761), (180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892),
    (29, 7470, 45, 7232), (17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
], dtype=np.float64)  # fmt: skip


def log_risk_ratios() -> tuple[list[float], list[float]]:
    """The logarithm of each trial's risk ratio and its variance."""
    ill, well, ill_other, well_other = TRIALS.T
    treated, others = ill + well, ill_other + well_other
    values = np.log(ill / treated) - np.log(ill_other / others)
    variances = 1.0 / ill - 1.0 / treated + 1.0 / ill_other - 1.0 / others
    return values.tolist(), variances.tolist()


def test_variance_between_trials_as_printed() -> None:
    """Viechtbauer (2010), Journal of Statistical Software 36(3), these trials by the
    DerSimonian–Laird estimator: 0.3088 (from memory)."""
    variance, df = between_engines([log_risk_ratios()])
    assert variance == pytest.approx(0.3088, abs=5e-5)
    assert df == 12


def test_variance_between_trials_as_an_independent_library_has_it() -> None:
    values, variances = log_risk_ratios()
    known = combine_effects(np.array(values), np.array(variances), method_re="dl")
    assert between_engines([(values, variances)])[0] == pytest.approx(known.tau2, rel=1e-9)


def test_effective_degrees_of_freedom_as_printed() -> None:
    """ISO/IEC Guide 98-3, G.4.1, example: three inputs read 10, 5 and 15 times with relative
    uncertainties of 0.25, 0.57 and 0.82 %; combined 1.03 %, 19.0 effective degrees of freedom."""
    variance, df = welch([(0.25**2, 9.0), (0.57**2, 4.0), (0.82**2, 14.0)])
    assert np.sqrt(variance) == pytest.approx(1.03, abs=5e-3)
    assert df == pytest.approx(19.0, abs=0.05)
