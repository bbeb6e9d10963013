"""Traces are stored exactly as printed, and plain SQL reads the very same values."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.records.pull import Pull
from logbook.records.trace import Channel, Trace
from logbook.refusals import BadInput, Conflict
from logbook.store import codec
from tests.store.conftest import Shop

printed = st.integers(0, 9).flatmap(
    lambda decimals: st.tuples(
        st.just(decimals),
        st.lists(st.none() | st.integers(-(10**14), 10**14), max_size=40).map(
            lambda whole: [None if n is None else f"{n / 10**decimals:.{decimals}f}" for n in whole]
        ),
    )
)


@given(printed)
def test_printed_decimals_come_back_bit_for_bit(case: tuple[int, list[str | None]]) -> None:
    decimals, texts = case
    values = np.array([float("nan") if text is None else float(text) for text in texts])
    stored = codec.encode("torque", values, decimals)
    assert np.array_equal(codec.decode(stored, decimals), values, equal_nan=True)


@given(st.lists(st.floats(allow_infinity=False), max_size=30), st.integers(0, 25))
def test_any_other_numbers_come_back_too(values: list[float], decimals: int) -> None:
    array = np.array(values, dtype=np.float64)
    stored = codec.encode("oddity", array, decimals)
    assert np.array_equal(codec.decode(stored, decimals), array, equal_nan=True)


def test_a_narrow_channel_takes_few_digits() -> None:
    stored = codec.encode("oil", np.array([90.1, 90.4, np.nan, 91.0]), 1)
    assert (stored.base, stored.width, stored.digits) == (900, 2, "01040010")


def test_numbers_that_are_no_printed_decimals_are_listed() -> None:
    stored = codec.encode("ratio", np.array([1 / 3, np.nan, 0.5]), 2)
    assert stored.digits is None
    assert json.loads(stored.listed or "") == [1 / 3, None, 0.5]


def test_an_infinite_value_is_refused_with_its_channel() -> None:
    with pytest.raises(BadInput, match="Channel boost: an infinite value"):
        codec.encode("boost", np.array([1.0, np.inf]), 1)


@pytest.mark.parametrize(
    "stored",
    [
        codec.Stored(0, 2, "01x3", None),
        codec.Stored(0, 2, "013", None),
        codec.Stored(0, 2, "01é3", None),
        codec.Stored(None, None, None, None),
        codec.Stored(None, None, None, "[1, "),
    ],
)
def test_damaged_samples_are_told_apart(stored: codec.Stored) -> None:
    with pytest.raises(ValueError):  # noqa: PT011
        codec.decode(stored, 1)


def sweep() -> Trace:
    """Four samples: speed, torque in lb·ft with a gap, a channel of no known unit."""
    return Trace(
        (
            Channel("Speed", "engine speed", "rpm", np.array([3000.0, 3100, 3200, 3301]), 0, "rpm"),
            Channel(
                "Torque", "torque", "lb·ft", np.array([-1.25, np.nan, 310.5, 311.75]), 2, "N·m",
                1.3558179483314004,
            ),
            Channel("Knob", None, "clicks", np.array([0.1, 1 / 3, 2.0, np.nan]), 1),
            Channel("Oil", "oil temperature", "°F", np.full(4, 190.0), 0, "°C", 5 / 9, -160 / 9),
        ),
        first_sample=1,
        last_sample=3,
    )  # fmt: skip


def log(shop: Shop, trace: Trace) -> Pull:
    pull = shop.pull()
    with shop.book.changing(who="x") as change:
        change.put_trace(pull.id, trace)
    return pull


def test_a_trace_comes_back_with_every_channel(shop: Shop) -> None:
    trace, other = sweep(), shop.pull()
    pull = log(shop, trace)
    with shop.book.reading() as read:
        found = read.traces([pull.id, other.id])
        assert read.trace(other.id) is None
    assert list(found) == [pull.id]
    back = found[pull.id]
    assert (back.first_sample, back.last_sample) == (1, 3)
    for given_channel, channel in zip(trace.channels, back.channels, strict=True):
        assert np.array_equal(channel.values, given_channel.values, equal_nan=True)
        for name in ("name", "quantity", "unit", "decimals", "si_unit", "si_factor", "si_offset"):
            assert getattr(channel, name) == getattr(given_channel, name)


def test_the_view_of_points_shows_the_very_same_values(shop: Shop) -> None:
    trace = sweep()
    pull = log(shop, trace)
    rows = shop.plain_sql(
        "SELECT channel, unit, sample, value, si_value, si_unit FROM trace_points"
        " WHERE pull_id = ?", pull.id,
    )  # fmt: skip
    assert len(rows) == 16
    for channel in trace.channels:
        points = sorted(row[2:] for row in rows if row[:2] == (channel.name, channel.unit))
        assert [sample for sample, *_ in points] == [0, 1, 2, 3]
        for (_, value, si_value, si_unit), wanted, wanted_si in zip(
            points, channel.values, channel.si(), strict=True
        ):
            assert value == (None if np.isnan(wanted) else wanted)
            assert si_unit == channel.si_unit
            if si_unit and not np.isnan(wanted):
                assert si_value == wanted_si


@given(st.lists(st.integers(-(10**12), 10**12), min_size=1, max_size=20), st.integers(0, 9))
def test_plain_sql_divides_as_exactly_as_the_book(whole: list[int], decimals: int) -> None:
    import sqlite3

    values = np.array([float(f"{n / 10**decimals:.{decimals}f}") for n in whole])
    stored = codec.encode("x", values, decimals)
    if stored.digits is None:
        return
    db = sqlite3.connect(":memory:")
    for k, value in enumerate(values):
        row = db.execute(
            "SELECT (? + nullif(CAST(substr(?, ?, ?) AS INTEGER), 0)) / CAST('1e' || ? AS REAL)",
            (stored.base, stored.digits, k * (stored.width or 0) + 1, stored.width, decimals),
        ).fetchone()
        assert row[0] == value
    db.close()


def test_what_was_measured_is_not_replaced(shop: Shop) -> None:
    pull = log(shop, sweep())
    with pytest.raises(Conflict, match="kept for ever"), shop.book.changing(who="x") as change:
        change.put_trace(pull.id, sweep())


def test_a_long_trace_is_counted_to_its_end(shop: Shop) -> None:
    values = np.arange(5000.0)
    pull = log(shop, Trace((Channel("t", "time", "s", values, 0, "s"),), 0, 4999))
    assert shop.plain_sql(
        "SELECT count(*), max(sample), sum(value) FROM trace_points WHERE pull_id = ?", pull.id
    ) == [(5000, 4999, values.sum())]
