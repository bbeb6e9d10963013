"""What a rebuild was worth when a fuel and a carburetor came with it: shares, bounds, honesty."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.meta_analysis import combine_effects

from logbook.records.setup import Level, SetUp
from logbook.verdict import words
from logbook.verdict.attribution import Attribution, attribute
from logbook.verdict.evidence import Line, Wanted, carrying, lines_of, pool
from logbook.verdict.noise import Noise
from logbook.verdict.visits import Across, Visit, percent_of, visit
from tests.benchmarks.family_of_known_truth import CHANGES, MIDDLE, NEW, OLD, WANTED, Shop, told
from tests.benchmarks.honest_attribution import coverage

BETWEEN = Noise(0.5, 6.0, words.CELL_HISTORY)
Pulled = list[tuple[SetUp, float]]


def made(name: str, engine: str, build: str, pulled: Pulled) -> Visit:
    """A session whose pulls scored just so."""
    setups = list({id(setup): setup for setup, _ in pulled}.values())
    return visit(
        name,
        engine,
        build,
        "cell",
        np.arange(len(pulled)) + 1,
        [setups.index(setup) for setup, _ in pulled],
        [score for _, score in pulled],
        dict(enumerate(setups)),
    )


def across(*visits: Visit) -> Across:
    """These sessions in one cell."""
    return Across({one.session: one for one in visits}, {"cell": BETWEEN}, Noise(0.4, 2.0, ""))


BEFORE = made("before", "0", "old", [(OLD, 90.0), (OLD, 90.2), (OLD, 90.1)])
AFTER = made("after", "0", "new", [(NEW, 97.0), (NEW, 97.2), (NEW, 97.1)])
SISTER_PULLS = [(OLD, 88.0), (MIDDLE, 90.2), (MIDDLE, 90.3), (OLD, 88.1)]
SISTER = made("sister", "1", "old", SISTER_PULLS)
OWN = made("own", "0", "new", [(NEW, 97.5), (MIDDLE, 95.6), (MIDDLE, 95.7), (NEW, 97.4)])
SIDES = ({"before": 0}, {"after": 0, "own": 0})


def attributed(*visits: Visit, **more: object) -> Attribution:
    return attribute(across(BEFORE, AFTER, OWN, *visits), SIDES, CHANGES, WANTED, **more)  # type: ignore[arg-type]


def test_the_rest_is_the_total_less_what_was_seen_alone() -> None:
    found = attributed(SISTER)
    carburetor, fuel = (member.worth for member in found.members)
    assert carburetor is not None
    assert fuel is not None
    total = carburetor.log_percent + fuel.log_percent + found.rest.log_percent
    assert total == pytest.approx(found.total.log_percent, abs=1e-10)
    assert carburetor.percent == pytest.approx(2.5, abs=0.1)
    assert fuel.percent == pytest.approx(1.9, abs=0.1)
    assert found.rest.percent == pytest.approx(100.0 * (97.25 / 90.1 / 1.025 / 1.019 - 1), abs=0.2)
    assert found.told
    assert found.alone.at_least == found.rest.interval_log[0]


def test_evidence_names_its_engine_its_session_and_whether_it_is_the_engines_own() -> None:
    by_sister, own = attributed(SISTER).members
    assert [(line.engine, line.sessions, line.own) for line in by_sister.lines] == [
        ("1", ("sister",), False)
    ]
    assert [(line.engine, line.sessions, line.own) for line in own.lines] == [("0", ("own",), True)]


def test_what_a_sister_showed_is_less_sure_on_this_engine() -> None:
    by_sister, own = attributed(SISTER).members
    assert by_sister.worth is not None
    assert own.worth is not None
    alone = by_sister.lines[0].worth.standard_error
    # Its own difference from the family, and this engine's.
    assert by_sister.worth.standard_error**2 == pytest.approx(alone**2 + 2 * 0.4**2)
    assert own.worth.standard_error == pytest.approx(own.lines[0].worth.standard_error)


def test_another_surrounding_of_the_engine_itself_counts_as_another_engine() -> None:
    other = [setup.with_levels({"header": Level("4-1")}) for setup in (NEW, MIDDLE)]
    visited = made("header", "0", "new", [(other[0], 97.5), (other[1], 95.6), (other[0], 97.4)])
    (line,) = lines_of(across(visited), CHANGES[1], WANTED)
    assert not line.own


def test_a_change_without_evidence_keeps_its_share_and_bounds_the_rest() -> None:
    found = attributed()
    assert [change.factor for change in found.untold] == ["carburetor"]
    assert not found.told
    assert found.members[0].worth is None
    # Nothing is known of it: a rebuild may be worth anything below the rest's upper end.
    assert found.alone.at_least == -np.inf
    assert found.alone.at_most == found.rest.interval_log[1]
    assumed = attributed(assumed={"carburetor": (1.0, 3.0)})
    low, high = assumed.rest.interval_log
    assert percent_of(low - assumed.alone.at_least) == pytest.approx(3.0)
    assert percent_of(high - assumed.alone.at_most) == pytest.approx(1.0)
    assert assumed.alone.assumed == (("carburetor", 1.0, 3.0),)


def test_days_apart_serve_where_no_session_has_both() -> None:
    first = made("first", "1", "old", [(OLD, 88.0), (OLD, 88.2)])
    second = made("second", "1", "old", [(MIDDLE, 90.2), (MIDDLE, 90.3)])
    (line,) = lines_of(across(first, second), CHANGES[0], WANTED)
    assert line.between_days
    assert line.worth.standard_error > np.sqrt(2.0) * BETWEEN.percent
    (within,) = lines_of(across(first, second, SISTER), CHANGES[0], WANTED)
    assert not within.between_days


def test_pulls_that_both_sides_share_cancel() -> None:
    # The fuel's worth is taken from the very pulls that the total ends in: their error is in the
    # rest once only, and adding the session of the other fuel alone would have been the same.
    found = attributed(SISTER)
    parts = [found.total, *(member.worth for member in found.members)]
    apart = sum(part.standard_error**2 for part in parts if part is not None)
    assert found.rest.standard_error**2 < apart


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0.01, 1.0), st.booleans(), st.integers(1, 3)), min_size=1, max_size=6
    ),
    st.floats(0.0, 2.0),
)
def test_shares_add_up_and_more_spread_is_never_surer(
    given_lines: list[tuple[float, bool, int]], spread: float
) -> None:
    lines = [line(0.0, se, own=own, engine=str(number)) for se, own, number in given_lines]
    pooled = pool(lines, spread)
    assert sum(pooled.shares) == pytest.approx(1.0, abs=1e-6)
    assert pooled.carried >= 0.0
    if not any(one.own for one in lines):
        assert pooled.carried >= 1.0 + 1.0 / len(lines) - 1e-6
    if all(one.own for one in lines):
        assert pooled.carried == pytest.approx(0.0, abs=1e-6)


def line(value: float, se: float, *, own: bool = False, engine: str = "1") -> Line:
    """A line of evidence with this worth."""
    (found,) = lines_of(across(SISTER), CHANGES[0], WANTED)
    worth = replace(found.worth, log_percent=value, standard_error=se)
    return replace(found, own=own, engine=engine, worth=worth)


def test_sisters_alone_are_pooled_as_an_independent_library_pools_them() -> None:
    values, errors = [2.1, 2.9, 2.4, 3.3], [0.2, 0.3, 0.25, 0.4]
    lines = [line(v, e, engine=str(k)) for k, (v, e) in enumerate(zip(values, errors, strict=True))]
    known = combine_effects(np.array(values), np.array(errors) ** 2, method_re="dl")
    pooled = pool(lines, float(np.sqrt(known.tau2)))
    assert known.tau2 > 0.0
    assert pooled.shares == pytest.approx(known.weights_rel_re, rel=1e-9)
    mean = float(np.dot(pooled.shares, values))
    assert mean == pytest.approx(known.mean_effect_re, rel=1e-9)


def test_how_far_a_worth_carries_is_assumed_until_engines_have_shown_it() -> None:
    one = carrying([[line(2.0, 0.1)]])
    assert (one.percent, one.degrees_of_freedom, one.source) == (0.4, 2.0, words.ASSUMED)
    agree = carrying([[line(2.0, 0.1, engine="1"), line(2.0, 0.1, engine="2")]])
    assert agree.source == words.ASSUMED
    assert agree.percent < 0.4
    apart = carrying([[line(float(k), 0.1, engine=str(k)) for k in range(3)]])
    assert apart.source == words.FAMILY_HISTORY
    assert apart.percent == pytest.approx(1.0, abs=0.01)
    assert apart.degrees_of_freedom == 2.0


@settings(max_examples=25, deadline=None)
@given(st.floats(0.5, 2.0), st.floats(0.5, 2.0))
def test_what_a_session_reads_high_is_no_part_of_its_evidence(a: float, b: float) -> None:
    def scaled(by: float) -> Visit:
        return made("sister", "1", "old", [(setup, by * score) for setup, score in SISTER_PULLS])

    found = [attributed(scaled(by)).rest for by in (a, b)]
    assert found[0].log_percent == pytest.approx(found[1].log_percent, abs=1e-9)
    assert found[0].standard_error == pytest.approx(found[1].standard_error, abs=1e-9)


def test_measured_the_other_way_round_everything_changes_its_sign() -> None:
    back = [replace(change, old=change.new, new=change.old) for change in CHANGES]
    wanted = Wanted(WANTED.places, NEW, OLD)
    forth = attributed(SISTER)
    turned = attribute(across(BEFORE, AFTER, OWN, SISTER), SIDES[::-1], back, wanted)
    assert turned.rest.log_percent == pytest.approx(-forth.rest.log_percent, abs=1e-9)
    assert turned.rest.standard_error == pytest.approx(forth.rest.standard_error, abs=1e-9)


def test_the_interval_of_the_rest_holds_the_truth_as_often_as_it_says() -> None:
    # The whole table: python -m tests.benchmarks.honest_attribution.
    share, error, _ = coverage(Shop(), 120)
    assert share >= 93.0 - 2.0 * error
    rng = np.random.default_rng(1)
    assert told(Shop(own_fuel=False), rng).members[1].lines[0].own is False
