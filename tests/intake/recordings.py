"""Measurements as binary files, made by the libraries that read them."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np

COUNT = 120
TIMES = np.arange(COUNT) * 0.05 - 0.5
SPEED = np.round(2000 + 30.1 * np.arange(COUNT), 1)
TORQUE = (300.0 - ((SPEED - 4000) / 300) ** 2).astype(np.float32)
SLOW_TIMES = np.arange(-0.3, 5.0, 0.25)
OIL = np.round(80 + 2 * SLOW_TIMES, 1)


def mdf(*, compression: int = 0, torque: np.ndarray = TORQUE, slow: bool = True) -> bytes:
    """An MDF 4 file: speed, torque and gear 20 times a second, oil and a state 4 times."""
    from asammdf import MDF, Signal

    out = io.BytesIO()
    with MDF(version="4.10") as made:
        made.append(
            [
                Signal(SPEED, TIMES, name="Engine speed", unit="rpm"),
                Signal(torque, TIMES, name="Torque", unit="Nm"),
                Signal((np.arange(COUNT) // 60).astype("u1"), TIMES, name="Gear"),
            ],
            comment="Cell 1",
        )
        if slow:
            states = np.array([b"idle"] * len(SLOW_TIMES))
            steps = np.arange(len(SLOW_TIMES), dtype="i2")
            made.append(
                [
                    Signal(OIL, SLOW_TIMES, name="Oil temperature", unit="degC"),
                    Signal(states, SLOW_TIMES, name="State", encoding="utf-8"),
                    Signal(steps, SLOW_TIMES, name="Step"),
                ]
            )
        made.save(out, compression=compression)
    return out.getvalue()


def parquet(columns: dict[str, object], units: dict[str, str] | None = None) -> bytes:
    """A Parquet file of these columns, their units as metadata of the fields."""
    import pyarrow as pa
    from pyarrow import parquet

    table = pa.table(columns)
    fields = [
        field.with_metadata({"unit": units[field.name]}) if field.name in (units or {}) else field
        for field in table.schema
    ]
    out = io.BytesIO()
    parquet.write_table(table.cast(pa.schema(fields, {"cell": "Cell 2"})), out)
    return out.getvalue()


def says_gigabytes(content: bytes) -> bytes:
    """A compressed MDF whose data block says that it unpacks to 3 GB."""
    made = bytearray(content)
    struct.pack_into("<Q", made, made.find(b"##DZ") + 32, 3 << 30)
    return bytes(made)


def hides_gigabytes(content: bytes) -> bytes:
    """A compressed MDF whose data block says what it should, and unpacks to 3 GB."""
    step, steps = 1 << 24, 192
    packer = zlib.compressobj(9, wbits=-15)
    zeros = packer.compress(bytes(step)) + packer.flush(zlib.Z_FULL_FLUSH)
    sum_of_zeros = (step * steps % 65521) << 16 | 1  # Adler-32, without unpacking them
    zeros = b"\x78\xda" + zeros * steps + b"\x03\x00" + sum_of_zeros.to_bytes(4)
    at = content.find(b"##DZ")
    size = struct.unpack_from("<Q", content, at + 32)[0]
    made = bytearray(content) + bytes(-len(content) % 8)
    links = struct.pack("<Q", at)
    place = made.find(links)
    made[place : place + 8] = struct.pack("<Q", len(made))
    head = struct.pack("<4sIQQ2sBBIQQ", b"##DZ", 0, 48 + len(zeros), 0, b"DT", 0, 0, 0, size,
                       len(zeros))  # fmt: skip
    return bytes(made) + head + zeros


def runs_in_circles(content: bytes) -> bytes:
    """An MDF whose first data group names itself as the next one."""
    made = bytearray(content)
    at = made.find(b"##DG")
    struct.pack_into("<Q", made, at + 24, at)
    return bytes(made)


def promises_more_records(content: bytes) -> bytes:
    """An MDF whose first group's records are longer than what is there of them."""
    made = bytearray(content)
    at = made.find(b"##CG")
    links = struct.unpack_from("<Q", made, at + 16)[0]
    struct.pack_into("<I", made, at + 24 + 8 * links + 28, 6656)  # invalidation bytes of each
    return bytes(made)


def reaches_beyond_its_record(content: bytes) -> bytes:
    """An MDF whose second channel is said to lie where no record has anything."""
    made = bytearray(content)
    at = made.find(b"##CN", made.find(b"##CN") + 4)
    links = struct.unpack_from("<Q", made, at + 16)[0]
    struct.pack_into("<I", made, at + 24 + 8 * links + 4, 5000)  # its place in bytes
    return bytes(made)
