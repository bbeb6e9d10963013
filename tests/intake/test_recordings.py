"""ASAM MDF 4 and Parquet become the same traces as CSV, exactly, or are refused in a sentence."""

from __future__ import annotations

import importlib.util
import threading
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.intake import ReadFile, apart, read_bytes
from logbook.intake.bases import _at_times
from logbook.intake.recording import exact_decimals
from logbook.refusals import BadFile
from logbook.store.codec import decode, encode
from logbook.underway import Course, Stopped, within
from tests.intake import recordings as made

PLAIN = made.mdf()
PACKED = made.mdf(compression=2)
TABLE = made.parquet({"Engine speed [rpm]": made.SPEED, "Torque [lb-ft]": made.TORQUE})


def refused(content: bytes, name: str = "run.mf4") -> str:
    with pytest.raises(BadFile) as refusal:
        read_bytes(name, content)
    return refusal.value.sentence


def codes(file: ReadFile) -> dict[str, str]:
    return {caution.code: caution.text for caution in file.cautions}


@pytest.mark.parametrize("content", [PLAIN, PACKED], ids=["plain", "packed"])
def test_an_mdf_gives_every_channel_to_the_last_bit(content: bytes) -> None:
    file = read_bytes("run.mf4", content)
    found = {channel.name: channel for channel in file.trace.channels}
    assert list(found) == ["time", "Engine speed", "Torque", "Gear", "Oil temperature", "Step"]
    assert np.array_equal(found["time"].values, made.TIMES)
    assert np.array_equal(found["Engine speed"].values, made.SPEED)
    assert np.array_equal(found["Torque"].values, made.TORQUE.astype(np.float64))
    assert (found["Torque"].quantity, found["Torque"].unit) == ("torque", "N·m")
    assert file.content == content
    assert file.text_columns == ("State",)
    assert "Channel group: Cell 1" in file.preamble
    for channel in file.trace.channels:
        stored = encode(channel.name, channel.values, channel.decimals)
        again = decode(stored, channel.decimals)
        assert np.array_equal(again, channel.values, equal_nan=True)


def test_other_time_bases_are_brought_to_the_loads_and_it_is_said() -> None:
    file = read_bytes("run.mf4", PLAIN)
    oil = file.trace.of("oil temperature")
    step = next(channel for channel in file.trace.channels if channel.name == "Step")
    assert oil is not None
    begin, end = made.SLOW_TIMES[[0, -1]]
    inside = np.clip(made.TIMES, begin, end) == made.TIMES
    assert np.isnan(oil.values[~inside]).all()
    expected = np.interp(made.TIMES[inside], made.SLOW_TIMES, made.OIL)
    assert np.allclose(oil.values[inside], expected, atol=5e-4)
    assert set(step.values[inside]) <= set(range(len(made.SLOW_TIMES)))  # a count is held
    assert '"Oil temperature [°C]", "Step"' in codes(file)["interpolated"]


def test_invalid_samples_of_an_mdf_are_missing() -> None:
    from asammdf import MDF, Signal

    invalid = np.zeros(made.COUNT, dtype=bool)
    invalid[7] = True
    with MDF(version="4.10") as mdf:
        mdf.append(
            [
                Signal(made.SPEED, made.TIMES, name="Engine speed", unit="rpm"),
                Signal(made.TORQUE, made.TIMES, name="Torque", unit="Nm",
                       invalidation_bits=invalid),
            ]
        )  # fmt: skip
        import io

        out = io.BytesIO()
        mdf.save(out)
    file = read_bytes("run.mf4", out.getvalue())
    assert "sample 8" in codes(file)["rows-dropped"]
    assert len(file.trace.channels[0].values) == made.COUNT - 1


def test_a_parquet_table_gives_every_column() -> None:
    from datetime import datetime, timedelta

    start = datetime(2026, 3, 1, 14, 3, 7)
    file = read_bytes(
        "run.parquet",
        made.parquet(
            {
                "at": [start + timedelta(milliseconds=100 * n) for n in range(6)],
                "N": [2000, 2500, 3000, 3500, 4000, None],
                "M": [Decimal("310.10"), Decimal("312.25"), None] + [Decimal("318.00")] * 3,
                "knock": [True, False, None, False, False, False],
                "remark": ["", None, "x", "x", "x", "x"],
                "wide": [2**60, 1, 2, 3, 4, 5],
                "part": [{"a": 1.5, "b": n} for n in range(6)],
            },
            {"N": "rpm", "M": "N·m"},
        ),
    )
    found = {channel.name: channel for channel in file.trace.channels}
    assert list(found) == ["at", "N", "M", "knock", "wide", "part.a", "part.b"]
    assert found["at"].quantity == "time"
    assert found["at"].values[0] == 14 * 3600 + 3 * 60 + 7
    assert found["M"].values.tolist() == [310.10, 312.25, 318.0, 318.0]
    assert found["M"].decimals == 2
    assert "first is sample 3" in codes(file)["rows-dropped"]
    assert '"wide"' in codes(file)["rounded"]
    assert file.text_columns == ("remark",)
    assert "cell: Cell 2" in file.preamble


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (made.says_gigabytes(PACKED), "would unpack to 3,072 MB, more than 256"),
        (made.hides_gigabytes(PACKED), "no sound ASAM MDF 4 file"),
        (PLAIN[:4000], "no sound ASAM MDF 4 file"),
        (made.promises_more_records(PLAIN), "120 records would take 801240 bytes"),
        (made.reaches_beyond_its_record(PLAIN), "lies outside its record"),
        (b"UnFinMF " + PLAIN[8:], "was not brought to its end"),
        (PLAIN[:8] + b"3.30\0\0\0\0" + PLAIN[16:], 'MDF of version "3.30", and version 4 is read'),
        (TABLE[: len(TABLE) // 2], "no sound Parquet file"),
        (made.parquet(dict.fromkeys("abc", np.zeros(5_000_000, dtype="i1"))),
         "15,000,000 values, more than 10 million"),
        (made.parquet({"speed": [1.0, 2.0], "torque": [3.0, 4.0]}), "only 2 samples"),
        (made.parquet({"Engine speed [rpm]": [1000.0] * 5}), "neither torque nor power"),
    ],
    ids=["says", "hides", "cut off", "records", "outside", "unfinished", "old", "half", "long",
         "short", "no load"],
)  # fmt: skip
def test_what_is_refused_says_why(content: bytes, said: str) -> None:
    assert said in refused(content)


def test_a_file_that_nobody_waits_for_is_not_read_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its reader is ended at once, whatever it is at, and the next file is read by another."""
    read_bytes("run.mf4", PLAIN)  # its reader is there
    monkeypatch.setattr(apart, "TIME_S", 600.0)
    course = Course("reading run.mf4")
    timer = threading.Timer(0.3, course.stop)
    timer.start()
    with pytest.raises(Stopped), within(course):
        read_bytes("run.mf4", made.runs_in_circles(PLAIN))
    timer.join()
    assert read_bytes("run.mf4", PLAIN).parts


def test_a_file_that_leads_in_circles_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    read_bytes("run.mf4", PLAIN)  # its reader is there
    monkeypatch.setattr(apart, "TIME_S", 1.0)
    assert "took longer than 1 s" in refused(made.runs_in_circles(PLAIN))
    monkeypatch.undo()
    assert read_bytes("run.mf4", PLAIN).parts


def test_a_reader_that_has_died_meanwhile_is_started_again() -> None:
    read_bytes("run.mf4", PLAIN)
    reader = apart._READER._process
    assert reader is not None
    reader.kill()
    reader.wait()
    assert read_bytes("run.mf4", PLAIN + bytes(100_000)).parts


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert "pip install 'dyno-cell-logbook[mdf]'" in refused(PLAIN)
    assert "pip install 'dyno-cell-logbook[parquet]'" in refused(TABLE, "run.parquet")


@settings(max_examples=120, deadline=None)
@given(data=st.data())
def test_a_mutated_file_is_a_trace_or_a_sentence(data: st.DataObject) -> None:
    content = bytearray(data.draw(st.sampled_from([PLAIN, PACKED, TABLE])))
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at] = data.draw(st.integers(0, 255))
    del content[data.draw(st.one_of(st.just(len(content)), st.integers(1, len(content)))) :]
    try:
        said = read_bytes("run", bytes(content)).name
    except BadFile as refusal:
        said = refusal.sentence
    assert said.startswith("run")
    assert "\n" not in said


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False, width=32), min_size=1))
def test_decimals_are_exact_or_none(values: list[float]) -> None:
    array = np.array(values)
    digits = exact_decimals(array)
    if digits < 15:
        assert [float(f"{value:.{digits}f}") for value in values] == [v + 0.0 for v in values]


@given(
    st.lists(st.floats(-50, 50), min_size=1, max_size=20),
    st.lists(st.floats(-60, 60), min_size=1, max_size=20),
    st.booleans(),
)
def test_nothing_is_invented_outside_what_was_recorded(
    times: list[float], at: list[float], held: bool
) -> None:
    ordered = np.array(sorted(times))
    values = np.sin(ordered)
    found = _at_times(ordered, values, np.array(at), held=held)
    for moment, value in zip(at, found.tolist(), strict=True):
        if moment < ordered[0] or moment > ordered[-1]:
            assert np.isnan(value)
        else:
            assert values.min() - 1e-9 <= value <= values.max() + 1e-9
            if held:
                assert value in values
