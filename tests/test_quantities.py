"""What an operator may type, what it becomes, and what is refused in a sentence."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.quantities import KINDS, Measured, display_unit, parse, show
from logbook.quantities.typed import step_of
from logbook.refusals import BadInput


@pytest.mark.parametrize(
    ("text", "kind", "stored"),
    [
        # Each of these means something else, or nothing, to a units library that guesses.
        ("72F", "temperature", 200 / 9),  # not farads
        ("310 lb-ft", "torque", 310 * 1.3558179483314004),  # not a subtraction
        ("100 cfm", "volume_flow", 100 * 0.028316846592 * 60),  # not centi-femto-meters
        ("1 PS", "power", 0.73549875),  # not petasiemens
        # the ordinary ones
        ("29.5 inHg", "pressure", 99.8984755),
        ("749 mmHg", "pressure", 749 * 0.133322387415),
        ("999 mbar", "pressure", 99.9),
        ("999 hPa", "pressure", 99.9),
        ("0.999 bar", "pressure", 99.9),
        ("14.5 psi", "pressure", 14.5 * 6.894757293168361),
        ("5 inH2O", "vacuum", 5 * 0.24908891),
        ('2 "Hg', "vacuum", 2 * 3.386389),
        ("2 in. Hg", "vacuum", 2 * 3.386389),
        ("85 degF", "temperature", 265 / 9),
        ("85 °F", "temperature", 265 / 9),
        ("85 ºF", "temperature", 265 / 9),  # the ordinal sign, as keyboards give it
        ("25C", "temperature", 25.0),
        ("298.15 K", "temperature", 25.0),
        ("10 °F", "temperature_difference", 50 / 9),
        ("310 ft·lbf", "torque", 310 * 1.3558179483314004),
        ("310 lbft", "torque", 310 * 1.3558179483314004),
        ("420 Nm", "torque", 420.0),
        ("420 N-m", "torque", 420.0),
        ("420 n.m", "torque", 420.0),
        ("420 hp", "power", 420 * 0.74569987158227022),
        ("420 BHP", "power", 420 * 0.74569987158227022),
        ("7500 1/min", "speed", 7500.0),
        ("7500 min⁻¹", "speed", 7500.0),
        ("100 rad/s", "speed", 3000 / math.pi),
        ("350 in³", "displacement", 350 * 0.016387064),
        ("350 cu. in.", "displacement", 350 * 0.016387064),
        ("350 cid", "displacement", 350 * 0.016387064),
        ("1995 cc", "displacement", 1.995),
        ("2 L", "displacement", 2.0),
        ('4.030"', "length", 102.362),
        ("12 thou", "length", 0.3048),
        ("0.4 µm", "length", 0.0004),
        ("5280 ft", "altitude", 1609.344),
        ("32° BTDC", "angle", 32.0),
        ("−4 deg", "angle", -4.0),
        ("235 lb/h", "mass_flow", 235 * 0.45359237),
        ("10 g/s", "mass_flow", 36.0),
        ("40 L/min", "volume_flow", 2.4),
        ("0.745 kg/L", "density", 745.0),
        ("45 %", "fraction", 0.45),
        ("45 %", "percent", 45.0),
        ("12.5:1", "ratio", 12.5),
        ("0.92", "ratio", 0.92),
        ("95 grains/lb", "mixing_ratio", 95 / 7000),
        ("10 g/kg", "mixing_ratio", 0.010),
        ("0.45 lb/(hp·h)", "specific_consumption", 0.45 * 0.608277388),
        ("0.45 lb/hp-hr", "specific_consumption", 0.45 * 0.608277388),
        ("274 g/kWh", "specific_consumption", 0.274),
        ("20 lb·ft²", "inertia", 20 * 0.0421401101),
        ("300 rpm/s", "speed_rate", 300.0),
        ("2 h", "minutes", 120.0),
    ],
)
def test_a_typed_value_is_taken_with_its_unit(text: str, kind: str, stored: float) -> None:
    measured = parse(text, kind, field="Field")
    assert measured.value == pytest.approx(stored, rel=2e-9, abs=1e-12)
    assert measured.typed == text


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("29,5", 29.5),
        ("0,745", 0.745),
        (",5", 0.5),
        ("1,250.5", 1250.5),
        ("1.250,5", 1250.5),
        ("1,250,000", 1_250_000),
        ("1.250.000", 1_250_000),
        ("12 500", 12_500),
        ("12\u202f500,5", 12_500.5),
        ("12345,678", 12_345.678),
        ("1.250", 1.25),
        ("1.2e3", 1200),
        ("1.2E−3", 0.0012),
        ("−5", -5),
        ("–5", -5),
        ("+5", 5),
        ("5.", 5),
        ("1\u00a0", 1),
    ],
)
def test_a_number_is_read_as_it_is_written_anywhere(text: str, number: float) -> None:
    assert parse(f"{text}\u00a0mm", "length", field="Bore").value == pytest.approx(number)


def test_a_comma_with_two_readings_is_refused_with_both() -> None:
    with pytest.raises(BadInput) as refused:
        parse("1,250 mm", "length", field="Arm length")
    assert refused.value.sentence == (
        'Arm length: "1,250 mm" can be read as 1.250 or as 1250.'
        " Wanted: 1.250 with a point, or 1250 without a comma."
    )


def test_a_comma_in_an_engine_speed_can_only_be_thousands() -> None:
    assert parse("7,500 rpm", "speed", field="Speed").value == 7500


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("9**9**9 inHg", "pressure", "is not a unit the logbook knows"),
        ("30 furlongs", "length", '"furlongs" is not a unit the logbook knows'),
        ("310 kW", "torque", '"310 kW" is a power, not a torque'),
        ("85 °F", "pressure", "is a temperature, not a pressure"),
        ("29.5", "pressure", "has no unit"),
        ("45", "fraction", "has no unit"),
        ("nan kPa", "pressure", "is not a number"),
        ("inf kPa", "pressure", "is not a number"),
        ("1e999 kPa", "pressure", "beyond all bounds"),
        ("1e308 km", "length", "beyond all bounds"),
        ("", "pressure", "nothing was given"),
        ("   ", "pressure", "nothing was given"),
        ("kPa", "pressure", "is not a number"),
        ("1.2.3 kPa", "pressure", "is not a number"),
        ("1,25,5 kPa", "pressure", "is not a number"),
        ("0x1F kPa", "pressure", "is not a unit"),
        ("5² kPa", "pressure", "is not a unit"),
        ("٣٠ kPa", "pressure", "is not a number"),
        ("14.7 psig", "pressure", "is not a unit"),
        ("1 kPa" + " " * 70, "pressure", "longer than 64 characters"),
        ("1" * 80, "pressure", "longer than 64 characters"),
        ("__import__('os')", "pressure", "is not a number"),
        ("5 \x1b[31mkPa", "pressure", "is not a unit"),
    ],
)
def test_a_refusal_names_field_given_and_wanted(text: str, kind: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse(text, kind, field="Given field")
    sentence = refused.value.sentence
    assert sentence.startswith("Given field: ")
    assert said in sentence
    assert f"Wanted: {KINDS[kind].words} such as {KINDS[kind].example}" in sentence
    assert "\x1b" not in sentence


def test_an_unknown_unit_is_answered_with_the_known_ones() -> None:
    with pytest.raises(BadInput, match="known here: kPa, inHg, hPa"):
        parse("3 furlongs", "pressure", field="Pressure")


def test_a_bare_number_takes_the_unit_beside_the_field_and_keeps_it() -> None:
    bare = parse(" 29.5 ", "pressure", field="Pressure", bare_unit="inHg")
    assert bare == Measured(pytest.approx(99.8984755), "29.5 inHg", "inHg")
    assert parse("45", "fraction", field="Humidity", bare_unit="%").value == 0.45
    assert parse("72 mmHg", "pressure", field="Pressure", bare_unit="inHg").typed == "72 mmHg"


@given(st.text(max_size=70), st.sampled_from(sorted(KINDS)))
def test_anything_typed_is_a_number_or_a_sentence(text: str, kind: str) -> None:
    try:
        answer = str(parse(text, kind, field="Field").value)
    except BadInput as refused:
        answer = refused.sentence
    assert answer.startswith("Field: ") or math.isfinite(float(answer))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_printed_number_reads_back_exactly(number: float) -> None:
    assert parse(f"{number!r} kPa", "pressure", field="Field").value == number


@given(
    st.floats(min_value=0.001, max_value=30_000),
    st.sampled_from(sorted(KINDS)),
    st.sampled_from(["us", "metric"]),
)
def test_what_is_shown_reads_back(value: float, kind: str, system: str) -> None:
    shown = show(value, kind, system, digits=9)
    back = parse(shown, kind, field="Field", bare_unit=display_unit(kind, system))
    assert back.value == pytest.approx(value, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "step"), [("3.46 in", 0.254), ("86 mm", 1.0), ("86,5mm", 0.1), ("8.60 cm", 0.1)]
)
def test_the_step_of_the_last_digit_typed(text: str, step: float) -> None:
    assert step_of(text, "length") == pytest.approx(step)
