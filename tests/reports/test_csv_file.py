"""CSV that a spreadsheet opens without harm and a program reads back."""

from __future__ import annotations

import csv
import io
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plain import plain
from logbook.reports.csv_file import safe_cell, write_csv
from logbook.written import read_back


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        (None, ""),
        (True, "yes"),
        (False, "no"),
        (3, "3"),
        (-0.1, "-0.1"),
        (math.nan, ""),
        (math.inf, ""),
        (1 / 3, "0.3333333333333333"),
        ("plug 3 gray", "plug 3 gray"),
        ("-4", "-4"),
        ("+2.5", "+2.5"),
        ("=1+1", "'=1+1"),
        ("  =1+1", "'  =1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("-2+3+cmd|' /C calc'!A0", "'-2+3+cmd|' /C calc'!A0"),
        ("＝1+1", "'＝1+1"),
        ("+inf", "'+inf"),
        ("\t=1+1", "\\u0009=1+1"),
        ("\r=1+1", "\\u000d=1+1"),
        ("two\nlines", "two\nlines"),
        ("\x1b[31m", "\\u001b[31m"),
        ("'quoted'", "''quoted'"),
        ("C:\\runs\\u0041", "C:\\runs\\u005cu0041"),
        ("C:\\users", "C:\\users"),
    ],
)
def test_a_cell(value: str | float | bool | None, cell: str) -> None:
    assert safe_cell(value) == cell


@given(st.text())
def test_no_text_begins_a_formula(text: str) -> None:
    cell = safe_cell(text).lstrip()
    if cell[:1] in set("=+-@\t\r"):
        assert math.isfinite(float(cell))


@given(st.text() | st.text(alphabet="\\uU0041'=+-@ \r\n\t\x1b\u202e\U000e0041"))
def test_every_text_is_read_back_to_the_character(text: str) -> None:
    assert read_back(safe_cell(text)) == text
    assert plain(safe_cell(text), lines=True) == safe_cell(text)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_numbers_lose_no_digit(value: float) -> None:
    assert float(safe_cell(value)) == value


def test_rows_with_different_columns_share_one_header() -> None:
    out = io.StringIO()
    assert write_csv([{"a": 1, "b": "x"}, {"a": 2, "c": 'say "hi"\nthere'}], out) == 2
    assert list(csv.DictReader(io.StringIO(out.getvalue()))) == [
        {"a": "1", "b": "x", "c": ""},
        {"a": "2", "b": "", "c": 'say "hi"\nthere'},
    ]


def test_heads_are_made_harmless_too() -> None:
    out = io.StringIO()
    write_csv([{"=cmd": 1}], out)
    assert out.getvalue() == "'=cmd\n1\n"


def test_no_rows_is_an_empty_file() -> None:
    out = io.StringIO()
    assert write_csv([], out) == 0
    assert out.getvalue() == ""
