"""A long log is left in its bytes and parsed in pieces, and reads as it would in one go."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np
import pytest

from logbook.intake import ReadFile, decoded, layout, parse, read_bytes, text
from logbook.refusals import BadFile
from tests.benchmarks.mutations import mutated
from tests.intake.test_dialects import TEXTS

Reading = Callable[[bytes], ReadFile | BadFile]


def read(content: bytes) -> ReadFile | BadFile:
    try:
        return read_bytes("file.csv", content)
    except BadFile as refusal:
        return refusal


@contextmanager
def as_long_logs(rows: int) -> Iterator[None]:
    """Every file is a long one: parsed in four pieces, so many rows at a time."""
    with pytest.MonkeyPatch.context() as small:
        small.setattr(decoded, "_LONG", 1)
        small.setattr(decoded, "_PIECE", 7)
        small.setattr(layout, "_LEAST_PIECE", 40)
        small.setattr(parse, "_ROWS", rows)
        small.setattr(parse, "cores", lambda: 4)
        yield


def assert_same(content: bytes, rows: int = 3) -> ReadFile | BadFile:
    """Read as a long log and as a short one; what both come to."""
    whole = read(content)
    with as_long_logs(rows):
        long = read(content)
    if isinstance(whole, BadFile) or isinstance(long, BadFile):
        assert str(whole) == str(long)
        return whole
    assert whole.parts == long.parts
    assert whole.cautions == long.cautions
    assert whole.preamble == long.preamble
    assert [c.name for c in whole.trace.channels] == [c.name for c in long.trace.channels]
    for one, other in zip(whole.trace.channels, long.trace.channels, strict=True):
        np.testing.assert_array_equal(one.values, other.values, one.name)
        assert (one.quantity, one.unit, one.decimals) == (
            other.quantity,
            other.unit,
            other.decimals,
        )
    return whole


@pytest.mark.parametrize("table", TEXTS.values(), ids=TEXTS.keys())
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_every_dialect_reads_as_it_does_when_short(
    table: str, line_end: str, encoding: str
) -> None:
    found = assert_same(table.replace("\n", line_end).encode(encoding, "replace"))
    assert isinstance(found, ReadFile)


def test_whatever_is_wrong_with_it_is_found_as_in_a_short_one() -> None:
    chance = random.Random(20)
    kinds = [type(assert_same(mutated(chance, "table")[:20_000])) for _ in range(300)]
    assert kinds.count(ReadFile) > 30
    assert kinds.count(BadFile) > 30


HEADER = "Engine speed [rpm],Torque [Nm],Throttle [%]\n"


def log(count: int, cell: Callable[[int], str] = "{}.5".format) -> list[str]:
    return [f"{2000 + 10 * n},{200 + n % 7},{cell(n)}\n" for n in range(count)]


@pytest.mark.parametrize("rows", [3, 4, 5])
def test_truth_is_no_number_wherever_the_parser_stops(rows: int) -> None:
    """Of rows that hold nothing but True a parser makes ones."""
    words = log(60, lambda n: "0" if n < 30 else "True")
    found = assert_same((HEADER + "".join(words)).encode(), rows)
    assert isinstance(found, ReadFile)
    throttle = found.trace.channels[2].values
    assert np.isnan(throttle[30:]).all()
    assert "no number" in found.cautions[0].text


@pytest.mark.parametrize("note", ["", "ok"])
def test_truth_is_no_number_in_a_wide_table(note: str) -> None:
    """Of 120 columns the parser would go through 8192 rows at a time."""
    names = HEADER.replace("\n", ",Note,") + ",".join(f"spare {n}" for n in range(116))
    cells = ("5", "True")
    rows = [f"{2000 + n % 4096},200,{cells[n // 8192]},{note}" + 116 * "," for n in range(16384)]
    found = read("\n".join((names, *rows)).encode())
    assert isinstance(found, ReadFile)
    assert np.isnan(found.trace.channels[2].values[8192:]).all()


def test_a_cell_under_no_name_is_found_wherever_a_piece_begins() -> None:
    for at in range(60):
        lines = log(60)
        lines[at] = lines[at].replace("\n", ",9\n")
        found = assert_same((HEADER + "".join(lines)).encode())
        assert isinstance(found, BadFile)
        assert f"line {at + 2}" in str(found)


@pytest.mark.parametrize("at", [20, 40])
def test_a_lone_carriage_return_ends_a_row_too(at: int) -> None:
    lines = log(60)
    lines[at] = lines[at].replace("\n", "\r")
    found = assert_same((HEADER + "".join(lines)).encode())
    assert isinstance(found, ReadFile)
    assert len(found.trace.channels[0].values) == 60


@pytest.mark.parametrize(
    "change",
    [
        lambda table: table.replace("\n", "\n\n"),
        lambda table: table.replace(",203,", ",,"),
        lambda table: table.replace(",204,", ',"204",'),
        lambda table: table.replace(",205,", ",\u2212205,"),
        lambda table: table.replace("0,20", "0 , 20"),
        str.rstrip,
        lambda table: table + "\n\x1a",
        lambda table: table.replace("Throttle", "Öl °C"),
    ],
    ids=["blank-lines", "gaps", "quotes", "minus", "spaces", "no-line-end", "dos-end", "umlaut"],
)  # fmt: skip
def test_odd_rows_read_as_in_a_short_one(change: Callable[[str], str]) -> None:
    assert isinstance(assert_same(change(HEADER + "".join(log(60))).encode()), ReadFile)


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("last", ["", "\n"])
def test_a_long_log_is_parsed_in_pieces(
    line_end: str, last: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    monkeypatch.setattr(parse, "_frame", lambda *_: asked.append("whole"))
    table = (HEADER + "".join(log(60))).rstrip() + last
    with as_long_logs(5):
        found = read(table.replace("\n", line_end).encode())
    assert isinstance(found, ReadFile)
    assert len(found.trace.channels[0].values) == 60
    assert not asked


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_the_text_of_its_bytes_is_that_of_a_short_one(encoding: str) -> None:
    content = "Öl °C;−3\r\n\r\n1;2\r\n".encode(encoding)
    with as_long_logs(5):
        long = text.decode(content, where="file.csv")
    assert long.kept is None
    assert long.text == text.decode(content, where="file.csv").text == "Öl °C;−3\n\n1;2"
