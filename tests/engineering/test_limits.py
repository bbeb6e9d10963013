"""Values that nothing real can have are refused by name."""

from __future__ import annotations

import math

import pytest

from logbook.engineering.limits import LIMITS, check
from logbook.refusals import BadInput


@pytest.mark.parametrize("name", sorted(LIMITS))
def test_both_ends_are_allowed_and_nothing_beyond(name: str) -> None:
    _, low, high = LIMITS[name]
    check("Field", name, low)
    check("Field", name, high)
    for beyond in (low - 0.1, high + 0.1, math.nan, math.inf, -math.inf):
        with pytest.raises(BadInput):
            check("Field", name, beyond)


def test_the_limits_are_the_agreed_ones() -> None:
    assert {name: limits[1:] for name, limits in LIMITS.items() if name != "altitude"} == {
        "air pressure": (50, 110),
        "air temperature": (-40, 60),
        "relative humidity": (0, 1),
        "timing": (-20, 80),
        "speed": (0, 30_000),
    }


def test_the_sentence_names_field_value_and_limits() -> None:
    with pytest.raises(BadInput) as refused:
        check("Timing", "timing", 95)
    assert refused.value.sentence == (
        "Timing: 95° is outside -20 to 80°. Wanted: a value of -20 to 80°."
    )


@pytest.mark.parametrize(
    ("kpa", "meant"),
    [(29.92, "29.92 inHg"), (1013.0, "1013 mbar"), (760.0, "760 mbar"), (14.7, "14.7 psi")],
)
def test_a_barometer_reading_in_the_wrong_unit_is_recognized(kpa: float, meant: str) -> None:
    with pytest.raises(BadInput, match=f"or {meant} if that is what the barometer shows"):
        check("Station pressure", "air pressure", kpa)


def test_a_pressure_that_is_none_in_any_unit_gets_no_hint() -> None:
    with pytest.raises(BadInput, match="Wanted: a value of 50 to 110 kPa"):
        check("Station pressure", "air pressure", 45.0)


def test_what_was_typed_is_said_in_its_own_unit() -> None:
    with pytest.raises(BadInput) as refused:
        check("Pressure", "air pressure", 138.842, "inHg")
    assert refused.value.sentence == (
        "Pressure: 41 inHg is outside 14.76 to 32.48 inHg. Wanted: a value of 14.76 to 32.48 inHg."
    )


def test_a_kind_without_limits_only_has_to_be_a_number() -> None:
    check("Torque", "torque", 1e9)
    with pytest.raises(BadInput, match="Torque: nan is not a number"):
        check("Torque", "torque", math.nan)


def test_a_misspelled_name_is_a_mistake_of_the_program() -> None:
    with pytest.raises(KeyError):
        check("Torque", "toque", 1.0)
