"""Builds, sessions and sister engines over each other; what a rebuild was worth by itself."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from logbook.cases import builds, engines, pulls, sessions
from logbook.cases.days import Almanac, Terms, figures_anew
from logbook.cases.desk import Desk, open_desk
from logbook.cases.entry import PullEntry
from logbook.cases.place import Place
from logbook.cases.references import resolve
from logbook.cases.side_by_side import compare_sides
from logbook.cases.sides_assumed import read_range
from logbook.cases.sides_curves import side_curves
from logbook.cases.sides_results import SidesView
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.refusals import Refusal

from .conftest import AIR, Clock, sweep_csv

OLD = {"carburetor": "40 mm", "fuel": "pump"}
MIDDLE = {"carburetor": "45 mm", "fuel": "pump"}
NEW = {"carburetor": "45 mm", "fuel": "race"}
HEADER = {**NEW, "header": "4-1"}
WORTH = {"carburetor": 1.025, "fuel": 1.02, "rebuild": 1.03, "header": 1.015}

# engine, build, day, standard, band, oil, what was pulled how often.
VISITS = (
    ("S-1", "build 1", "2024-03-09", "sae-j1349", None, "20W-50", [(OLD, 3)]),
    ("S-2", "build 1", "2024-05-04", "iso-1585", None, "10W-50", [(OLD, 2), (MIDDLE, 2), (OLD, 2)]),
    ("S-1", "build 2", "2025-03-08", "sae-j1349", None, "10W-50", [(NEW, 3)]),
    ("S-1", "build 2", "2025-06-14", "sae-j607", None, "10W-50", [(NEW, 2), (MIDDLE, 2), (NEW, 2)]),
    ("S-2", "build 2", "2025-09-06", "iso-1585", None, "10W-50", [(MIDDLE, 2)]),
    ("S-1", "build 3", "2026-03-14", "sae-j1349", "4800-6400", "10W-50", [(HEADER, 3)]),
)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Two sisters over three years; only to be read."""
    folder = tmp_path_factory.mktemp("years")
    clock = Clock(datetime(2024, 1, 6, 15, 0, tzinfo=UTC))
    opened = open_desk(folder / "book.db", who="KL", units="us", now=clock)
    engines.add_cell(opened, "North", {"altitude": "1250 ft"})
    for tag in ("S-1", "S-2"):
        engines.add_engine(opened, tag, {"cylinders": "4", "bore": "86 mm", "stroke": "86 mm",
                                         "family": "twins"}, band="4500-6500")  # fmt: skip
    builds.set_item(opened, "S-1", "build 1", "ring pack", "top ring", {"value": "1.5 mm"})
    for tag, label in (("S-1", "build 2"), ("S-1", "build 3"), ("S-2", "build 2")):
        builds.add_build(opened, tag, label)
    builds.set_item(opened, "S-1", "build 2", "ring pack", "top ring", {"value": "1.0 mm"})
    rng = np.random.default_rng(7)
    for visit in VISITS:
        _visit(opened, clock, folder, rng, *visit)
    yield opened
    opened.close()


def _visit(
    desk: Desk, clock: Clock, folder: Path, rng: np.random.Generator, tag: str, build: str,
    day: str, standard: str, band: str | None, oil: str, pulled: list[tuple[dict[str, str], int]],
) -> None:  # fmt: skip
    clock.moment = datetime.fromisoformat(f"{day}T15:00:00+00:00")
    session = sessions.open_session(desk, tag, build=build, standard=standard, band=band, oil=oil)
    pulls.new_air(desk, session.id, AIR, units="us")
    for setup, times in pulled:
        level = WORTH["rebuild"] if build != "build 1" else 1.0
        level *= WORTH["carburetor"] if setup["carburetor"] == "45 mm" else 1.0
        level *= WORTH["fuel"] if setup["fuel"] == "race" else 1.0
        level *= WORTH["header"] if "header" in setup else 1.0
        for _ in range(times):
            clock.turn(6)
            path = folder / f"run-{clock.moment:%Y%m%d%H%M}-{tag}.csv"
            path.write_text(sweep_csv(level * (1 + rng.normal(0.0, 0.0015))))
            entry = PullEntry(session_id=session.id, trace=path, set_up=setup,
                              torque_state="observed", fields={"oil": "195 F"})  # fmt: skip
            pulls.add_pull(desk, entry)
    sessions.close_session(desk, session.id)


@pytest.fixture(scope="module")
def rebuilt(desk: Desk) -> SidesView:
    return compare_sides(desk, "S-1/build 1", "S-1/build 2")


@pytest.mark.parametrize(
    ("text", "kind", "label"),
    [
        ("s-1", "engine", "S-1/build 3"),
        ("S-1/Build 2", "build", "S-1/build 2"),
        ("S-1/2025-03-08", "session", "S-1/2025-03-08"),
        ("S-2/last", "session", "S-2/2025-09-06"),
        ("last", "session", "S-1/2026-03-14"),
        ("S-1/2025-03-08/2", "pull", "S-1/2025-03-08/2"),
    ],
)
def test_pulls_sessions_builds_and_engines_are_named(
    desk: Desk, text: str, kind: str, label: str
) -> None:
    with desk.book.reading() as read:
        found = resolve(read, text)
        assert (found.kind, found.label) == (kind, label)
        ids = [found.build.id, found.session and found.session.id, found.pull and found.pull.id]
        narrowest = next(one for one in reversed(ids) if one)
        if kind != "engine":
            assert resolve(read, narrowest) == found


@pytest.mark.parametrize("text", ["", "S-9", "S-1/build 9", "S-1/2019-01-01", "0123456789", "/"])
def test_what_names_nothing_is_refused_in_words(desk: Desk, text: str) -> None:
    with pytest.raises(Refusal):
        compare_sides(desk, text, "S-1")


def test_builds_are_compared_in_how_they_were_run(rebuilt: SidesView) -> None:
    assert [(part.label, part.pulls) for part in rebuilt.right.parts] == [
        ("S-1/2025-06-14", (1, 2, 5, 6)),
        ("S-1/2025-03-08", (1, 2, 3)),
    ]
    assert rebuilt.left.set_up == "carburetor 40 mm, fuel pump"
    whole = WORTH["carburetor"] * WORTH["fuel"] * WORTH["rebuild"]
    assert rebuilt.worth.percent == pytest.approx(100 * (whole - 1), abs=0.5)
    assert rebuilt.standard_name == "SAE J1349"
    assert [caution.code for caution in rebuilt.cautions] == ["another-standard"]


def test_the_rebuild_is_told_from_what_came_with_it(rebuilt: SidesView) -> None:
    found = rebuilt.attribution
    assert found is not None
    assert found.told
    assert found.subject == "the rebuild"
    assert found.rest.percent == pytest.approx(3.0, abs=0.7)
    low, high = found.rest.interval_percent
    assert low < 3.0 < high
    assert found.at_least_percent == pytest.approx(low)
    shares = [found.rest, *(member.worth for member in found.members)]
    total = sum(share.difference_kw for share in shares if share)
    assert total == pytest.approx(rebuilt.worth.difference_kw, rel=1e-9)


def test_every_line_of_evidence_says_where_it_comes_from(rebuilt: SidesView) -> None:
    assert rebuilt.attribution is not None
    members = {member.factor: member for member in rebuilt.attribution.members}
    (sister,) = members["carburetor"].evidence
    assert (sister.engine, sister.own, sister.days_apart) == ("S-2", False, False)
    assert [(part.label, part.pulls) for part in sister.sessions] == [
        ("S-2/2024-05-04", (1, 2, 3, 4, 5, 6))
    ]
    (own,) = members["fuel"].evidence
    assert (own.engine, own.build, own.own) == ("S-1", "build 2", True)
    assert own.percent == pytest.approx(2.0, abs=0.4)
    (shown,) = rebuilt.attribution.sisters
    assert (shown.engine, shown.build, shown.weight) == ("S-2", "build 1 → build 2", None)
    assert shown.percent == pytest.approx(3.0, abs=0.7)


def test_everything_that_differs_stands_in_the_table(rebuilt: SidesView) -> None:
    lines = {line.what: (line.left, line.right) for line in rebuilt.differing}
    assert lines["Build"] == ("build 1", "build 2")
    assert lines["Ring pack: top ring"] == ("1.5 mm", "1.0 mm kept")
    assert lines["Carburetor"] == ("40 mm", "45 mm")
    assert lines["Oil"] == ("20W-50", "10W-50")
    assert lines["Logged under"] == ("sae-j1349", "sae-j607 / sae-j1349")
    assert "Cell" not in lines
    assert rebuilt.uncontrolled == ("another oil",)


def test_a_change_that_was_never_made_alone_is_not_told_apart(desk: Desk) -> None:
    view = compare_sides(desk, "S-1/build 2", "S-1/build 3")
    found = view.attribution
    assert found is not None
    assert found.untold == ("header",)
    assert not found.told
    assert found.at_least_kw is None
    assert found.at_most_percent == pytest.approx(found.rest.interval_percent[1])
    known = compare_sides(desk, "S-1/build 2", "S-1/build 3", assumed={"Header": (1.0, 2.0)})
    assert known.attribution is not None
    assert known.attribution.at_least_percent is not None
    low, high = found.rest.interval_percent
    at_least = 100 * ((1 + low / 100) / 1.02 - 1)
    assert known.attribution.at_least_percent == pytest.approx(at_least)
    assert known.attribution.at_most_percent == pytest.approx(100 * ((1 + high / 100) / 1.01 - 1))


def test_averages_of_another_band_are_made_again(desk: Desk) -> None:
    view = compare_sides(desk, "S-1/build 2", "S-1/build 3")
    assert view.band_rpm == (4500.0, 6500.0)
    assert "another-band" in {caution.code for caution in view.cautions}
    # Nothing but the header is new, and the sweep's shape is the same.
    assert view.worth.percent == pytest.approx(1.5, abs=0.5)


def test_what_does_not_differ_cannot_be_assumed_of(desk: Desk) -> None:
    with pytest.raises(Refusal, match="does not differ"):
        compare_sides(desk, "S-1/build 2", "S-1/build 3", assumed={"spacer": (0.0, 1.0)})


@pytest.mark.parametrize(
    ("text", "limits"),
    [("0..2", (0.0, 2.0)), (" -.5 % .. +1.5 % ", (-0.5, 1.5)), ("−1..1", (-1.0, 1.0))],
)
def test_a_range_is_read_as_people_write_it(text: str, limits: tuple[float, float]) -> None:
    assert read_range(text, "header") == limits


@pytest.mark.parametrize("text", ["", "2", "2..1", "0..x", "1.2.3..4", "0..1e9", "-100..0"])
def test_a_range_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(Refusal, match="Worth of header"):
        read_range(text, "header")


def test_a_session_is_held_against_the_rest_of_its_build(desk: Desk) -> None:
    view = compare_sides(desk, "S-1/build 2", "S-1/2025-06-14")
    assert [part.label for part in view.left.parts] == ["S-1/2025-03-08"]
    assert view.attribution is None
    assert view.left.set_up == view.right.set_up, "both were run with it, so nothing else differs"
    assert view.worth.verdict == "not settled"
    assert not [line for line in view.differing if line.what.startswith("Ring pack")]


@pytest.mark.parametrize(
    ("left", "right", "said"),
    [
        ("S-1/build 3", "S-1", "named twice"),
        ("S-1/2025-03-08", "S-1/2025-03-08", "same pulls"),
        ("S-1/2026-03-14", "S-1/build 3", "beside those of the other side"),
    ],
)
def test_what_cannot_be_compared_is_refused_with_the_reason(
    desk: Desk, left: str, right: str, said: str
) -> None:
    with pytest.raises(Refusal, match=said):
        compare_sides(desk, left, right)


def test_sister_engines_are_compared_as_they_are(desk: Desk) -> None:
    view = compare_sides(desk, "S-2", "S-1/build 2")
    assert view.attribution is not None
    assert view.attribution.subject == "the other engine"
    assert view.left.label == "S-2/build 2"
    assert view.attribution.rest.percent == pytest.approx(0.0, abs=1.0)


def test_the_curves_are_means_and_their_difference_has_a_band(desk: Desk) -> None:
    drawn = side_curves(desk, "S-1/build 1", "S-1/build 2")
    assert drawn.left is not None
    assert drawn.right is not None
    assert drawn.difference is not None
    assert drawn.right.label == "S-1/build 2, mean of 7 pulls"
    middle = drawn.difference.speed_rpm.size // 2
    whole = WORTH["carburetor"] * WORTH["fuel"] * WORTH["rebuild"]
    expected = drawn.left.power_kw[middle] * (whole - 1)
    assert drawn.difference.power_kw[middle] == pytest.approx(expected, rel=0.1)
    assert drawn.difference.low_kw[middle] < expected < drawn.difference.high_kw[middle]


def test_stored_figures_taken_to_another_standard_are_those_computed_anew(desk: Desk) -> None:
    with desk.book.reading() as read:
        (session,) = read.where(Session, standard="sae-j607")
        mine = read.where(Pull, session_id=session.id)
        place = Place(session, read.get(Engine, session.engine_id),
                      read.get(Cell, session.cell_id), "sae-j1349")  # fmt: skip
        anew = figures_anew(read, mine, place)
        day = Almanac(desk, read, Terms(standard="sae-j1349")).of([session.id])[session.id]
    for pull in mine:
        assert day.figures[pull.id].band_power_kw == pytest.approx(
            anew[pull.id].band_power_kw, rel=1e-12
        )
