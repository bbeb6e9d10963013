"""``logbook compare`` on builds and sessions: the demo's rebuild, on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import CommandLine

BUILDS = ("HC-4A/build 1", "HC-4A/build 2")


def test_two_builds_are_compared_and_the_rebuild_told_apart(
    logbook: CommandLine, built_demo: Path
) -> None:
    out = logbook.ok("compare", *BUILDS, "--db", built_demo, "--units", "us").out
    for line in (
        "HC-4A/build 2 measured from HC-4A/build 1, SAE J1349",
        "The rebuild: +",
        "The rebuild can claim at least +",
        "fuel: Pump 93 → Race O2 drum 11",
        "HC-4A/2025-06-14 pulls 1–8, build 2",
        "HC-4B/2024-05-04 pulls 2–9, build 1",
        "weight 100 %, another engine or set-up",
        "shown, not counted",
        "Not controlled",
    ):
        assert line in out


def test_the_same_numbers_as_json(logbook: CommandLine, built_demo: Path) -> None:
    found = logbook.ok("compare", *BUILDS, "--db", built_demo, "--json").json
    assert (found["left"]["kind"], found["left"]["label"]) == ("build", BUILDS[0])
    told = found["attribution"]
    assert told["told_apart"] is True
    shares = [told["worth"], *(member["worth"] for member in told["members"])]
    total = sum(share["difference_kw"] for share in shares)
    assert total == pytest.approx(found["worth"]["difference_kw"], rel=1e-9)
    assert told["at_least_kw"] == told["worth"]["interval_kw"][0]
    assert {member["factor"] for member in told["members"]} == {"fuel", "carburetor"}
    weights = [line["weight"] for line in told["members"][0]["evidence"]]
    assert sum(weights) == pytest.approx(1.0)
    curve = found["difference"]
    assert len(curve["speed_rpm"]) == len(curve["low_kw"]) == len(curve["high_kw"]) > 20
    assert "pulls" not in found["worth"], "numbers of several sessions say nothing"


def test_what_was_never_changed_alone_is_bounded_by_what_is_assumed(
    logbook: CommandLine, built_demo: Path
) -> None:
    builds = ("RB-8/build 1", "RB-8/build 3", "--db", built_demo)
    out = logbook.ok("compare", *builds).out
    assert "The rebuild cannot be told apart from fuel" in out
    assert "If fuel by itself lost nothing, the rebuild is worth at most" in out
    assert "Nothing bounds it from below" in out
    assumed = logbook.ok("compare", *builds, "--assume", "fuel=0..2.5", "--json").json
    assert assumed["attribution"]["at_least_kw"] is not None
    assert assumed["attribution"]["together_with"] == ["fuel"]


@pytest.mark.parametrize("assume", ["fuel", "fuel=1", "fuel=2..x", "fuel=1.2.3..4", "spacer=0..1"])
def test_an_assumption_that_cannot_be_read_is_refused(
    logbook: CommandLine, built_demo: Path, assume: str
) -> None:
    ended = logbook("compare", *BUILDS, "--db", built_demo, "--assume", assume)
    assert ended.code == 2
    assert any(said in ended.err for said in ("--assume", "Worth of fuel", "does not differ"))


def test_nothing_is_assumed_of_two_pulls(logbook: CommandLine, built_demo: Path) -> None:
    pulls = ("HC-4A/2025-06-14/1", "HC-4A/2025-06-14/4")
    ended = logbook("compare", *pulls, "--db", built_demo, "--assume", "fuel=0..1")
    assert ended.code == 2
    assert "nothing is assumed of two pulls" in ended.err
