"""Whatever the bytes, a pull or a sentence; whatever the dialect, the numbers that were written."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.intake import ReadFile, read_bytes
from logbook.refusals import BadFile

ALPHABET = "0123456789.,;\t|-+eE \n\r\"'[]()rpmNmkWhTorque:/°µ\x00\x1b−naif"


def outcome(content: bytes) -> ReadFile | BadFile:
    try:
        return read_bytes("file.csv", content)
    except BadFile as refusal:
        return refusal


def read_or_refuse(content: bytes) -> None:
    """Either is right; nothing else may come of any bytes."""
    read = outcome(content)
    if isinstance(read, BadFile):
        assert read.sentence.isprintable()
        assert len(read.sentence) < 2000
        return
    samples = {len(channel.values) for channel in read.trace.channels}
    assert len(samples) == 1
    assert 0 <= read.trace.first_sample < read.trace.last_sample < samples.pop()
    assert len({channel.name for channel in read.trace.channels}) == len(read.trace.channels)
    assert all(channel.name.isprintable() for channel in read.trace.channels)


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(content: bytes) -> None:
    read_or_refuse(content)


@given(st.text(ALPHABET, max_size=300))
def test_any_text_under_a_good_header_is_read_or_refused(text: str) -> None:
    read_or_refuse(f"rpm,Nm,kW\n{text}".encode())


@given(st.text(ALPHABET, max_size=80), st.sampled_from(",;\t| "))
def test_any_header_over_good_rows_is_read_or_refused(header: str, delimiter: str) -> None:
    rows = "\n".join(delimiter.join((str(1000 + n), "200.5", "40")) for n in range(5))
    read_or_refuse(f"{header}\n{rows}".encode())


GOOD = (
    "Run 7;J.K.\n\nTime [s];Engine speed [rpm];Torque [Nm];Note\n"
    + "".join(f"{n / 10:.1f};{3000 + 40 * n};{200 - n / 3:.2f};ok\n" for n in range(30))
).replace(".", ",")


@given(
    st.lists(
        st.tuples(st.integers(0, len(GOOD)), st.integers(0, 12), st.text(ALPHABET, max_size=6)),
        max_size=6,
    ),
    st.sampled_from(["utf-8", "utf-16", "cp1252", "latin-1"]),
)
def test_a_damaged_file_is_read_or_refused(
    damages: list[tuple[int, int, str]], encoding: str
) -> None:
    text = GOOD
    for at, length, put in damages:
        text = text[:at] + put + text[at + length :]
    read_or_refuse(text.encode(encoding, "replace"))


@given(st.data())
def test_a_written_table_reads_back_exactly(data: st.DataObject) -> None:
    """Speed, torque and another channel in any dialect give the very float64 that was printed."""
    delimiter, decimal = data.draw(
        st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), ("|", ",")])
    )
    encoding = data.draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"]))
    torque_unit = data.draw(st.sampled_from(["Nm", "N·m", "lb-ft", "ft-lbs", "kgf·m"]))
    style = data.draw(st.sampled_from(["{} [{}]", "{} ({})", "{}_{}", "{} {}"]))
    units_row = data.draw(st.booleans())
    quote = data.draw(st.sampled_from(["", '"']))
    line_end = data.draw(st.sampled_from(["\n", "\r\n"]))
    preamble = data.draw(st.sampled_from(["", "Run 7\n\n", "Bore\t86\nOil: 5W-40\n\n"]))
    digits = data.draw(st.tuples(*[st.integers(0, 4)] * 3))
    rows = data.draw(
        st.lists(
            st.tuples(
                st.integers(1000, 9000), st.integers(-5000, 50_000), st.integers(-900, 900_000)
            ),
            min_size=3,
            max_size=30,
        )
    )
    printed = [
        [
            f"{Decimal(value).scaleb(-places):.{places}f}" if at else f"{value}.{'5' * places}"
            for at, (value, places) in enumerate(zip(row, digits, strict=True))
        ]
        for row in rows
    ]
    printed = [[cell.rstrip(".") for cell in row] for row in printed]
    names, units = ["Engine speed", "Torque", "Sensor 7"], ["rpm", torque_unit, "kPa"]
    header = [names, units] if units_row else [
        [style.format(n, u) for n, u in zip(names, units, strict=True)]
    ]  # fmt: skip
    lines = [delimiter.join(quote + c + quote for c in row) for row in header]
    lines += [
        delimiter.join(quote + c.replace(".", decimal) + quote for c in row) for row in printed
    ]
    text = preamble + line_end.join(lines) + data.draw(st.sampled_from(["", line_end]))
    read = outcome(text.encode(encoding))
    if isinstance(read, BadFile):
        # All numbers such as 1,234: nothing in the file says which they are.
        assert "a comma in the numbers" in read.what
        return
    channels = read.trace.channels
    assert [c.quantity for c in channels] == ["engine speed", "torque", None]
    for at, channel in enumerate(channels):
        assert channel.values.tolist() == [float(row[at]) for row in printed]
        places = len(printed[0][at].partition(".")[2])
        assert channel.decimals == places or (decimal, places) == (".", 0)


def test_rows_of_many_lengths_are_read_or_refused() -> None:
    chance = random.Random(7)
    for _ in range(60):
        lines = [
            ",".join(
                chance.choice(["", "1", "2.5", "x", '"a', '"b"'])
                for _ in range(chance.randint(1, 6))
            )
            for _ in range(12)
        ]
        read_or_refuse(("rpm,Nm,a,b\n" + "\n".join(lines)).encode())


@pytest.mark.parametrize("cell", ["1" * 90_000, "1" * 90_000 + "x", "[" * 90_000, '"' * 90_001])
def test_a_hostile_cell_takes_no_time(cell: str) -> None:
    read_or_refuse(f"rpm,Nm\n3000,200\n3100,{cell}\n3200,201\n3300,202\n".encode())
    read_or_refuse(f"rpm,{cell}\n3000,200\n3100,201\n3200,201\n".encode())
