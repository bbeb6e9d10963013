"""What a check says stands in the units of the cell."""

from __future__ import annotations

from logbook.cases.quality import in_units
from logbook.verdict.channel_quality import missing
from logbook.verdict.quality import air_moving, near_baseline, zero_shift


def test_a_checks_sentence_is_in_the_units_of_the_cell() -> None:
    pressure, temperature = air_moving(99.84, 22.0, 99.5, 25.0)
    assert "by +0.10 inHg since" in in_units(pressure.text, "us")
    assert "by +0.34 kPa since" in in_units(pressure.text, "metric")
    assert "by −5.4 °F since" in in_units(temperature.text, "us")
    assert "moved by −1.0 lb·ft," in in_units(zero_shift(0.0, -1.36, 500.0).text, "us")
    assert "−22.5 °F from" in in_units(near_baseline("coolant", 60.0, 72.5).text, "us")


def test_one_sample_is_one() -> None:
    assert missing("Torque", [1.0, float("nan"), 2.0]).text == "Torque lacks 1 sample."
    assert missing("Torque", [float("nan")] * 2).text == "Torque lacks 2 samples."
