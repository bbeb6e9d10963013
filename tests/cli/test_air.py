"""``logbook air``: the documented keys, SI in full, cautions where somebody should look."""

from __future__ import annotations

import pytest

from tests.cli.conftest import CommandLine

READING = ("air", "--pressure", "29.50 inHg", "--temperature", "85 degF", "--rh", "60")
KEYS = {
    "pressure_kpa", "temperature_c", "relative_humidity", "vapour_pressure_kpa",
    "dry_pressure_kpa", "density_kg_m3", "density_altitude_m", "factors", "cautions",
}  # fmt: skip
STANDARDS = {
    "sae-j1349", "sae-j607", "sae-j816b", "iso-1585", "din-70020", "din-70020-dry", "none",
}  # fmt: skip


def test_the_documented_object(logbook: CommandLine) -> None:
    air = logbook.ok(*READING, "--json").json
    assert set(air) >= KEYS
    assert set(air["factors"]) == STANDARDS
    assert air["pressure_kpa"] == pytest.approx(29.5 * 3.386389, rel=1e-6)  # inHg, conventional
    assert air["temperature_c"] == pytest.approx((85 - 32) / 1.8)
    assert air["relative_humidity"] == 0.6
    assert air["factors"]["none"] == {"factor": 1.0, "in_range": True}
    assert air["cautions"] == []
    assert not logbook.book.exists(), "no book is needed, none is made"


def test_words_before_or_after_the_command(logbook: CommandLine) -> None:
    assert logbook.ok("--json", *READING).out == logbook.ok(*READING, "--json").out


def test_a_table_for_people_in_their_units(logbook: CommandLine) -> None:
    assert "29.50 inHg" in logbook.ok(*READING).out
    assert "99.90 kPa" in logbook.ok(*READING, "--units", "metric").out


@pytest.mark.parametrize(
    "humidity",
    [("--wet-bulb", "74 F"), ("--dew-point", "69 F"), ("--vapor-pressure", "0.73 inHg"),
     ("--mixing-ratio", "108 gr/lb"), ("--rh", "60%"), ("--rh", "60 %")],
)  # fmt: skip
def test_any_humidity_will_do(logbook: CommandLine, humidity: tuple[str, str]) -> None:
    air = logbook.ok(*READING[:5], *humidity, "--json").json
    assert air["relative_humidity"] == pytest.approx(0.6, abs=0.02)


def test_a_sea_level_pressure_at_altitude_is_a_caution(logbook: CommandLine) -> None:
    denver = ("air", "--pressure", "29.92 inHg", "--temperature", "72F", "--rh", "30",
              "--altitude", "5280 ft")  # fmt: skip
    codes = [caution["code"] for caution in logbook.ok(*denver, "--json").json["cautions"]]
    assert "sea-level-pressure" in codes
    said = logbook.ok(*denver)
    assert "Caution: " in said.err
    assert "Caution" not in said.out


def test_a_pressure_said_to_be_reduced_is_taken_back_to_the_station(logbook: CommandLine) -> None:
    air = logbook.ok("air", "--pressure", "29.92 inHg", "--temperature", "72F", "--rh", "30",
                     "--altitude", "5280 ft", "--sea-level", "--json").json  # fmt: skip
    assert 82 < air["pressure_kpa"] < 85  # US standard atmosphere at 5280 ft: 83.4 kPa
    assert air["pressure_given_as"] == "sea level"


def test_air_outside_a_standards_range_is_said(logbook: CommandLine) -> None:
    air = logbook.ok("air", "--pressure", "80 kPa", "--temperature", "45 C", "--rh", "10",
                     "--json").json  # fmt: skip
    assert air["factors"]["sae-j1349"]["in_range"] is False
    assert air["cautions"]
