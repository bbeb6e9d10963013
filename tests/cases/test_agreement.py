"""A stored value that is not what was typed is found, though it may be valid in itself."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from logbook.cases import safety
from tests.cases.conftest import Shop


def test_everything_that_can_be_typed_agrees(shop: Shop) -> None:
    shop.peaks(400, timing=30, oil="185 F", coolant="180 F", knock="none", alarms="knock, coolant",
               throttle="yes", note="  =cmd() ", oil_hours="3.5", sweep_rate="300 rpm/s",
               pressure="29.42 inHg", temperature="78 F", wet_bulb="64 F")  # fmt: skip
    shop.peaks(401, dew_point="55 F")
    shop.peaks(402, vapor_pressure="0.45 inHg")
    assert safety.verify(shop.desk) == []


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        ("UPDATE pulls SET oil_c = oil_c + 1", "oil temperature is stored as 86"),
        ("UPDATE pulls SET knock = 'heard'", "knock check is stored as heard but was typed as no"),
        ("UPDATE engines SET bore_mm = 108", "bore is stored as 108"),
        ("UPDATE cells SET altitude_m = 0", "altitude is stored as 0"),
        ("UPDATE airs SET humidity = 0.5", "relative humidity is stored as 0.5"),
    ],
)
def test_a_value_that_changed_by_itself_is_found(
    shop: Shop, air: dict[str, str], sql: str, said: str
) -> None:
    shop.peaks(400, oil="185 F", knock="none", **air)
    with closing(sqlite3.connect(shop.desk.book.path)) as db:
        db.execute(sql)
        db.execute("UPDATE scores SET version = version")
        db.commit()
    assert said in "\n".join(safety.verify(shop.desk))
