"""Inputs to try the doors with: sound ones, broken in ways that real and hostile ones are."""

from __future__ import annotations

import io
import random
from collections.abc import Callable, Sequence
from functools import cache

from tests.benchmarks.intake_files import evening_file, sweep_file
from tests.intake import recordings
from tests.intake.test_dialects import TEXTS

Mutation = Callable[[random.Random, bytes, Sequence[bytes]], bytes]
LONGEST = 200_000  # bytes of an input

SHEET = (
    "date,engine,time,timing [deg],fuel,main jets,peak power [hp],power at [rpm],"
    "peak torque [lb-ft],at [rpm],pressure [inHg],temperature [degF],rh [%],note\n"
    '2009-05-04,RB-2,14:05,32,Tango,+1,396.5,6100,412,4600,29.42,78,41,"plugs dark"\n'
    "2009-05-04,RB-2,14:20,34,Tango,+1,399.0,6100,414,4600,29.41,78.5,41,\n"
    "2009-05-06,RB-2,,34,Foxtrot,0,401.2,6150,415.5,4650,29.30,81,38,rings\n"
)
# What files and search boxes stumble over.
PIECES = (
    *"\n\r,;\t|\"'\x00\x1a\x1b -+.%°−\ufeff\ufffd\u202e", "\r\n", ",,", ";;", '""', '"\n', "\n\n",
    "nan", "NaN", "inf", "-inf", "1e308", "1e-320", "1e400", "9" * 40, "0x1F", "1_000", "1,234",
    "1.234,5", "-0", "+5", ".5", "5.", "5e", "e5", "٣٠٠٠", "０", "TRUE", "None", "-", "n/a",
    "12:30:05", "14:03", "2026-03-01T14:03:07", "1.#IND", "#N/A", "=cmd()", "@SUM(1)", "[/red]",
    "[bold]", "\x1b[2J", "\x9b31m", "<script>", "../../etc/x", "rpm", "Nm", "lb-ft", "hp", "kW",
    "Engine speed [rpm]", "Torque [Nm]", "Power corrected [kW]", "Time [s]", "Run 7\n\n", "End",
    "sep=;\n", "a" * 300, '"' * 7, "点火", "e\u0301", "𝟛", "\ud800".encode("utf-8", "surrogatepass")
    .decode("latin-1"),
)  # fmt: skip
QUERY_PIECES = (
    *PIECES, "timing:", "power:", "torque:", "engine:", "session:", "fuel:", "note:", "when:",
    "excluded:", "kind:", "knock:", "oil:", "number:", "main-jets:", "date:", "air:", "build:",
    ">", "<", ">=", "<=", "=", "..", "28..33", ">25", "<=30deg", ">400hp", "160F", "yes", "no",
    "today", "yesterday", "last", "2026", "2026-03", "2026-03-14", "may", "OR", "AND", "NOT",
    "NEAR", "NEAR(a b, 2)", "*", "^", "(", ")", "{", "}", ":", "::", "\\", "plug*", '"pull 1"',
    "-plug", "--", "%", "_", "'; DROP TABLE pulls; --", "\x00", "pull", "RB-2", "Tango", "1e999",
)  # fmt: skip


def _flip(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    made = bytearray(data)
    for _ in range(chance.choice((1, 1, 3, 20))):
        made[chance.randrange(len(made))] ^= 1 << chance.randrange(8)
    return bytes(made)


def _cut_off(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    return data[: chance.randrange(len(data))]


def _leave_out(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    at = chance.randrange(len(data))
    return data[:at] + data[at + chance.choice((1, 2, 8, 100)) :]


def _put_in(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    for _ in range(chance.choice((1, 1, 2, 5))):
        at = chance.randrange(len(data) + 1)
        data = data[:at] + chance.choice(PIECES).encode("utf-8", "surrogatepass") + data[at:]
    return data


def _replace_a_cell(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    delimiter = chance.choice((b",", b";", b"\t", b"|", b" ", b"\n"))
    cells = data.split(delimiter)
    cells[chance.randrange(len(cells))] = chance.choice(PIECES).encode("utf-8", "surrogatepass")
    return delimiter.join(cells)


def _shuffle_lines(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    lines = data.split(b"\n")
    first, second = (chance.randrange(len(lines)) for _ in range(2))
    lines[first], lines[second] = lines[second], lines[first]
    return b"\n".join(lines)


def _repeat(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    at = chance.randrange(len(data))
    piece = data[at : at + chance.choice((1, 5, 60, 2000))]
    return data[:at] + piece * chance.choice((2, 10, 300)) + data[at:]


def _splice(chance: random.Random, data: bytes, others: Sequence[bytes]) -> bytes:
    other = chance.choice(others)
    return data[: chance.randrange(len(data))] + other[chance.randrange(len(other)) :]


def _overwrite(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    """Whole numbers where formats keep lengths and places."""
    at = chance.randrange(len(data))
    size = chance.choice((1, 2, 4, 8))
    number = chance.choice((0, 1, 0xFF, 0x7FFF, 0xFFFFFFFF, len(data), 2**63 - 1, at))
    put = (number & (256**size - 1)).to_bytes(size, chance.choice(("little", "big")))
    return data[:at] + put + data[at + size :]


def _write_otherwise(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    text = data.decode("utf-8", "replace")
    encodings = ("utf-16", "utf-16-le", "utf-8-sig", "cp1252", "latin-1", "utf-32", "utf-7")
    return text.encode(chance.choice(encodings), "replace")


def _other_marks(chance: random.Random, data: bytes, _: Sequence[bytes]) -> bytes:
    marks = (b",", b";", b"\t", b".", b" ", b"|", b"\n", b"\r", b"\r\n", b'"', b"")
    return data.replace(chance.choice(marks[:-1]), chance.choice(marks))


_ANY: tuple[Mutation, ...] = (_flip, _cut_off, _leave_out, _put_in, _repeat, _splice, _overwrite)
_TEXT: tuple[Mutation, ...] = (
    *_ANY, _put_in, _replace_a_cell, _replace_a_cell, _shuffle_lines, _write_otherwise,
    _other_marks,
)  # fmt: skip


@cache
def sound(kind: str) -> tuple[bytes, ...]:
    """Inputs of a kind that nothing is wrong with."""
    if kind == "table":
        made = (sweep_file(1, 60), evening_file(3000, 2), *TEXTS.values())
        return tuple(text.encode() for text in made)
    if kind == "MDF":
        return (recordings.mdf(), recordings.mdf(compression=2), recordings.mdf(slow=False))
    if kind == "Parquet":
        columns = {"Engine speed [rpm]": recordings.SPEED, "Torque [lb-ft]": recordings.TORQUE}
        mixed = {**columns, "Note": ["ok"] * recordings.COUNT, "Knock": [None] * recordings.COUNT}
        return (recordings.parquet(columns), recordings.parquet(mixed), _unpacked(columns))
    assert kind == "sheet"
    return (SHEET.encode(), SHEET.replace(",", ";").encode())


def _unpacked(columns: dict[str, object]) -> bytes:
    """A Parquet file whose values lie bare in it."""
    import pyarrow as pa
    from pyarrow import parquet

    out = io.BytesIO()
    parquet.write_table(pa.table(columns), out, compression="none", use_dictionary=False)
    return out.getvalue()


def mutated(chance: random.Random, kind: str) -> bytes:
    """An input of that kind, broken once or more; sometimes by an input of another kind."""
    corpus = sound(kind)
    mutations = _TEXT if kind in ("table", "sheet") else _ANY
    data = chance.choice(corpus)
    for _ in range(chance.choice((1, 1, 2, 3, 8) if mutations is _TEXT else (1, 1, 1, 2, 4))):
        if not data:
            break
        data = chance.choice(mutations)(chance, data, corpus)[:LONGEST]
    return data


def query(chance: random.Random) -> str:
    """What somebody might type into the search box, and what nobody would."""
    pieces = [chance.choice(QUERY_PIECES) for _ in range(chance.choice((1, 2, 3, 5, 12)))]
    text = chance.choice(("", " ", " ")).join(pieces)
    if chance.random() < 0.02:
        text *= 500
    return text
