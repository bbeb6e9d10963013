"""The listed units: factors, spellings, display, and that nothing heavy is loaded for them."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.quantities import (
    KINDS,
    display_unit,
    from_stored,
    known_unit,
    linear,
    show,
    stored_unit,
    to_stored,
)
from logbook.quantities.convert import linear_by_pint, registry
from logbook.quantities.spelling import find_unit, units_of
from logbook.quantities.units import UNITS, Unit
from logbook.refusals import BadInput

EVERY = [(kind, unit) for kind in sorted(KINDS) for unit in units_of(kind)]


@pytest.mark.parametrize(
    "unit", [unit for unit in UNITS if unit.exact], ids=lambda u: f"{u.label}-{u.dimension}"
)
def test_a_factor_fixed_here_is_the_one_pint_has(unit: Unit) -> None:
    base = next(u for u in UNITS if u.dimension == unit.dimension and u.exact == (1.0, 0.0))
    factor, offset = linear_by_pint(unit, base)
    assert unit.exact is not None
    assert unit.exact[0] == pytest.approx(factor, rel=1e-9)
    assert unit.exact[1] == pytest.approx(offset, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(("kind", "unit"), EVERY)
@settings(max_examples=25)  # of each unit: a factor and an offset
@given(value=st.floats(min_value=-1e6, max_value=1e6))
def test_there_and_back_is_the_same_value(kind: str, unit: str, value: float) -> None:
    there = to_stored(value, unit, kind)
    assert from_stored(there, unit, kind) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(("kind", "unit"), EVERY)
def test_a_larger_reading_is_a_larger_value(kind: str, unit: str) -> None:
    factor, offset = linear(unit, kind)
    assert factor > 0
    assert math.isfinite(offset)
    assert offset == 0 or kind == "temperature"


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_units_a_kind_is_stored_and_shown_in_are_listed(kind: str) -> None:
    assert linear(stored_unit(kind), kind) == (1.0, 0.0)
    for system in ("us", "metric"):
        assert find_unit(display_unit(kind, system), kind) is not None
        assert show(1.0, kind, system)


def test_no_spelling_means_two_units_of_one_dimension() -> None:
    seen: dict[tuple[str, str], str] = {}
    for unit in UNITS:
        for word in (unit.label, *unit.spellings):
            found = find_unit(
                word, next(k for k, v in KINDS.items() if v.dimension == unit.dimension)
            )
            assert found is unit, f"{word!r} also stands for {found}"
            seen[unit.dimension, word] = unit.label
    assert seen


def test_a_unit_of_another_kind_is_refused() -> None:
    with pytest.raises(BadInput, match='"kW" is not a unit of a torque'):
        linear("kW", "torque")


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("lb-ft", ("lb·ft", "torque")),
        ("lbft", ("lb·ft", "torque")),
        ("ft-lbs", ("lb·ft", "torque")),
        ("Nm", ("N·m", "torque")),
        ("HP", ("hp", "power")),
        ("kW", ("kW", "power")),
        ("PS", ("PS", "power")),
        ("inHg", ("inHg", "pressure")),
        ("degF", ("°F", "temperature")),
        ("°F", ("°F", "temperature")),
        ("℃", ("°C", "temperature")),
        ("rpm", ("rpm", "speed")),
        ("1/min", ("rpm", "speed")),
        ("min-1", ("rpm", "speed")),
        ("kPa", ("kPa", "pressure")),
        ("psi", ("psi", "pressure")),
        ("g/s", ("g/s", "mass_flow")),
        ("cfm", ("cfm", "volume_flow")),
        ("%", ("%", "fraction")),
        ("s", ("s", "time")),
        ("ms", ("ms", "time")),
        ("ft", ("ft", "length")),
        ("furlong", None),
        ("", None),
        ("-", None),
        (":1", None),
    ],
)
def test_a_header_unit_is_recognized(text: str, known: tuple[str, str] | None) -> None:
    assert known_unit(text) == known


@pytest.mark.parametrize(
    ("value", "kind", "system", "shown"),
    [
        (99.8984755, "pressure", "us", "29.50 inHg"),
        (99.8984755, "pressure", "metric", "99.90 kPa"),
        (420.3035639827, "torque", "us", "310.0 lb·ft"),
        (100.0, "power", "us", "134.1 hp"),
        (25.0, "temperature", "us", "77.0 °F"),
        (32.0, "angle", "us", "32.0°"),
        (7500.0, "speed", "metric", "7500 rpm"),
        (0.45, "fraction", "us", "45.0 %"),
        (0.92, "ratio", "us", "0.920"),
        (2.4, "volume_flow", "metric", "40.0 L/min"),
        (-0.001, "power", "us", "0.0 hp"),
        (-1.0, "power", "metric", "-1.0 kW"),
        (None, "power", "us", "—"),
        (math.nan, "power", "us", "—"),
    ],
)
def test_a_stored_value_is_shown_in_the_users_unit(
    value: float | None, kind: str, system: str, shown: str
) -> None:
    assert show(value, kind, system) == shown


def test_digits_and_unit_can_be_chosen() -> None:
    assert show(100.0, "power", "us", digits=2) == "134.10 hp"
    assert show(100.0, "power", "us", unit=False) == "134.1"


def test_only_two_unit_systems_exist() -> None:
    with pytest.raises(ValueError, match="neither 'us' nor 'metric'"):
        display_unit("power", "imperial")


def test_showing_and_the_usual_typing_load_nothing_heavy() -> None:
    script = (
        "import sys\n"
        "from logbook.quantities import parse, show\n"
        "from logbook.engineering import air, correction, engine, fuel, limits\n"
        "show(99.9, 'pressure', 'us'); show(100, 'power', 'us'); show(25, 'temperature', 'us')\n"
        "parse('29.5 inHg', 'pressure', field=''); parse('85 F', 'temperature', field='')\n"
        "heavy = {'pint', 'numpy', 'pandas', 'scipy', 'sqlite_utils', 'psychrolib'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stdout.strip() == "[]", done.stderr


def test_the_registry_is_made_without_a_warning(caplog: pytest.LogCaptureFixture) -> None:
    """No unit of ours takes the name of one of the library's, which is another."""
    registry.__wrapped__()
    assert caplog.messages == []
