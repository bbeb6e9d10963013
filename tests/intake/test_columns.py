"""What a header cell is taken for."""

from __future__ import annotations

import pytest

from logbook.intake.columns import describe

TAKEN = [
    ("Engine speed [rpm]", "Engine speed", "rpm", "engine speed"),
    ("rpm", "rpm", "rpm", "engine speed"),
    ("RPM", "RPM", "rpm", "engine speed"),
    ("n (1/min)", "n", "rpm", "engine speed"),
    ("Engine speed / 1/min", "Engine speed", "rpm", "engine speed"),
    ("Drehzahl", "Drehzahl", "", "engine speed"),
    ("engine_speed_rpm", "engine_speed", "rpm", "engine speed"),
    ("torque_lbft", "torque", "lb·ft", "torque"),
    ("Torque, lb-ft", "Torque", "lb·ft", "torque"),
    ("Torque (ft-lbs)", "Torque", "lb·ft", "torque"),
    ("M [Nm]", "M", "N·m", "torque"),
    ("T [Nm]", "T", "N·m", "torque"),
    ("torque/Nm", "torque", "N·m", "torque"),
    ("EngineTrqNm", "EngineTrq", "N·m", "torque"),
    ("Load cell torque [N·m]", "Load cell torque", "N·m", "torque"),
    ("P (kW)", "P", "kW", "power"),
    ("power_hp", "power", "hp", "power"),
    ("power hp SAE", "power SAE", "hp", "power"),
    ("whp", "whp", "hp", "power"),
    ("manifold vacuum inHg", "manifold vacuum", "inHg", "manifold vacuum"),
    ("Intake vac [kPa]", "Intake vac", "kPa", "manifold vacuum"),
    ("Crankcase vacuum, inHg", "Crankcase vacuum", "inHg", "crankcase vacuum"),
    ("blow-by cfm", "blow-by", "cfm", "blow-by"),
    ("Blowby (L/min)", "Blowby", "L/min", "blow-by"),
    ("fuel_flow_kg_h", "fuel_flow", "kg/h", "fuel flow"),
    ("Fuel flow kg/h", "Fuel flow", "kg/h", "fuel flow"),
    ("air_flow_lb_h", "air_flow", "lb/h", "air flow"),
    ("Airflow cfm", "Airflow", "cfm", "air volume flow"),
    ("Oil Temp (°F)", "Oil Temp", "°F", "oil temperature"),
    ("oil_temperature_c", "oil_temperature", "°C", "oil temperature"),
    ("EGT1 (degF)", "EGT1", "°F", "exhaust temperature"),
    ("lambda", "lambda", "", "lambda"),
    ("Lambda 2 [-]", "Lambda 2", "", "lambda"),
    ("Throttle %", "Throttle", "%", "throttle"),
    ("Timing [deg BTDC]", "Timing", "deg", "timing"),
    ("Time (s)", "Time", "s", "time"),
    ("t [ms]", "t", "ms", "time"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "name", "unit", "quantity"), TAKEN, ids=[t[0] for t in TAKEN])
def test_known_columns(cell: str, name: str, unit: str, quantity: str) -> None:
    column = describe(cell)
    assert (column.name, column.unit, column.quantity) == (name, unit, quantity)


@pytest.mark.parametrize(
    ("cell", "name", "unit"),
    [
        ("AFR", "AFR", ""),
        ("MAP kPa", "MAP", "kPa"),
        ("Torque setpoint [Nm]", "Torque setpoint", "N·m"),
        ("Friction power [kW]", "Friction power", "kW"),
        ("Wheel speed [rpm]", "Wheel speed", "rpm"),
        ("Speed [mph]", "Speed", "mph"),
        ("Torque [furlong]", "Torque", "furlong"),
        ("Torque [°C]", "Torque", "°C"),
        ("Correction factor", "Correction factor", ""),
        ("km/h", "km/h", ""),
        ("Foo in", "Foo in", ""),
        ("Knock (counts)", "Knock (counts)", ""),
        ("Exhaust temp spread", "Exhaust temp spread", ""),
        ("", "", ""),
    ],
)
def test_everything_else_keeps_its_own_name(cell: str, name: str, unit: str) -> None:
    column = describe(cell)
    assert (column.name, column.unit, column.quantity) == (name, unit, None)


@pytest.mark.parametrize(
    ("cell", "corrected"),
    [
        ("Corrected torque [Nm]", True),
        ("Power (corr) [hp]", True),
        ("SAE J1349 Power [hp]", True),
        ("Torque_Nm_corr", True),
        ("Torque korr. [Nm]", True),
        ("Torque [Nm]", False),
        ("Uncorrected torque [Nm]", False),
        ("Torque (not corrected) [Nm]", False),
        ("Observed power [hp]", False),
    ],
)
def test_a_name_that_says_corrected(cell: str, corrected: bool) -> None:
    column = describe(cell)
    assert column.quantity in ("torque", "power")
    assert column.corrected is corrected


def test_a_units_row_goes_before_the_name() -> None:
    column = describe("Drehmoment", "[Nm]")
    assert (column.name, column.unit, column.quantity) == ("Drehmoment", "N·m", "torque")


def test_control_characters_in_a_name_are_written_out() -> None:
    assert describe("\x1b[31mred\u202e [Nm]").name == "\\x1b[31mred\\u202e"
