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


def test_a_single_pull_of_a_side_or_of_the_evidence_is_no_more_than_leaning() -> None:
    """As for every other difference: 20 % more, but told by one pull."""
    far = [(setup, 1.2 * score) for setup, score in [(NEW, 97.0), (NEW, 97.2), (NEW, 97.1)]]
    after, own = made("after", "0", "new", far), made("own", "0", "new", [
        (NEW, 117.0), (MIDDLE, 114.8), (MIDDLE, 114.9), (NEW, 116.9)])  # fmt: skip
    once = made("before", "0", "old", [(OLD, 90.0)])
    thin = made("sister", "1", "old", SISTER_PULLS[:2])
    twice = made("sister again", "1", "old", SISTER_PULLS[:2])

    def verdict(*visits: Visit) -> str:
        return attribute(across(after, own, *visits), SIDES, CHANGES, WANTED).verdict

    assert verdict(BEFORE, SISTER) == words.GAIN_SO_FAR
    assert verdict(once, SISTER) == words.LEANING
    assert verdict(BEFORE, thin) == words.LEANING
    assert verdict(BEFORE, thin, twice) == words.GAIN_SO_FAR


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


def seen(engine: str, worth: float, build: str = "old", session: str = "") -> Visit:
    """A session that found the carburetor to be worth this much, 100·ln."""
    level = {0: 88.0, 1: 88.0 * float(np.exp(worth / 100.0))}
    pulled = [(MIDDLE if way else OLD, level[way]) for way in (0, 0, 1, 1, 1, 0, 0)]
    return made(session or f"{engine} {build}", engine, build, pulled)


def spread(*visits: Visit) -> Noise:
    """How far the carburetor's worth carries, by these sessions."""
    family = across(*visits)
    return carrying(family, [lines_of(family, CHANGES[0], WANTED)])


def test_how_far_a_worth_carries_is_assumed_until_engines_have_shown_it() -> None:
    one = spread(seen("1", 2.0))
    assert (one.percent, one.degrees_of_freedom, one.source) == (0.4, 2.0, words.ASSUMED)
    agree = spread(seen("1", 2.0), seen("2", 2.0))
    assert agree.source == words.ASSUMED
    assert agree.percent < 0.4
    engines = [seen(str(k), float(k)) for k in range(1, 4)]
    apart = spread(*engines)
    family = across(*engines)
    errors = [one.worth.standard_error for one in lines_of(family, CHANGES[0], WANTED)]
    assert apart.source == words.FAMILY_HISTORY
    # Worths of 1, 2 and 3: their variance is 1, less what each was told to.
    assert apart.percent**2 == pytest.approx(1.0 - errors[0] ** 2, abs=1e-9)
    assert apart.degrees_of_freedom == 2.0


def test_one_difference_between_two_engines_does_not_overrule_the_assumption() -> None:
    two = spread(seen("1", 0.5), seen("2", 4.5))
    square = 8.0 - lines_of(across(seen("1", 0.5)), CHANGES[0], WANTED)[0].worth.standard_error ** 2
    assert (two.source, two.degrees_of_freedom) == (words.ASSUMED, 3.0)
    assert two.percent**2 == pytest.approx((2 * 0.4**2 + square) / 3)


def test_two_builds_of_one_sister_are_not_two_engines() -> None:
    """They say how well it was seen there, and nothing of how worths differ between engines."""
    twice = [seen("1", 2.0), seen("1", 3.4, "new")]
    assert spread(*twice) == spread(twice[0])
    # What one sister's builds have in common is carried over whole, however many they are.
    lines = lines_of(across(*twice), CHANGES[0], WANTED)
    assert len(lines) == 2
    assert pool(lines, 0.4).carried == pytest.approx(2.0)


def test_a_change_seen_in_two_sessions_of_an_engine_is_known_better_than_in_one() -> None:
    one = [seen(str(k), float(k)) for k in range(1, 4)]
    again = [seen(str(k), float(k), session=f"{k} again") for k in range(1, 4)]
    (line, *_) = lines_of(across(*one), CHANGES[0], WANTED)
    square = line.worth.standard_error**2
    assert spread(*one).percent ** 2 == pytest.approx(1.0 - square)
    assert spread(*one, *again).percent ** 2 == pytest.approx(1.0 - square / 2.0)


def test_steps_that_share_days_are_not_taken_for_two_findings() -> None:
    """Two surroundings on the same two days: whatever those days did is in both steps."""
    header = [setup.with_levels({"header": Level("4-1")}) for setup in (OLD, MIDDLE)]
    visits = []
    for k in range(1, 4):
        up = float(np.exp(k / 100.0))
        visits.append(made(f"{k} first", str(k), "old", [(OLD, 88.0), (header[0], 89.0)] * 2))
        visits.append(made(f"{k} then", str(k), "old",
                           [(MIDDLE, 88.0 * up), (header[1], 89.0 * up)] * 2))  # fmt: skip
    lines = lines_of(across(*visits), CHANGES[0], WANTED)
    assert len(lines) == 6
    assert all(line.between_days for line in lines)
    # Each engine's mean still holds the whole of √2 times what the cell reproduces.
    assert spread(*visits).percent ** 2 < 1.0 - 2.0 * BETWEEN.percent**2


def test_a_sisters_session_does_not_silence_the_engines_own_days() -> None:
    then = made("another day", "0", "new", [(MIDDLE, 95.6), (MIDDLE, 95.7)])
    visits = (AFTER, then, seen("1", 2.0))
    fuel = lines_of(across(*visits, made("sister fuel", "1", "old", [
        (MIDDLE, 90.0), (NEW, 91.8), (NEW, 91.7), (MIDDLE, 90.1),
    ])), CHANGES[1], WANTED)  # fmt: skip
    assert [(line.engine, line.own, line.between_days) for line in fuel] == [
        ("1", False, False),
        ("0", True, True),
    ]


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


# Days and pulls that leave little open: what worths differ by between engines is all there is to
# the band, and a band without it holds the truth in two of three histories.
QUIET = Shop(days=0.1, noise=0.1, resetting=0.05, own_fuel=False, builds=2)


@pytest.mark.parametrize("shop", [Shop(), QUIET])
def test_the_interval_of_the_rest_holds_the_truth_as_often_as_it_says(shop: Shop) -> None:
    # The whole table: python -m tests.benchmarks.honest_attribution.
    share, error, _ = coverage(shop, 100)
    assert share >= 93.0 - 2.0 * error


def test_a_history_without_the_engines_own_evidence_says_so() -> None:
    rng = np.random.default_rng(1)
    assert told(Shop(own_fuel=False), rng).members[1].lines[0].own is False
