"""A short run of the fault benchmark, and two programs on one book while a third searches."""

from __future__ import annotations

from collections import Counter

from tests.benchmarks import faults, two_programs
from tests.benchmarks.fault_kinds import FAULTS


def test_sixty_faults_lose_nothing() -> None:
    tally = faults.run(60, seed=20260314, most_pulls=12)
    assert tally.lost == []
    assert set(tally.tried) == set(FAULTS)
    landed: Counter[str] = Counter()
    for kind in FAULTS:
        landed += tally.landed[kind] if "SIGKILL" in kind else Counter()
    assert landed["in commit"] > 0
    assert landed["in change"] > 0
    assert tally.landed["full disk"]["refused"] > 0


def test_two_programs_that_log_while_a_third_searches_see_no_error() -> None:
    result = two_programs.run(40)
    assert result.errors == ()
    assert result.lost == ()
    assert result.pulls == 80
    assert result.searches > 1
