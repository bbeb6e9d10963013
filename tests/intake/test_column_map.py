"""Columns that a header does not explain: named by a person, or computed at the wheels."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from logbook.intake import ReadFile, read_bytes
from logbook.intake.column_map import read_column
from logbook.refusals import BadFile, BadInput

LB_FT = 1.3558179483314004  # N·m: pound-force (exact) × foot (exact)


def table(header: str, *scales: float) -> bytes:
    rows = [",".join([str(n), *(f"{scale * n:.3f}" for scale in scales)])
            for n in range(3000, 5000, 50)]  # fmt: skip
    return ("\n".join([header, *rows]) + "\n").encode()


def read(content: bytes, **given: str) -> ReadFile:
    return read_bytes(
        "run.csv", content, lambda _: {k.replace("_", " "): v for k, v in given.items()}
    )


def test_a_named_column_is_the_quantity_in_the_unit_given() -> None:
    file = read(table("N,TQ,T1", 0.1, 0.02), engine_speed="N [rpm]", torque="TQ [lb-ft]")
    torque, speed = file.trace.of("torque"), file.trace.of("engine speed")
    assert torque is not None
    assert speed is not None
    assert (torque.name, torque.unit) == ("TQ", "lb·ft")
    assert torque.si()[0] == pytest.approx(300 * LB_FT)
    assert [channel.name for channel in file.trace.channels] == ["N", "TQ", "T1"]


def test_the_signature_is_that_of_the_header_whatever_was_named() -> None:
    content = table("rpm,TQ,T1", 0.1, 0.02)
    named = read(content, torque="TQ [lb-ft]")
    assert named.signature == read(content, torque="T1 [N·m]").signature


def test_a_named_column_goes_before_one_that_names_itself() -> None:
    content = table("rpm,Torque [N·m],TQ raw", 0.1, 0.2)
    file = read(content, torque="TQ raw [N·m]")
    torque = file.trace.of("torque")
    assert torque is not None
    assert torque.name == "TQ raw"


def test_a_column_is_found_by_its_whole_header_too() -> None:
    content = table("rpm,Brake load / cell 1,T1", 0.1, 0.02)
    file = read(content, torque="brake load / cell 1 [N·m]")
    assert file.trace.of("torque") is not None


def test_a_column_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(BadFile, match=r'no column "TX .N·m."') as refused:
        read(table("rpm,TQ,T1", 0.1, 0.02), torque="TX [N·m]")
    assert '"TQ"' in refused.value.sentence
    assert refused.value.where == "run.csv, line 1"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("torque", "not QUANTITY=COLUMN"),
        ("torque=", "not QUANTITY=COLUMN"),
        ("grip=TQ [N·m]", "no quantity a column can be"),
        ("torque=TQ [kPa]", "no unit of torque"),
        ("wheel force=F [kPa]", "no unit of wheel force"),
    ],
)
def test_what_cannot_be_a_column_is_refused(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        read_column(text)


def test_quantities_may_be_called_by_short_names() -> None:
    assert read_column("rpm = N [1/min]") == ("engine speed", "N [1/min]")
    assert read_column("engine_speed=N") == ("engine speed", "N")
    assert read_column("Crankcase vacuum=PV [inHg]") == ("crankcase vacuum", "PV [inHg]")


@pytest.mark.parametrize(
    ("header", "watts"),
    [
        # Power = force × speed, both at 3000 rpm; units by definition.
        ("Engine speed [rpm],Wheel force [N],Road speed [km/h]", 3000 * 90 / 3.6),
        ("Engine speed [rpm],Tractive force [lbf],Vehicle speed [mph]",
         3000 * 4.4482216152605 * 90 * 0.44704),
        ("Engine speed [rpm],Roller force [kN],Roller speed [m/s]", 3_000_000 * 90),
    ],
)  # fmt: skip
def test_wheel_force_times_road_speed_counts_as_power(header: str, watts: float) -> None:
    file = read(table(header, 1.0, 0.03))
    power = file.trace.of("power")
    assert power is not None
    assert power.si()[0] == pytest.approx(watts / 1000, abs=0.0006)
    assert file.trace.of("torque") is None
    assert any("power at the wheels" in caution.text for caution in file.cautions)


def test_wheel_force_can_be_named_too() -> None:
    file = read(table("rpm,F1,V1", 1.0, 0.03), wheel_force="F1 [N]", road_speed="V1 [km/h]")
    assert file.trace.of("power") is not None


def test_torque_goes_before_what_the_wheels_say() -> None:
    header = "Engine speed [rpm],Wheel force [N],Road speed [km/h],Torque [N·m]"
    file = read(table(header, 1.0, 0.03, 0.1))
    assert file.trace.of("power") is None
    assert file.trace.of("torque") is not None


@pytest.mark.parametrize("header", ["Engine speed [rpm],Wheel force [N],T1",
                                    "Engine speed [rpm],Wheel force [kPa],Road speed [km/h]",
                                    "Engine speed [rpm],T1,T2"])  # fmt: skip
def test_a_log_without_any_load_is_refused_and_says_so(header: str) -> None:
    with pytest.raises(BadFile, match="neither torque nor power") as refused:
        read(table(header, 1.0, 0.03))
    assert "wheel force and road speed" in refused.value.sentence
    assert "--column" in refused.value.sentence


def test_nothing_known_changes_nothing() -> None:
    content = table("rpm,Torque [N·m],T1", 0.1, 0.02)
    asked: list[str] = []

    def nothing(signature: str) -> Mapping[str, str]:
        asked.append(signature)
        return {}

    file = read_bytes("run.csv", content, nothing)
    assert asked == [file.signature]
    assert file.trace.channels[1].quantity == "torque"
