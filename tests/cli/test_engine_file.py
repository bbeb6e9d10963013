"""The engine's file from scripts: builds and what is in them."""

from __future__ import annotations

import pytest

from tests.cli.conftest import AIR, CommandLine, peaks


def test_a_builds_items_and_its_difference(shop: CommandLine) -> None:
    shop.ok("build", "item", "RB-2", "ring", "top ring", "--value", "1.2 mm", "--done", "new")
    shop.ok("build", "item", "RB-2", "head", "chamber", "--value", "64 cc",
            "--tolerance", "63..65 cc")  # fmt: skip
    shop.ok("build", "add", "RB-2", "build 2", "--built-on", "2126-01-01")
    made = shop.ok("build", "item", "RB-2", "ring", "top ring", "--value", "1.0 mm", "--json").json
    assert (made["number"], made["unit"], made["typed"]) == (1.0, "mm", {"text": "1.0 mm"})
    shop.ok("build", "item", "RB-2", "head", "chamber", "--drop")
    sheet = shop.ok("build", "show", "RB-2", "--json").json
    assert [(one["name"], one["difference"]) for one in sheet["items"]] == [("top ring", "changed")]
    assert [one["name"] for one in sheet["left_out"]] == ["chamber"]
    shown = shop.ok("build", "show", "RB-2").out
    assert all(words in shown for words in ("≠", "1.0 mm", "Left out since the parent"))
    assert [row["name"] for row in shop.ok("build", "diff", "RB-2", "--json").json_lines] == [
        "top ring", "chamber",
    ]  # fmt: skip
    assert "1.2 mm" in shop.ok("build", "diff", "RB-2").out
    shop.ok("build", "copy", "RB-2", "build 1", "build 3")
    shop.ok("build", "change", "RB-2", "build 3", "--note", "for the hill")
    assert shop("build", "diff", "RB-2", "build 3", "--from", "build 1").err == "Nothing differs.\n"
    assert shop.ok("find", "part:chamber", "--json").json_lines == []


def test_an_inspection_from_a_script(shop: CommandLine) -> None:
    made = shop.ok(
        "inspection", "add", "RB-2", "--kind", "tear-down", "--leak-down", "4 5 4 14 5 4 5 5",
        "--cranking", "175 178 176 172 177 175 176 174 psi", "--lash-intake-hot", "0.012 in",
        "--plugs", "tan; tan; tan; dark; tan; tan; tan; tan",
        "--clearance", "main bearing, main 3=0.0034 in; 0.0015..0.0030 in; reclaim; polished",
        "--json",
    ).json  # fmt: skip
    assert made["leak_down"]["most_percent"] == 14
    assert made["clearances"][0]["verdict"] == "reclaim"
    start = made["id"][:13]
    shop.ok("inspection", "change", start, "--clearance", "rod bearing=0.0021 in")
    (row,) = shop.ok("inspection", "list", "RB-2", "--json").json_lines
    assert [one["name"] for one in row["clearances"]] == ["main bearing", "rod bearing"]
    listed, shown = shop.ok("inspection", "list", "RB-2"), shop.ok("inspection", "show", start)
    assert "4–14 %, cylinder 4 stands apart" in listed.out
    assert all(words in shown.out for words in ("~ reclaim", "0.012", "dark", "172"))


PAIRS = "0:0.0 100:101 200:202 300:303 200:202 100:101 0:0.1"


def test_a_calibration_from_a_script_and_pulls_taken_through_it(shop: CommandLine) -> None:
    shop.ok("cell", "add", "North", "--arm", "1000 mm")
    pull = shop.ok(*peaks(300, *AIR), "--json").json
    made = shop.ok("calibration", "add", "North", "load-cell", "--unit", "lb-ft", "--pairs", PAIRS,
                   "--tolerance", "0.2 %", "--due", "1 year", "--json").json  # fmt: skip
    assert made["verdict"] == "out of tolerance"
    assert made["figures"]["span_error_percent"] == pytest.approx(1.0, abs=0.02)
    (row,) = shop.ok("calibration", "list", "North", "--json").json_lines
    assert row == made
    shown = shop.ok("calibration", "show", made["id"][:13]).out
    for words in ("✗ out of tolerance", "Span error", "+1.0", "↓", "●", "reading = ", "lb·ft"):
        assert words in shown
    assert "out of tolerance" in shop.ok("calibration", "list").out
    shop.ok("calibration", "apply", made["id"], "--session", "RB-2/last", "--why", "found high")
    after = shop.ok("pull", "show", pull["id"], "--json").json
    assert after["observed"] == pull["observed"]
    assert after["corrected"]["peak_torque_nm"] < pull["corrected"]["peak_torque_nm"]
    assert "recalibrated" in {caution["code"] for caution in after["cautions"]}
    other = shop.ok(*peaks(399, *AIR), "--json").json
    shown = shop.ok("pull", "show", other["id"])
    assert "Not judged" in shown.out
    shop.ok("calibration", "apply", "--take-off", "--pull", "RB-2/last/1")
    assert shop.ok("pull", "show", pull["id"], "--json").json["corrected"] == pull["corrected"]
    shop.ok("calibration", "change", made["id"], "--drop")
    assert shop.ok("calibration", "list", "--json").json_lines == []
    hung = shop("calibration", "add", "North", "load", "--unit", "lb-ft", "--weights", "kg",
                "--pairs", "0:0 10:72.4")  # fmt: skip
    assert (hung.code, "Gravity was taken as" in hung.err) == (0, True)


def test_due_marks_and_files_from_a_script(shop: CommandLine) -> None:
    mark = shop.ok("due", "add", "RB-2", "oil", "--pulls", "1", "--json").json
    shop.ok(*peaks(398, *AIR))
    assert "⚠ due" in shop.ok("due", "list").out
    shop.ok("due", "change", mark["id"], "--pulls", "2", "--minutes", "60 min")
    assert shop.ok("due", "list", "--only-due", "--json").json_lines == []
    assert "1 of 2 pulls" in shop.ok("due", "list", "RB-2").out
    shop.ok("due", "done", mark["id"][:13], "--since", "2026-01-01T08:00Z")
    shop.ok("due", "drop", mark["id"])
    photo = shop.folder / "ring gap.pdf"
    photo.write_bytes(b"%PDF-1.7 invented")
    kept = shop.ok("attach", photo, "--engine", "RB-2", "--build", "build 1", "--json").json
    assert (kept["of"], kept["media_type"]) == ("build build 1 of RB-2", "application/pdf")
    assert "ring gap.pdf" in shop.ok("attached", "list", "RB-2").out
    (found,) = shop.ok("find", "ring gap", "--json").json_lines
    assert found["number"] == 1
    shop.ok("attached", "save", kept["id"], shop.folder / "again.pdf")
    assert (shop.folder / "again.pdf").read_bytes() == photo.read_bytes()
    shop.ok("backup", shop.folder / "copy.db")
    assert shop.ok("--db", shop.folder / "copy.db", "verify").out == ""
    shop.ok("attached", "off", kept["id"])
    assert shop.ok("attached", "list", "RB-2", "--json").json_lines == []


@pytest.mark.parametrize(
    "words",
    [
        ("build", "item", "RB-2", "head", "chamber", "--value", "64 cc", "--tolerance", "3 psi.."),
        ("build", "item", "RB-2", " ", "chamber", "--value", "64 cc"),
        ("build", "show", "RB-2", "build 9"),
        ("build", "diff", "RB-2", "--from-engine", "RB-9"),
        ("inspection", "add", "RB-2", "--leak-down", "4 5 4"),
        ("inspection", "add", "RB-2", "--clearance", "main bearing 3"),
        ("inspection", "show", "ffff"),
        ("calibration", "add", "Cell 9", "load-cell", "--unit", "lb-ft", "--pairs", PAIRS),
        ("due", "add", "RB-2", "oil", "--pulls", "none"),
        ("due", "done", "ffff"),
        ("attach", "nothing.jpg", "--engine", "RB-2"),
        ("attached", "save", "ffff", "out.jpg"),
        ("calibration", "apply", "ffff", "--session", "RB-2/last"),
        ("calibration", "apply", "--session", "RB-2/last"),
    ],
)
def test_what_is_refused_is_said_and_nothing_written(
    shop: CommandLine, words: tuple[str, ...]
) -> None:
    before = shop.rows()
    refused = shop(*words)
    assert (refused.code, refused.out) == (2, "")
    assert "Wanted: " in refused.err
    assert shop.rows() == before
