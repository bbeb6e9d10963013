"""What is typed in the search box is understood, or explained."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.refusals import BadInput
from logbook.store.query import (
    DateTerm,
    FactorTerm,
    NumberTerm,
    Query,
    TextTerm,
    Words,
    parse_query,
)

NOW = datetime(2026, 3, 14, 15, 9, tzinfo=UTC)


def terms(text: str, **options: str) -> tuple[object, ...]:
    return parse_query(text, now=NOW, **options).terms


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", ()),
        ("  ", ()),
        ("rings", (Words("rings", False, False),)),
        ("ring*", (Words("ring", False, False),)),
        ('"new rings" -smoke', (Words("new rings", True, False), Words("smoke", False, True))),
        ('-"new rings"', (Words("new rings", True, True),)),
        ("engine:Otter", (TextTerm("engine", "Otter", False),)),
        ('Owner:"K. L."', (TextTerm("owner", "K. L.", False),)),
        ("-knock:heard", (TextTerm("knock", "heard", True),)),
        (":x", (Words(":x", False, False),)),
    ],
)
def test_words_phrases_and_text_fields(text: str, wanted: tuple[object, ...]) -> None:
    assert terms(text) == wanted


@pytest.mark.parametrize(
    ("text", "low", "low_counts", "high", "high_counts"),
    [
        ("timing:>30", 30, False, None, True),
        ("timing:>=30", 30, True, None, True),
        ("timing:<30", None, True, 30, False),
        ("timing:≤30", None, True, 30, True),
        ("timing:28..32", 28, True, 32, True),
        ("timing:28..", 28, True, None, True),
        ("timing:..32", None, True, 32, True),
        ("timing:-5..10", -5, True, 10, True),
        ("timing:>28.5", 28.5, False, None, True),
        ('"main jet":68..72', 68, True, 72, True),
        ("torque:>=300Nm", 300, True, None, True),
        ("torque:>300 Nm", 300, False, None, True),
        ("oil:80..95C", 80, True, 95, True),
        ("oil:80C..95C", 80, True, 95, True),
        # 212 °F is 100 °C by definition of the Fahrenheit scale.
        ("oil:>212F", 100, False, None, True),
        # A value is what would be shown so: 100 °C means 99.5 up to 100.5 °C.
        ("oil:100C", 99.5, True, 100.5, False),
        ("lambda:0.85..0.9", 0.85, True, 0.9, True),
        ("crankcase-vacuum:>10kPa", 10, False, None, True),
    ],
)
def test_comparisons_and_ranges(
    text: str, low: float | None, low_counts: bool, high: float | None, high_counts: bool
) -> None:
    (term,) = terms(text)
    assert isinstance(term, (NumberTerm, FactorTerm))
    assert term.bounds is not None
    assert term.bounds.low == (low if low is None else pytest.approx(low))
    assert term.bounds.high == (high if high is None else pytest.approx(high))
    assert (term.bounds.low_counts, term.bounds.high_counts) == (low_counts, high_counts)


def test_a_unit_that_stands_apart_belongs_to_the_number_before_it() -> None:
    assert terms("power:>200 hp rich") == (*terms("power:>200hp"), Words("rich", False, False))
    assert terms("timing:>30 bar")[1] == Words("bar", False, False)


def test_a_bare_number_needs_a_unit_unless_the_screen_shows_one() -> None:
    with pytest.raises(BadInput, match="has no unit"):
        terms("power:>200")
    assert terms("power:>200", units="metric") == terms("power:>200kW")
    assert terms("power:>200", units="us") == terms("power:>200hp")


def day(year: int, month: int, date: int) -> int:
    return int(datetime(year, month, date, tzinfo=UTC).timestamp())


@pytest.mark.parametrize(
    ("text", "first", "end"),
    [
        ("date:2026", day(2026, 1, 1), day(2027, 1, 1)),
        ("date:2026-03", day(2026, 3, 1), day(2026, 4, 1)),
        ("date:2025-12", day(2025, 12, 1), day(2026, 1, 1)),
        ("date:2026-03-14", day(2026, 3, 14), day(2026, 3, 15)),
        ("date:2026-03..", day(2026, 3, 1), None),
        ("date:..2026-03", None, day(2026, 4, 1)),
        ("date:2026-03-01..2026-04-15", day(2026, 3, 1), day(2026, 4, 16)),
        ("date:>2026-03", day(2026, 4, 1), None),
        ("date:>=2026-03", day(2026, 3, 1), None),
        ("date:<2026-03", None, day(2026, 3, 1)),
        ("date:<=2026-03", None, day(2026, 4, 1)),
        ("date:today", day(2026, 3, 14), day(2026, 3, 15)),
        ("date:yesterday", day(2026, 3, 13), day(2026, 3, 14)),
    ],
)
def test_dates(text: str, first: int | None, end: int | None) -> None:
    assert terms(text) == (DateTerm(first, end, False),)


def test_a_day_begins_at_midnight_where_the_cell_stands() -> None:
    there = timezone(timedelta(hours=-5))
    (term,) = parse_query("date:2026-03-14", now=NOW.astimezone(there)).terms
    assert term == DateTerm(day(2026, 3, 14) + 5 * 3600, day(2026, 3, 15) + 5 * 3600, False)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('"new rings', "a quotation mark is not closed"),
        ('abc"def', "a quotation mark is not closed"),
        ("-", "“-” holds nothing to search for"),
        ("rings & valves", "“&” holds nothing to search for"),
        ('""', "an empty phrase holds nothing"),
        ("timing:", "“timing:” has no value. Wanted: timing:>30"),
        ("power:", "“power:” has no value. Wanted: power:>200hp"),
        ('"":x', "name is missing before the colon"),
        ("timing:>x", "“>x” is not a number to compare with"),
        ("timing:32..28", "runs backwards"),
        ("timing:..", "neither end"),
        ("oil:95C..80C", "runs backwards"),
        ("power:>5furlongs", "is not a unit the logbook knows"),
        ("power:>5kPa", "not a power"),
        ("power:>9**9**9 hp", "power"),
        ("spacer:5mm..1kPa", "mixes two units"),
        ("date:2026-13", "is not in the calendar"),
        ("date:2026-02-30", "is not in the calendar"),
        ("date:soon", "“soon” is not a date"),
        ("date:2026-03..2026-01", "runs backwards"),
        ("date:..", "neither end"),
        ("x" * 501, "501 characters are too many"),
        ("x " * 31, "31 terms are too many"),
    ],
)
def test_a_malformed_query_is_explained(text: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        terms(text)
    assert said in refused.value.sentence


@given(st.text(max_size=80) | st.text('":->.<=* aN09%_\\', max_size=40))
def test_anything_typed_is_understood_or_explained(text: str) -> None:
    with suppress(BadInput):
        assert isinstance(parse_query(text, now=NOW), Query)
