"""What is done with the samples: gaps, doubles, clocks, text, units not stated, the part taken."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import pytest

from logbook.intake import ReadFile, read_bytes
from logbook.refusals import BadFile


def read(header: str, lines: Iterable[str]) -> ReadFile:
    return read_bytes("pull.csv", (header + "\n" + "\n".join(lines)).encode())


def codes(file: ReadFile) -> list[str]:
    return [caution.code for caution in file.cautions]


def text_of(file: ReadFile, code: str) -> str:
    return next(caution.text for caution in file.cautions if caution.code == code)


def values(file: ReadFile, name: str) -> list[float]:
    found: list[float] = next(c.values for c in file.trace.channels if c.name == name).tolist()
    return found


SPEEDS = range(3000, 5000, 50)


def test_missing_cells_of_other_channels_become_nan() -> None:
    file = read("rpm,Nm,Oil temp [°C]", [f"{n},200,{'' if n == 3050 else 90}" for n in SPEEDS])
    assert math.isnan(values(file, "Oil temp")[1])
    assert file.cautions == ()


@pytest.mark.parametrize("cell", ["", "-", "--", "n/a", "NULL"])
def test_lines_without_torque_are_left_out_with_a_caution(cell: str) -> None:
    file = read("rpm,Nm", [f"{n},{cell if n in (3050, 3100) else 200}" for n in SPEEDS])
    assert len(values(file, "Nm")) == len(SPEEDS) - 2
    assert 3050.0 not in values(file, "rpm")
    assert text_of(file, "rows-dropped") == (
        '2 lines with nothing under "rpm" or "Nm" left out, the first is line 3'
    )


def test_an_essential_column_that_is_wholly_blank_is_as_good_as_none() -> None:
    file = read("rpm,Nm,kW", [f"{n},200," for n in SPEEDS])
    assert file.trace.of("torque") is not None
    assert file.trace.of("power") is None
    assert len(values(file, "Nm")) == len(SPEEDS)


def test_a_few_words_in_another_channel_are_missing_values_and_told() -> None:
    file = read("rpm,Nm,Oil temp [°C]", [f"{n},200,{'ERR' if n < 3100 else 90}" for n in SPEEDS])
    assert "2 cells" in text_of(file, "cells-unread")
    assert "line 2" in text_of(file, "cells-unread")
    assert math.isnan(values(file, "Oil temp")[0])


def test_infinity_in_another_channel_is_a_missing_value() -> None:
    file = read("rpm,Nm,AFR", [f"{n},200,{'inf' if n < 3050 else 12.5}" for n in SPEEDS])
    assert math.isnan(values(file, "AFR")[0])
    assert 'the first on line 2 ("inf")' in text_of(file, "cells-unread")


def test_a_column_of_text_is_no_channel_but_is_named() -> None:
    file = read("rpm,Nm,Gear", [f"{n},200,third" for n in SPEEDS])
    assert file.text_columns == ("Gear",)
    assert [c.name for c in file.trace.channels] == ["rpm", "Nm"]
    assert "text-column" in codes(file)


def test_a_column_of_truth_values_is_text() -> None:
    assert read("rpm,Nm,Knock", [f"{n},200,False" for n in SPEEDS]).text_columns == ("Knock",)


@pytest.mark.parametrize("said", ["False", "true"])
def test_truth_values_are_no_numbers_though_they_come_late(said: str) -> None:
    """Where the first rows are blank nothing says so beforehand."""
    file = read(
        "rpm,Nm,Knock", [f"{n},200,{said if n > 4000 else ''}" for n in range(3000, 5000, 25)]
    )
    assert file.text_columns == ("Knock",)


def test_numbers_that_come_late_are_numbers_and_words_among_them_are_said() -> None:
    file = read("rpm,Nm,Gear,Oil,Pump", [
        f"{n},200,3,{n / 40:.1f},{'on' if n == 4500 else 1.5}" if n > 4000 else f"{n},200,3,,"
        for n in range(3000, 5000, 25)
    ])  # fmt: skip
    assert values(file, "Oil")[-1] == 124.4
    assert math.isnan(values(file, "Oil")[0])
    assert values(file, "Pump")[-1] == 1.5
    assert 'the first on line 62 ("on")' in text_of(file, "cells-unread")


def test_columns_without_a_name_are_numbered_and_blank_ones_let_go() -> None:
    file = read("rpm,,Nm,,x", [f"{n},7,200,,1" for n in SPEEDS])
    assert [c.name for c in file.trace.channels] == ["rpm", "column 2", "Nm", "x"]


def test_unknown_channels_keep_name_and_unit_and_known_units_convert() -> None:
    file = read("rpm,Nm,MAP [kPa],Gauge [psi],Strain [µV/V]", [f"{n},200,99,30,5" for n in SPEEDS])
    found = {c.name: c for c in file.trace.channels}
    assert found["MAP"].quantity is None
    assert found["Gauge"].si_unit == "kpa"
    assert found["Gauge"].si()[0] == pytest.approx(30 * 6.894757293168361)
    assert (found["Strain"].unit, found["Strain"].si_unit) == ("µV/V", None)
    assert file.unknown_units == ("µV/V",)


def test_units_convert_to_the_stored_ones() -> None:
    file = read(
        "rpm,lb-ft,hp,Oil temp [°F],Manifold vacuum [inHg],Throttle [%]",
        [f"{n},200,80,212,2,99.5" for n in SPEEDS],
    )
    stored = {c.quantity: float(c.si()[0]) for c in file.trace.channels}
    assert [c.si_unit for c in file.trace.channels] == ["rpm", "nm", "kw", "c", "kpa", "percent"]
    assert stored["torque"] == pytest.approx(271.16358966628607)
    assert stored["power"] == pytest.approx(59.65598972658)
    assert stored["oil temperature"] == pytest.approx(100.0)
    assert stored["manifold vacuum"] == pytest.approx(6.772778)
    assert stored["throttle"] == 99.5


# --- clocks ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stamps", "seconds", "decimals"),
    [
        (("14:03:07", "14:03:08", "14:03:09"), [50587.0, 50588.0, 50589.0], 0),
        (("14:03:07.25", "14:03:07.50", "14:03:08.00"), [50587.25, 50587.5, 50588.0], 2),
        (("2:03:07 PM", "2:03:08 PM", "2:03:09 PM"), [50587.0, 50588.0, 50589.0], 0),
        (("3:07.5", "3:08.0", "3:08.5"), [187.5, 188.0, 188.5], 1),
        (("23:59:59", "00:00:01", "00:00:03"), [86399.0, 86401.0, 86403.0], 0),
        (
            ("2026-03-01 23:59:59.5", "2026-03-02 00:00:00.5", "2026-03-02T00:00:01.5"),
            [86399.5, 86400.5, 86401.5],
            1,
        ),
        (("01.03.2026 10:00:00", "01.03.2026 10:00:01", "01.03.2026 10:00:02"),
         [36000.0, 36001.0, 36002.0], 0),
        (("3/31/2026 10:00:00", "3/31/2026 10:00:01", "4/1/2026 10:00:01"),
         [36000.0, 36001.0, 122401.0], 0),
    ],
)  # fmt: skip
def test_a_clock_becomes_time(stamps: tuple[str, ...], seconds: list[float], decimals: int) -> None:
    file = read("Clock;rpm;Nm", [f"{s};{3000 + 50 * i};200" for i, s in enumerate(stamps)])
    time = file.trace.of("time")
    assert time is not None
    assert (time.name, time.unit, time.decimals) == ("Clock", "s", decimals)
    assert time.values.tolist() == seconds


def test_hours_and_minutes_or_minutes_and_seconds_are_not_guessed() -> None:
    file = read("Clock;rpm;Nm", [f"14:0{i};{3000 + 50 * i};200" for i in range(5)])
    assert file.text_columns == ("Clock",)


def test_a_remark_under_a_clock_is_left_out() -> None:
    lines = [f"14:03:{i:02d};{3000 + 50 * i};200" for i in range(30)]
    file = read("Clock;rpm;Nm", [*lines, "End of log"])
    assert file.trace.of("time") is not None
    assert text_of(file, "footer") == 'Left out below the samples: line 32, "End of log"'


def test_a_clock_is_no_torque() -> None:
    with pytest.raises(BadFile, match="neither torque nor power"):
        read("rpm,Torque [Nm],AFR", [f"{n},14:03:07,12" for n in SPEEDS])


def test_a_time_in_seconds_goes_before_a_clock() -> None:
    lines = [f"14:03:0{i},{i / 10},{3000 + 50 * i},200" for i in range(5)]
    file = read("Clock,Time [s],rpm,Nm", lines)
    time = file.trace.of("time")
    assert time is not None
    assert time.name == "Time"
    assert file.trace.channels[0].unit == "s"


def test_time_below_zero_is_kept() -> None:
    file = read("Time [s],rpm,Nm", [f"{i / 10 - 1},{3000 + 50 * i},200" for i in range(20)])
    time = file.trace.of("time")
    assert time is not None
    assert time.values[0] == -1.0


# --- several columns of one quantity --------------------------------------------------------


def test_of_two_torques_that_contradict_the_first_is_taken_with_a_caution() -> None:
    file = read("rpm,Torque [Nm],Torque [Nm]", [f"{n},200,210" for n in SPEEDS])
    torque = file.trace.of("torque")
    assert torque is not None
    assert torque.values[0] == 200
    assert [c.name for c in file.trace.channels] == ["rpm", "Torque", "Torque (2)"]
    assert "columns 2 and 3" in text_of(file, "duplicate-column")


def test_of_two_torques_that_agree_nothing_is_said() -> None:
    lines = [f"{n},200,{200 / 1.3558179:.2f}" for n in SPEEDS]
    file = read("rpm,Torque [Nm],Torque [lb-ft]", lines)
    assert file.cautions == ()


def test_the_engine_speed_goes_before_another_speed() -> None:
    file = read("Dyno speed [rpm],Engine speed [rpm],Nm", [f"{n / 2},{n},200" for n in SPEEDS])
    speed = file.trace.of("engine speed")
    assert speed is not None
    assert speed.name == "Engine speed"


def test_the_observed_torque_goes_before_the_corrected_one() -> None:
    file = read("rpm,Corrected torque [Nm],Torque [Nm]", [f"{n},206,200" for n in SPEEDS])
    torque = file.trace.of("torque")
    assert torque is not None
    assert torque.values[0] == 200
    assert file.named_corrected == ()
    assert [c.quantity for c in file.trace.channels] == ["engine speed", None, "torque"]


def test_columns_that_are_all_corrected_are_taken_and_named() -> None:
    file = read("rpm,Torque SAE [Nm],Power (corr) [kW]", [f"{n},206,70" for n in SPEEDS])
    assert file.named_corrected == ("Torque SAE [N·m]", "Power (corr) [kW]")


def test_a_corrected_power_beside_an_observed_torque_is_left_aside() -> None:
    file = read("rpm,Torque [Nm],Corrected power [kW]", [f"{n},200,70" for n in SPEEDS])
    assert file.trace.of("power") is None
    assert file.named_corrected == ()
    assert "corrected-column" in codes(file)


# --- units not stated -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "divisor", "units"),
    [
        ("rpm,torque,power", 5252.1131, ("lb·ft", "hp")),
        ("rpm,torque,power", 9549.2966, ("N·m", "kW")),
        ("rpm,torque [Nm],power", 9549.2966, ("N·m", "kW")),
        ("rpm,torque [lb-ft],power", 5252.1131, ("lb·ft", "hp")),
        ("rpm,torque,power [kW]", 9549.2966, ("N·m", "kW")),
        ("rpm,torque,power [hp]", 5252.1131, ("lb·ft", "hp")),
    ],
)
def test_units_that_arithmetic_settles(header: str, divisor: float, units: tuple[str, str]) -> None:
    file = read(header, [f"{n},200,{200 * n / divisor * 1.004:.2f}" for n in SPEEDS])
    torque, power = file.trace.of("torque"), file.trace.of("power")
    assert torque is not None
    assert power is not None
    assert (torque.unit, power.unit) == units
    assert "unit-inferred" in codes(file)


@pytest.mark.parametrize(
    ("header", "divisor"),
    [
        ("rpm,torque,power", 7042.9),  # lb·ft with kW, or N·m with PS: 0.3 % apart
        ("rpm,torque,power", 5252.1131 * 1.02),
        ("rpm,torque [Nm],power", 7120.9),  # hp, or PS: 1.4 % apart
    ],
)
def test_units_that_arithmetic_does_not_settle_are_asked_for(header: str, divisor: float) -> None:
    with pytest.raises(BadFile, match=r"line 1: column .* has no unit.*such as"):
        read(header, [f"{n},200,{200 * n / divisor:.3f}" for n in SPEEDS])


def test_speed_without_a_unit_is_rpm_and_said() -> None:
    file = read("Engine speed,Nm", [f"{n},200" for n in SPEEDS])
    assert "rpm" in text_of(file, "unit-assumed")


def test_other_channels_without_a_unit_are_kept_and_not_used() -> None:
    file = read("rpm,Nm,Oil temp,Lambda,Time", [f"{n},200,90,0.9,{n / 50}" for n in SPEEDS])
    found = {c.name: c.quantity for c in file.trace.channels}
    assert found["Oil temp"] is None
    assert found["Lambda"] == "lambda"
    assert found["Time"] == "time"
    assert "Oil temp" in text_of(file, "unit-missing")


# --- kind and part --------------------------------------------------------------------------


def test_a_fine_table_is_a_sweep_taken_whole() -> None:
    file = read("rpm,Nm", [f"{n},{5 if n < 3200 else 200}" for n in SPEEDS])
    assert file.kind_hint == "sweep"
    assert (file.trace.first_sample, file.trace.last_sample) == (0, len(SPEEDS) - 1)


def test_a_short_coarse_table_is_steady_points() -> None:
    assert read("rpm,Nm", [f"{n},200" for n in range(2000, 5000, 250)]).kind_hint == "steady points"


def test_a_log_with_holds_is_steady_points() -> None:
    speed = np.concatenate([np.full(100, n) for n in (2000.0, 3000.0, 4000.0, 5000.0)])
    lines = [f"{i / 10:.1f},{n:.1f},200" for i, n in enumerate(speed)]
    assert read("Time [s],rpm,Nm", lines).kind_hint == "steady points"


def test_of_a_log_the_rising_loaded_part_is_taken_and_said() -> None:
    idle, up, down = [900.0] * 50, np.linspace(2500, 6500, 200), np.linspace(6500, 900, 100)
    speed = np.concatenate([idle, up, down])
    load = [5.0] * 50 + [200.0] * 200 + [-10.0] * 100
    lines = [f"{i / 50:.2f},{n:.1f},{m}" for i, (n, m) in enumerate(zip(speed, load, strict=True))]
    file = read("Time [s],rpm,Nm", lines)
    assert file.kind_hint == "sweep"
    assert abs(file.trace.first_sample - 50) <= 2
    assert abs(file.trace.last_sample - 249) <= 2
    assert len(file.trace.channels[0].values) == 350
    assert "of 350 were taken" in text_of(file, "samples-taken")


def test_a_log_without_a_rise_is_taken_whole_and_said() -> None:
    lines = [f"{i / 50:.2f},{3000 + (i % 2)},200" for i in range(50)]
    file = read("Time [s],rpm,Nm", lines)
    assert (file.trace.first_sample, file.trace.last_sample) == (0, 49)
    assert "no-rise" in codes(file)
