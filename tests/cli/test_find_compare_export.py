"""Finding, comparing and exporting what was logged."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from pyarrow import parquet

from logbook.reports.csv_file import safe_cell
from tests.cli.conftest import AIR, CommandLine, peaks, sweep

NASTY = '=HYPERLINK("x")\x1b[31m \u202eplug, "gray"\nsecond line'


@pytest.fixture
def logged(shop: CommandLine) -> CommandLine:
    """Three pulls: peaks with a note, peaks with another timing, a trace."""
    shop.ok(*peaks(398, *AIR, "--set", "timing=32", "--set", "jets=+2", "--note", NASTY))
    shop.ok(*peaks(404, "--set", "timing=34"))
    shop.ok("pull", "add", "--engine", "RB-2", "--trace", sweep(shop.folder / "run.csv"))
    return shop


def test_find_prints_pulls_newest_first(logged: CommandLine) -> None:
    found = logged.ok("find", "engine:RB-2", "--json").json_lines
    assert [pull["number"] for pull in found] == [3, 2, 1]
    assert found[0] == logged.ok("pull", "show", found[0]["id"], "--json").json
    assert [p["number"] for p in logged.ok("find", "timing:>33", "--json").json_lines] == [3, 2]
    assert [p["number"] for p in logged.ok("find", "plug", "--json").json_lines] == [1]
    assert logged.ok("find", "nothing-of-the-kind", "--json").out == ""


def test_find_says_when_it_stops_short(logged: CommandLine) -> None:
    ended = logged.ok("find", "engine:RB-2", "--limit", "2")
    assert "The newest 2 of 3" in ended.err


@pytest.mark.parametrize(
    "command",
    [("find", "plug"), ("pull", "show", "RB-2/last/1"), ("session", "show", "RB-2/last"),
     ("export", "--engine", "RB-2"), ("export", "--engine", "RB-2", "--format", "jsonl"),
     ("find", "plug", "--json"), ("compare", "RB-2/last/1", "RB-2/last/2")],
)  # fmt: skip
def test_a_note_cannot_steer_the_terminal(logged: CommandLine, command: tuple[str, ...]) -> None:
    out = logged.ok(*command).out
    assert "\x1b" not in out
    assert "\u202e" not in out


def test_compare_two_pulls(logged: CommandLine) -> None:
    view = logged.ok("compare", "RB-2/last/1", "RB-2/last/2", "--json").json
    assert view["worth"]["difference_kw"] > 0
    assert {"what": "Timing", "left": "32", "right": "34"} in view["differing"]
    assert view["left"]["set_up"]["timing_deg"] == 32.0
    assert "Timing" in logged.ok("compare", "RB-2/last/1", "RB-2/last/2").out


def test_compare_lays_curves_over_each_other(logged: CommandLine) -> None:
    logged.ok("pull", "add", "--engine", "RB-2", "--set", "timing=35", "--trace",
              sweep(logged.folder / "more.csv", 1.01))  # fmt: skip
    view = logged.ok("compare", "RB-2/last/3", "RB-2/last/4", "--json").json
    assert len(view["left"]["curve"]["speed_rpm"]) == len(view["left"]["curve"]["power_kw"])
    assert max(view["difference"]["power_kw"]) > 0


def test_csv_has_units_in_its_heads_and_no_formula(logged: CommandLine) -> None:
    out = logged.ok("export", "--engine", "RB-2").out
    rows = rows_of(out)
    assert [row["Pull"] for row in rows] == ["3", "2", "1"]
    assert float(rows[2]["Observed peak torque, N·m"]) == pytest.approx(398 * 1.3558179483)
    assert rows[2]["Note"].startswith("'=HYPERLINK")
    assert rows[2]["Note"].endswith("\nsecond line")
    assert rows[2]["Set-up: jets"] == "+2", "a number is no formula"
    assert rows[0]["Set-up: timing, °"] == "34.0"
    assert rows[0]["File"] == "run.csv"


def test_csv_in_the_units_asked_for(logged: CommandLine) -> None:
    (row,) = csv.DictReader(io.StringIO(logged.ok("export", "plug", "--units", "us").out))
    assert float(row["Observed peak torque, lb·ft"]) == pytest.approx(398)
    assert float(row["Station pressure, inHg"]) == pytest.approx(29.42)
    assert float(row["Relative humidity, %"]) == pytest.approx(41)


def test_traces_as_csv_have_a_row_a_sample(logged: CommandLine) -> None:
    out = logged.ok("export", "--session", "RB-2/last", "--traces").out
    rows = rows_of(out)
    assert len(rows) == 61
    assert float(rows[0]["Engine speed, rpm"]) == 4000
    assert float(rows[0]["Torque, N·m"]) > 400
    assert [name for name in rows[0] if name.startswith("Sparkle")], "no channel is dropped"


def test_json_lines_keep_every_character(logged: CommandLine) -> None:
    lines = logged.ok("export", "plug", "--format", "jsonl").json_lines
    assert lines[0]["entered"]["notes"] == NASTY
    newest = logged.ok("export", "--engine", "RB-2", "--format", "jsonl", "--traces").json_lines[0]
    assert len(newest["trace"]["channels"]) == 4


def test_a_file_appears_whole_or_not_at_all(
    logged: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = logged.folder / "out.csv"
    ended = logged.ok("export", "--engine", "RB-2", "-o", path)
    assert ended.out == ""
    assert "3 pulls written" in ended.err
    whole = path.read_text()
    assert logged("export", "--engine", "RB-2", "-o", path).code == 2

    def breaks(*_: object, **__: object) -> str:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as full_disk:
        full_disk.setattr(json, "dumps", breaks)
        ended = logged("export", "--engine", "RB-2", "-o", path, "--replace")
    assert ended.code == 1
    assert "No space left on device" in ended.err
    assert path.read_text() == whole
    assert [p.name for p in logged.folder.glob("out.csv*")] == ["out.csv"]


def test_an_engine_over_the_years(logbook: CommandLine, built_demo: Path) -> None:
    found = logbook.ok("--db", built_demo, "health", "PT-6", "--json").json
    blow_by = next(one for one in found["measures"] if one["measure"] == "blow-by")
    assert (blow_by["unit"], blow_by["state"], blow_by["worse"]) == ("m³/h", "few", False)
    assert len(blow_by["points"]) == 5
    out = logbook.ok("--db", built_demo, "health", "PT-6").out
    assert "build 2                      248.7   band average 2800–4200 rpm   SAE J1349" in out
    assert "there are 3" in out
    assert logbook("--db", built_demo, "health", "PT-7").code == 2


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


@pytest.mark.parametrize("traces", [(), ("--traces",)])
def test_parquet_holds_what_csv_holds_and_says_what_it_is(
    logged: CommandLine, traces: tuple[str, ...]
) -> None:
    path = logged.folder / "out.parquet"
    logged.ok("export", "--engine", "RB-2", *traces, "-o", path)
    table = parquet.read_table(path)
    csv_rows = rows_of(logged.ok("export", "--engine", "RB-2", *traces).out)
    assert table.column_names == list(csv_rows[0])
    for row, told in zip(table.to_pylist(), csv_rows, strict=True):
        assert {name: safe_cell(cell) for name, cell in row.items()} == told
    column = "Torque, N·m" if traces else "Corrected peak power, kW"
    field = table.schema.field(column)
    assert str(field.type) == "double"
    assert field.metadata[b"unit"].decode() == column.split(", ")[1]
    assert field.metadata[b"meaning"]


@pytest.mark.parametrize("units", [(), ("--units", "us")])
def test_the_dictionary_tells_every_column_and_key(
    logged: CommandLine, units: tuple[str, ...]
) -> None:
    dictionary = rows_of(logged.ok("export", "--dictionary", *units).out)
    told = {row["Column"]: row for row in dictionary}
    out = logged.ok("export", "--engine", "RB-2", *units).out
    newest = logged.ok("export", "--engine", "RB-2", "--format", "jsonl").json_lines[0]
    for column in next(csv.reader(io.StringIO(out))):
        one = told.get(column) or told["Set-up: …"]
        assert one["Meaning"], column
        assert column.endswith(f", {one['Unit']}") or not one["Unit"]
        found = newest
        for part in one["Key in JSON Lines, SI"].removesuffix(".…").split("."):
            name, _, place = part.partition("[")
            found = (found or {name: None})[name] if found is not None else None
            assert not place or found is None or len(found) > int(place.rstrip("]"))
    samples = logged.ok("export", "--dictionary", "--traces", "--json").json_lines
    assert {"Torque, N·m", "Engine speed, rpm"} <= {row["Column"] for row in samples}


def test_what_cannot_go_out_is_said(logged: CommandLine) -> None:
    for arguments, said in (
        (("--engine", "RB-2", "--format", "parquet"), "-o FILE"),
        (("--engine", "RB-2", "--traces", "--units", "us"), "SI"),
        (("--dictionary", "--engine", "RB-2"), "--dictionary"),
    ):
        ended = logged("export", *arguments)
        assert ended.code == 2
        assert said in ended.err
