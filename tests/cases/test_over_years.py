"""An engine over the years: what a measure's values say, and what they do not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from logbook.cases.desk import Desk, open_desk
from logbook.cases.engines import add_engine
from logbook.cases.inspections import add_inspection
from logbook.cases.over_years import Series, judge_series, over_years
from logbook.cases.pulls import new_air
from logbook.cases.sessions import open_session
from logbook.cases.year_points import MEASURES, Point
from tests.cases.conftest import Shop


@pytest.fixture
def demo_desk(built_demo: Path) -> Iterator[Desk]:
    """The demo book, only read."""
    desk = open_desk(built_demo, who="KL")
    yield desk
    desk.close()


BLOW_BY = next(measure for measure in MEASURES if measure.key == "blow-by")


def series(values: Sequence[float], builds: Sequence[str] = ()) -> Series:
    """Blow-by of one session a month."""
    named = builds or ["build 1"] * len(values)
    points = [
        Point(f"{day}T00:00:00Z", day, named[n], f"s{n}", value)
        for n, value in enumerate(values)
        for day in [f"{2024 + n // 12}-{n % 12 + 1:02d}-01"]
    ]
    return judge_series(BLOW_BY, points, [("HC-4B", points[:2]), ("HC-4C", [])])


def test_a_sudden_blow_by_is_beyond_its_limits_and_speaks_for_wear() -> None:
    found = series([5.0, 5.1, 4.9, 5.0, 5.1, 5.0, 7.5])
    assert (found.state, found.worse, found.sign) == ("beyond", True, "⚠")
    better = series([5.0, 5.1, 4.9, 5.0, 5.1, 5.0, 2.5])
    assert (better.state, better.worse) == ("beyond", False)
    assert [(s.tag, s.last, s.count) for s in found.sisters] == [("HC-4B", 5.1, 2)]


def test_a_step_too_wide_is_said_though_both_values_are_within_the_limits() -> None:
    values = [5.0, 5.1] * 8 + [4.84, 5.27]
    found = series(values)
    assert not found.chart.beyond
    assert (found.state, found.worse, found.sign) == ("jumped", True, "⚠")
    assert found.sentence == "the last value lies farther from the one before than chance explains"
    better = series([10.0 - value for value in values])
    assert (better.state, better.worse) == ("jumped", False)


def test_the_step_back_from_a_wild_value_is_no_warning() -> None:
    found = series([*[5.1, 5.0] * 7, 7.5, 5.05])
    assert found.chart.jumps == (14, 15)
    assert found.state == "steady"
    assert found.sentence == "within its limits now, beyond them on 2025-03-01"


def test_a_slow_rise_is_a_trend_with_its_interval_a_year() -> None:
    found = series([5.0, 5.09, 5.13, 5.22, 5.27, 5.37])
    assert (found.state, found.worse, found.sign) == ("trend", True, "↗")
    assert found.trend is not None
    assert found.trend.low <= 12 * 0.07 <= found.trend.high


def test_a_build_is_held_against_itself_and_a_rebuild_is_no_step() -> None:
    worn = [9.0, 9.2, 9.1]
    rebuilt = [5.0, 5.1, 4.9]
    found = series(worn + rebuilt, ["build 1"] * 3 + ["build 2"] * 3)
    assert found.chart.center == pytest.approx(5.0)
    assert found.chart.mean_range == pytest.approx((0.2 + 0.1 + 0.1 + 0.2) / 4)
    assert found.state == "steady", "halved blow-by is the rebuild, and nothing to be warned of"
    assert found.trend is None or found.trend.word == "no trend shown"
    alone = series([*worn, 9.0, 9.1, 5.0], ["build 1"] * 5 + ["build 2"])
    assert alone.state == "few"
    assert alone.sentence == "the first value of build 2: nothing yet to set it against"


def test_no_limit_lies_where_no_value_can() -> None:
    found = series([0.4, 1.6, 0.3, 1.5, 0.2, 1.4])
    assert found.chart.low == 0.0


def test_a_handful_of_values_is_said_to_be_too_few() -> None:
    found = series([5.0, 9.0])
    assert (found.state, found.worse) == ("few", False)
    assert found.sentence == "limits need 4 steps within a build; there are 1"


def test_powers_of_two_standards_do_not_stand_beside_each_other(demo_desk: Desk) -> None:
    found = over_years(demo_desk, "RB-8")
    power = next(one for one in found.series if one.measure.key == "power")
    assert found.standard == "sae-j1349"
    assert len(power.points) == 4
    assert {best.standard for best in found.builds} == {"sae-j607", "sae-j1349"}
    assert "SAE J1349" in found.notes[0]
    sister = over_years(demo_desk, "HC-4A")
    powers = next(one for one in sister.series if one.measure.key == "power")
    assert powers.sisters == (), "the sister runs under another standard"
    blow_by = next(one for one in sister.series if one.measure.key == "blow-by")
    assert [one.tag for one in blow_by.sisters] == ["HC-4B"]


def test_a_rebuild_shows_in_the_blow_by(demo_desk: Desk) -> None:
    found = over_years(demo_desk, "PT-6")
    blow_by = next(one for one in found.series if one.measure.key == "blow-by")
    by_build: dict[str, list[float]] = {}
    for point in blow_by.points:
        by_build.setdefault(point.build, []).append(point.value)
    assert max(by_build["build 2"]) < 0.5 * min(by_build["build 1"])


def test_inspections_give_the_worst_cylinder(tmp_path: Path) -> None:
    desk = open_desk(tmp_path / "book.db", who="KL")
    add_engine(desk, "HC-9", {"cylinders": "4"})
    for month, worst in enumerate(("7", "8", "9"), 1):
        given = {"leak-down": f"5 {worst} 5 - %", "date": f"2026-0{month}-01"}
        add_inspection(desk, "HC-9", given)
    (leak,) = over_years(desk, "HC-9").series
    assert leak.measure.key == "leak-down"
    assert [point.value for point in leak.points] == [7.0, 8.0, 9.0]
    assert leak.points[0].build == "build 1"
    desk.close()


def test_band_averages_of_another_band_do_not_stand_beside_the_newest(
    shop: Shop, air: dict[str, str]
) -> None:
    for band in ("4500-6500", "4500-6500", "6000-6800"):
        shop.session_id = open_session(shop.desk, "RB-2", band=band).id
        new_air(shop.desk, shop.session_id, air, units=None)
        shop.clock.turn(60 * 10)  # in the evening: the day after, by universal time
        shop.trace(1.0 + shop.clock.moment.day / 1000, timing=30)
        shop.clock.turn(60 * 14)
    found = over_years(shop.desk, "RB-2")
    power, blow_by = (
        next(one for one in found.series if one.measure.key == key) for key in ("power", "blow-by")
    )
    assert found.band_rpm == (6000.0, 6800.0)
    assert len(power.points) == 1
    assert found.notes == (
        "Over another band than 6000–6800 rpm, and so not followed beside it: the sessions of"
        " 2026-03-14, 2026-03-15",
    )
    assert [best.band_rpm for best in found.builds] == [(4500.0, 6500.0), (6000.0, 6800.0)]
    assert len(blow_by.points) == 3, "a channel is averaged anew over the newest band"
    assert max(p.value for p in blow_by.points) - min(p.value for p in blow_by.points) < 1e-9
