"""A short run of the fuzz benchmark: broken files, sheets and queries at the doors."""

from __future__ import annotations

import pytest

from logbook.intake import apart
from tests.benchmarks import fuzz


def test_four_hundred_broken_inputs_are_taken_whole_or_refused_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(apart, "TIME_S", 3.0)
    tally = fuzz.run(400, seed=20260314)
    assert tally.failed == []
    assert set(tally.tried) == set(fuzz.SHARES)
    assert all(tally.taken[kind] for kind in fuzz.SHARES)
