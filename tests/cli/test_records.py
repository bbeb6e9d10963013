"""Engines, builds, fuels, cells and sessions from scripts."""

from __future__ import annotations

import math
import sqlite3
from contextlib import closing

import pytest

from tests.cli.conftest import AIR, CommandLine, peaks


def test_an_engine_as_scripts_enter_it(logbook: CommandLine) -> None:
    logbook.ok("engine", "add", "HC-1", "--cylinders", "4", "--bore", "86 mm", "--stroke", "86 mm",
               "--compression-ratio", "12.5", "--limit-timing", "36", "--limit-speed", "9000",
               "--band", "5500-8500", "--family", "hill", "--owner", "K. L.",
               "--name", "inline four")  # fmt: skip
    engine = logbook.ok("engine", "show", "hc-1", "--json").json
    assert engine["bore_mm"] == 86.0
    assert (engine["band_low_rpm"], engine["band_high_rpm"]) == (5500.0, 8500.0)
    assert engine["limit_timing_deg"] == 36.0
    assert [build["label"] for build in engine["builds"]] == ["build 1"]
    assert "86.00 mm" in logbook.ok("engine", "show", "HC-1", "--units", "metric").out
    assert "86 mm" in engine["typed"].values(), "what was typed is kept as it was"


def test_an_engine_is_changed_copied_and_listed(shop: CommandLine) -> None:
    shop.ok("engine", "change", "RB-2", "--owner", "M. N.", "--limit-timing", "34", "--why", "new")
    shop.ok("engine", "copy", "RB-2", "RB-3")
    shop.ok("engine", "change", "RB-2", "--owner", "")
    rows = {row["tag"]: row for row in shop.ok("engine", "list", "--json").json_lines}
    assert set(rows) == {"RB-2", "RB-3"}
    assert shop.ok("engine", "show", "RB-3", "--json").json["limit_timing_deg"] == 34.0
    assert shop.ok("engine", "show", "RB-2", "--json").json["owner"] == ""


def test_builds_fuels_and_cells(shop: CommandLine) -> None:
    shop.ok("build", "add", "RB-2", "build 2", "--built-on", "2026-03-01", "--note", "new rings")
    labels = [row["label"] for row in shop.ok("build", "list", "RB-2", "--json").json_lines]
    assert set(labels) == {"build 1", "build 2"}
    shop.ok("fuel", "add", "Tango", "--batch", "7", "--density", "0.742 kg/L", "--ron", "98")
    (fuel,) = shop.ok("fuel", "list", "--json").json_lines
    assert fuel["density_kg_m3"] == pytest.approx(742)
    shop.ok("cell", "add", "North", "--altitude", "1250 ft", "--cell-units", "metric")
    shop.ok("cell", "change", "North", "--standard", "iso-1585", "--why", "as the rules say")
    (cell,) = shop.ok("cell", "list", "--json").json_lines
    assert (cell["units"], cell["standard"]) == ("metric", "iso-1585")
    assert cell["altitude_m"] == pytest.approx(381)
    for noun in (("build", "list", "RB-2"), ("fuel", "list"), ("cell", "list"), ("engine", "list")):
        assert shop.ok(*noun).out


def test_a_session_from_opening_to_closing(shop: CommandLine) -> None:
    opened = shop.ok("session", "open", "RB-2", "--purpose", "spacer", "--safety-checked", "all")
    session_id = opened.out.strip()
    shop.ok(*peaks(398, *AIR))
    shop.ok(*peaks(404, "--set", "spacer=1 in"))
    shop.ok("session", "baseline", "RB-2/last", "1")
    shop.ok("session", "change", session_id, "--standard", "iso-1585", "--worth-having", "0.8")
    shown = shop.ok("session", "show", "RB-2/last", "--json").json
    assert shown["id"] == session_id
    assert shown["standard"] == "iso-1585"
    assert shown["purpose"] == "spacer"
    assert [pull["number"] for pull in shown["pulls"]] == [2, 1]
    assert shown["baseline"] == [shown["pulls"][1]["id"]]
    assert shown["pulls"][0]["against_baseline"]["difference_kw"] > 0
    shop.ok("session", "close", session_id)
    refused = shop(*peaks(404), "--session", session_id)
    assert refused.code == 2
    shop.ok("session", "reopen", session_id)
    shop.ok("session", "baseline", session_id, "--first-set-up")
    assert shop.ok("session", "show", session_id, "--json").json["baseline"] == []
    (row,) = shop.ok("session", "list", "--engine", "RB-2", "--json").json_lines
    assert row["pulls"] == 2
    assert "spacer 1 in" in shop.ok("session", "show", session_id).out


def test_what_was_left_out_of_the_safety_list_is_said(shop: CommandLine) -> None:
    opened = shop.ok("session", "open", "RB-2", "--safety-checked", "air")
    assert "Not checked: " in opened.err
    assert "guards" in shop.ok("session", "safety", "--json").json["list"]
    assert "emergency stop" in shop.ok("session", "safety").out


def test_a_list_that_stops_short_says_so(shop: CommandLine) -> None:
    for _ in range(3):
        shop.ok("session", "open", "RB-2")
    assert "--limit shows more" in shop.ok("session", "list", "--limit", "2").err


def test_the_tables_that_scripts_may_read(shop: CommandLine) -> None:
    """`engines`, `sessions`, `pulls` with text ids that refer to each other."""
    shop.ok(*peaks(398, *AIR))
    with closing(sqlite3.connect(shop.book)) as db:
        (row,) = db.execute(
            "SELECT typeof(p.id), e.tag FROM pulls p JOIN sessions s ON p.session_id = s.id"
            " JOIN engines e ON s.engine_id = e.id"
        )
    assert row == ("text", "RB-2")


def test_a_wrong_bore_or_stroke_is_caught_as_the_engine_is_entered(logbook: CommandLine) -> None:
    """The stroke of a real engine with its misprint: 2.19 in for 3.19."""
    ended = logbook.ok("engine", "add", "X-1", "--cylinders", "4", "--bore", "3.46 in",
                       "--stroke", "2.19 in", "--displacement", "120 in3")  # fmt: skip
    assert "make 82.4 in³, not the 120.0 in³ stated (−31.4 %)" in ended.err
    assert "a stroke of 3.191 in" in ended.err
    assert "Caution" in logbook.ok("engine", "show", "X-1", "--json").err
    assert not logbook.ok("engine", "change", "X-1", "--stroke", "3.19 in").err.count("Caution")
    exchanged = logbook.ok("engine", "add", "X-2", "--cylinders", "6", "--bore", "2.68 in",
                           "--stroke", "3.47 in", "--displacement", "152 in3")  # fmt: skip
    assert "bore and stroke look exchanged" in exchanged.err


def test_a_builds_measures_against_their_tolerances(shop: CommandLine) -> None:
    for name, *given in (
        ("bore", "--value", "4.0300 in"),
        ("skirt", "--per-cylinder", "4.0255 4.0255 4.0255 4.0255 4.0255 4.0255 4.0255 4.0230 in"),
        ("piston clearance", "--tolerance", "0.0040..0.0050 in"),
    ):
        shop.ok("build", "item", "RB-2", "pistons", name, *given)
    found = shop.ok("build", "check", "RB-2", "--json").json
    check = found["checks"][0]
    assert (found["verdict"], check["measure"], check["unit"]) == ("out", "Piston clearance", "mm")
    assert check["values"][7]["value"] == pytest.approx(0.0070 * 25.4)
    assert [one["verdict"] for one in check["values"]] == ["in"] * 7 + ["out"]
    out = shop.ok("build", "check", "RB-2").out
    assert "✗ out" in out
    assert "0.0070 ✗   0.0040–0.0050   the sheet's own tolerance" in out


def test_what_is_judged_otherwise_is_said_and_printed(shop: CommandLine) -> None:
    for torque, more in ((398, (*AIR, "--set", "timing=30")), (398.4, ()), (398.2, ()),
                         (404, ("--set", "timing=32")), (404.2, ())):  # fmt: skip
        shop.ok(*peaks(torque, *more))
    said = shop.ok("pull", "exclude", "RB-2/last/5", "--reason", "misfire").err
    assert "Judged anew: timing 32° (pull 4): " in said
    assert "→ leaning" in said
    (back,) = shop.ok("undo", "--json").json["rejudged"]
    assert back["turned"][0]["verdict"][0] == "leaning"
    assert back["turned"][0]["pulls"] == [4, 5]
    printed = shop.ok("pull", "exclude", "RB-2/last/5", "--reason", "misfire", "--json").json
    assert printed["rejudged"][0]["turned"][0]["after"]["verdict"] == "leaning"
    assert (
        "no verdict changed"
        in shop.ok("session", "change", "RB-2/last", "--standard", "sae-j607").err
    )
    assert "the baseline" in shop.ok("session", "baseline", "RB-2/last", "4").err
    (found,) = shop.ok("session", "baseline", "RB-2/last", "--first-set-up", "--json").json[
        "rejudged"
    ]
    assert found["baseline"][0] != found["baseline"][1]


def test_the_finish_of_a_measured_profile(logbook: CommandLine) -> None:
    """A sine of 1 µm and 0.05 mm: Ra is 2/π of its height."""
    path = logbook.folder / "bore.csv"
    waves = (math.sin(2 * math.pi * n / 50) for n in range(5000))
    path.write_text("X mm;Z um\n" + "".join(f"{n / 1000};{z:.6f}\n" for n, z in enumerate(waves)))
    found = logbook.ok("build", "finish", path, "--json").json
    assert found["ra_um"] == pytest.approx(2 / math.pi, abs=2e-3)
    assert "Ra              0.64 µm" in logbook.ok("build", "finish", path, "--units", "metric").out
    heights = logbook.folder / "heights.txt"
    heights.write_text("0.1\n0.2\n")
    assert "spacing" in logbook("build", "finish", heights).err
    assert "too short" in logbook("build", "finish", heights, "--spacing", "1 um").err


def test_closing_prints_the_verdicts_and_says_what_stays_open(shop: CommandLine) -> None:
    for number, (torque, timing) in enumerate(
        [(398, 30), (398.3, 30), (398.1, 30), (408, 32), (408.2, 32), (398.2, 30), (399, 31)]
    ):
        shop.ok(*peaks(torque, "--set", f"timing={timing}", *(() if number else AIR)))
    ended = shop.ok("session", "close", "RB-2/last")
    assert "gain +" in ended.out
    assert "timing 32° (pulls 4–5, was gain so far)" in ended.out
    assert "Backup: " in ended.err
    assert "not pulled again after pull 7" in ended.err
    assert "Stays open: pull 7 leaning" in ended.err
    shop.ok("session", "reopen", "RB-2/last")
    printed = shop.ok("session", "close", "RB-2/last", "--json").json
    assert printed["baseline_returned"] is False
    assert printed["not_returned_after"] == [7]
    assert [one["verdict"] for one in printed["verdicts"]] == ["gain", "leaning"]


def test_times_are_those_of_the_cell(shop: CommandLine) -> None:
    shop.ok("cell", "add", "North", "--time-zone", "America/Denver")
    shop.ok(*peaks(398, *AIR, "--time", "2026-03-02T02:05Z"))
    for arguments in (["pull", "show", "RB-2/last/1"], ["pull", "list", "RB-2/last"],
                      ["find", "engine:RB-2"]):  # fmt: skip
        assert "2026-03-01 19:05" in shop.ok(*arguments).out, arguments
