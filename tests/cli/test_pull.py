"""``logbook pull``: logging, carry-forward, the documented object, correcting."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.quantities import from_stored
from tests.cli.conftest import AIR, CommandLine, peaks, sweep

FIGURES = {
    "peak_power_kw", "peak_power_rpm", "peak_torque_nm", "peak_torque_rpm", "band_power_kw",
    "band_torque_nm",
}  # fmt: skip
KEYS = {
    "id", "engine", "session", "number", "at", "kind", "set_up", "changed", "air", "standard",
    "factor", "band_rpm", "observed", "corrected", "against_baseline", "cautions",
}  # fmt: skip
WORTH = {
    "band_power_kw", "interval_kw", "percent", "verdict", "noise_percent", "noise_source",
    "more_pulls",
}  # fmt: skip


def test_the_documented_object(shop: CommandLine) -> None:
    first = shop.ok(*peaks(398, *AIR, "--time", "2026-03-01T14:05Z"), "--json").json
    assert set(first) >= KEYS
    assert set(first["observed"]) == set(first["corrected"]) == FIGURES
    assert first["at"] == "2026-03-01T14:05:00Z"
    assert first["against_baseline"] is None
    assert first["observed"]["band_power_kw"] is None
    second = shop.ok(*peaks(402, "--set", "timing=34"), "--json").json
    assert second["number"] == 2
    assert second["changed"] == ["timing"]
    assert set(second["against_baseline"]) >= WORTH
    assert second["corrected"]["peak_power_kw"] == pytest.approx(
        second["factor"] * second["observed"]["peak_power_kw"]
    )


def test_show_prints_the_same_object_by_id_and_by_name(shop: CommandLine) -> None:
    added = shop.ok(*peaks(398, *AIR), "--json").json
    for ref in (added["id"], "RB-2/last/1", f"RB-2/{added['at'][:10]}/1"):
        assert shop.ok("pull", "show", ref, "--json").json == added


def test_what_is_not_given_is_carried_forward(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR, "--set", "timing=32", "--set", "Main jets=82", "--set", "gap=0.9 mm"))
    second = shop.ok(*peaks(398, "--set", "main-jets=84"), "--json").json
    assert second["set_up"] == {"timing_deg": 32.0, "Main jets": 84.0, "gap": "0.9 mm"}
    assert second["changed"] == ["Main jets"]
    assert second["air"]["pressure_kpa"] == pytest.approx(29.42 * 3.386389, rel=1e-6)
    third = shop.ok(*peaks(398, "--unset", "gap"), "--json").json
    assert "gap" not in third["set_up"]


def test_readings_and_knock(shop: CommandLine) -> None:
    pull = shop.ok(
        *peaks(398, *AIR, "--oil", "204 F", "--coolant", "80 C", "--knock", "not-checked",
               "--manifold-vacuum", "0.6 inHg", "--blow-by", "1.4 cfm", "--note", "plug 3 gray"),
        "--json",
    ).json["entered"]  # fmt: skip
    assert pull["oil_c"] == pytest.approx(95.56, abs=0.01)
    assert pull["knock"] == "not checked"
    assert pull["manifold_vacuum_kpa"] == pytest.approx(0.6 * 3.386389, rel=1e-6)
    assert pull["typed"]["blow_by_m3_h"] == "1.4 cfm"


def test_a_trace_file(shop: CommandLine) -> None:
    path = sweep(shop.folder / "run.csv")
    pull = shop.ok("pull", "add", "--engine", "RB-2", "--trace", path, *AIR, "--json").json
    assert pull["kind"] == "sweep"
    assert pull["source"] == "run.csv"
    assert pull["observed"]["band_power_kw"] > 0
    assert "torque-assumed-observed" in {caution["code"] for caution in pull["cautions"]}


def test_steady_points_typed_as_a_table(shop: CommandLine) -> None:
    table = "speed rpm, torque lb-ft; 4000, 400; 4500, 410; 5000, 415; 5500, 405; 6500, 380"
    pull = shop.ok("pull", "add", "--engine", "RB-2", *AIR, "--points", table, "--json").json
    assert pull["kind"] == "steady points"
    assert pull["observed"]["peak_torque_nm"] == pytest.approx(415 * 1.3558179483)
    assert pull["observed"]["band_power_kw"] > 0
    before = shop.rows()
    assert shop("pull", "add", "--engine", "RB-2", "--points", "4000, 400; 4500, 410").code == 2
    assert shop.rows() == before


def test_the_answer_about_a_kind_of_file_is_remembered(shop: CommandLine) -> None:
    first, second = (sweep(shop.folder / f"{i}.csv", scale=1 + i / 100) for i in range(2))
    shop.ok("pull", "add", "--engine", "RB-2", *AIR, "--trace", first, "--torque-is", "sae-j607")
    pull = shop.ok("pull", "add", "--engine", "RB-2", "--trace", second, "--json").json
    assert pull["entered"]["torque_state"] == "sae-j607"


def test_the_sample_pull_goes_in_by_one_command(shop: CommandLine, sample_pull: Path) -> None:
    """Its known answers, from plain arithmetic on the printed table."""
    pull = shop.ok("pull", "add", "--engine", "RB-2", "--session", "new", "--trace", sample_pull,
                   "--band", "7000-11000", "--standard", "none", "--json").json  # fmt: skip
    observed = pull["observed"]
    assert from_stored(observed["peak_power_kw"], "hp", "power") == pytest.approx(68.39, abs=1e-6)
    assert observed["peak_power_rpm"] == 10600
    assert from_stored(observed["peak_torque_nm"], "lb·ft", "torque") == pytest.approx(34.864)
    assert observed["peak_torque_rpm"] == 7700
    assert from_stored(observed["band_power_kw"], "hp", "power") == pytest.approx(56.81, abs=0.005)
    (said,) = [c["text"] for c in pull["cautions"] if c["code"] == "power-disagrees"]
    assert "0.73 hp" in said
    assert "7900 rpm" in said


def test_sessions_new_last_and_by_id(shop: CommandLine) -> None:
    first = shop.ok(*peaks(398, *AIR), "--session", "new", "--json").json
    again = shop.ok(*peaks(398), "--session", "last", "--json").json
    other = shop.ok(*peaks(398, *AIR), "--session", "new", "--json").json
    by_id = shop.ok(*peaks(398), "--session", first["session"], "--json").json
    assert again["session"] == by_id["session"] == first["session"] != other["session"]
    assert (again["number"], by_id["number"], other["number"]) == (2, 3, 1)


def test_band_and_standard_may_be_repeated_but_not_changed(shop: CommandLine) -> None:
    opening = ("--band", "4500-6500", "--standard", "sae-j607")
    shop.ok(*peaks(398, *AIR), "--session", "new", *opening)
    assert shop.ok(*peaks(399), *opening, "--json").json["standard"] == "sae-j607"
    before = shop.rows()
    assert shop(*peaks(399), "--standard", "iso-1585").code == 2
    assert shop(*peaks(399), "--band", "4000-6500").code == 2
    assert shop.rows() == before


def test_excluding_including_correcting(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR, "--set", "timing=32"))
    shop.ok("pull", "exclude", "RB-2/last/1", "--reason", "oil cold")
    assert shop.ok("pull", "show", "RB-2/last/1", "--json").json["excluded"] is True
    assert "oil cold" in shop.ok("pull", "list", "RB-2/last").out
    shop.ok("pull", "include", "RB-2/last/1")
    shop.ok("pull", "change", "RB-2/last/1", "--set", "timing=33", "--knock", "heard",
            "--why", "written down wrong")  # fmt: skip
    (pull,) = shop.ok("pull", "list", "RB-2/last", "--json").json_lines
    assert pull["set_up"] == {"timing_deg": 33.0}
    assert pull["entered"]["knock"] == "heard"
    changes = shop.ok("history", "--json").json_lines
    assert changes[0]["why"] == "written down wrong"


def test_people_see_a_sheet_and_cautions_apart(shop: CommandLine) -> None:
    ended = shop.ok(*peaks(398, *AIR, "--set", "timing=38"))
    assert "398.0 lb·ft" in ended.out
    assert "Caution: Timing 38° is past the engine's limit of 36°" in ended.err


def test_a_log_with_two_pulls_is_listed_and_logged_part_by_part(shop: CommandLine) -> None:
    log = shop.folder / "evening.csv"
    rows = ["Time [s],Engine speed [rpm],Torque [lb-ft]"]
    for n in range(480):
        second = n / 10 % 24
        rpm = np.interp(second, [0, 14, 15, 22, 23, 24], [3000, 6500, 1000, 1000, 3000, 3000])
        rows.append(f"{n / 10 - 3:.1f},{rpm:.0f},{300 + n / 50 if second < 14 else 4:.1f}")
    log.write_text("\n".join(rows) + "\n")
    one, two = shop.ok("pull", "parts", log, "--json").json_lines
    assert (one["first_sample"], one["last_sample"]) == (1, 141)
    assert (two["number"], two["pull"]) == (2, None)
    assert two["first_sample"] in {240, 241}
    added = shop.ok("pull", "add", "--engine", "RB-2", "--trace", log, "--part", "2", "--json")
    assert added.json["samples"] == [two["first_sample"], two["last_sample"]]
    assert "2 " in shop.ok("pull", "parts", log).out.splitlines()[3]
    assert shop("pull", "add", "--engine", "RB-2", "--trace", log, "--part", "2").code == 2
    moved = shop.ok("pull", "change", "RB-2/last/1", "--samples", "250-370", "--why", "lifted",
                    "--json")  # fmt: skip
    assert moved.json["samples"] == [250, 370]
    assert "250–370" in shop.ok("pull", "show", "RB-2/last/1").out
    shop.ok("pull", "add", "--engine", "RB-2", "--trace", log, "--samples", "5-120")


def test_a_column_named_once_is_known_of_the_next_file(shop: CommandLine) -> None:
    def unnamed(name: str, scale: float) -> Path:
        path = sweep(shop.folder / name, scale)
        path.write_text(path.read_text().replace("Torque [lb-ft]", "TQ"))
        return path

    first, second = unnamed("a.csv", 1.0), unnamed("b.csv", 1.01)
    refused = shop("pull", "add", "--engine", "RB-2", "--trace", first)
    assert refused.code == 2
    assert "--column 'torque=TQ [UNIT]'" in refused.err
    assert "pulls" in shop.rows()
    assert shop.rows()["source_kinds"] == []
    one = shop.ok("pull", "add", "--engine", "RB-2", "--trace", first, "--column",
                  "torque=TQ [lb-ft]", "--json")  # fmt: skip
    assert one.json["observed"]["peak_torque_nm"] == pytest.approx(400 * 1.3558, rel=1e-3)
    two = shop.ok("pull", "add", "--engine", "RB-2", "--trace", second, "--json")
    assert two.json["observed"]["peak_torque_nm"] == pytest.approx(404 * 1.3558, rel=1e-3)
    shop.ok("undo")
    shop.ok("undo")
    assert shop("pull", "add", "--engine", "RB-2", "--trace", second).code == 2
