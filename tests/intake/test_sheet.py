"""A spreadsheet with one past pull a row: cells, units, dates."""

from __future__ import annotations

import pytest

from logbook.intake.sheet import date_order, read_day, read_sheet
from logbook.refusals import BadFile, BadInput


def test_a_bare_number_gets_the_unit_of_its_column() -> None:
    sheet = read_sheet(
        "old.csv",
        b"\xef\xbb\xbfDate;Peak power [hp];Peak torque, lb-ft;Main jets;Note (own words)\r\n"
        b'04.05.2009;412,5;398;82;"gray plugs;\nrich"\r\n;;;;\r\n05.05.2009;302 kW;;84;\r\n'
    )  # fmt: skip
    assert sheet.columns == ("date", "peak power", "peak torque", "main jets", "note")
    assert [row.line for row in sheet.rows] == [2, 5]
    assert dict(sheet.rows[0].cells) == {
        "date": "04.05.2009", "peak power": "412,5 hp", "peak torque": "398 lb-ft",
        "main jets": "82", "note": "gray plugs;\nrich",
    }  # fmt: skip
    assert dict(sheet.rows[1].cells) == {
        "date": "05.05.2009", "peak power": "302 kW", "main jets": "84",
    }  # fmt: skip


def test_a_comma_in_a_name_is_no_unit() -> None:
    sheet = read_sheet("old.csv", b'date,"jets, left"\n2009-05-04,82\n')
    assert sheet.columns == ("date", "jets, left")
    assert sheet.rows[0].cells["jets, left"] == "82"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"date,power [hp]\n", "no rows"),
        (b"date,power [hp],Power [kW]\n2009-05-04,1,2\n", "stands twice"),
        (b"2009\n1\n", "names no columns"),
        (b"PK\x03\x04rest of a zip", "not a table of text"),
        (b"", "empty"),
    ],
)
def test_what_is_no_sheet_is_refused(content: bytes, says: str) -> None:
    with pytest.raises(BadFile, match=says):
        read_sheet("old.csv", content)


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("2009-05-04", None, "2009-05-04"),
        ("2009/5/4", None, "2009-05-04"),
        ("4.5.2009", None, "2009-05-04"),
        ("5/4/2009", "mdy", "2009-05-04"),
        ("5/4/2009", "dmy", "2009-04-05"),
        ("5/5/2009", None, "2009-05-05"),
    ],
)
def test_dates_as_people_write_them(text: str, order: str | None, day: str) -> None:
    assert read_day(text, order) == day


@pytest.mark.parametrize(
    ("text", "says"),
    [("5/4/2009", "two ways"), ("31.2.2009", "not a date"), ("May 4", "not a date"),
     ("4.5.09", "four digits")],
)  # fmt: skip
def test_dates_that_are_none_or_two_are_refused(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        read_day(text, None)


def test_one_date_that_can_be_read_in_one_way_settles_the_order() -> None:
    assert date_order(["5/4/2009", "13/4/2009"]) == "dmy"
    assert date_order(["5/4/2009", "5/14/2009"]) == "mdy"
    assert date_order(["5/4/2009", "2009-05-30", "30.5.2009"]) is None
    assert date_order(["13/4/2009", "4/13/2009"]) is None
