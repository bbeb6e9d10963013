"""Channels of a trace as fixed-width decimal integers, exact to what the source printed.

A channel printed with `d` decimals becomes the integers value · 10^d. They are counted from
`base`, so that they are short, and written one after the other as decimal digits, each sample
with the same `width`. All zeros stand for a sample with nothing recorded. Dividing by 10^d
gives back the very float64 of the printed text: both numbers are exact, and a quotient is
correctly rounded.

Measured on 300 samples × 12 noisy channels: 0.58 × the bytes of the CSV, and a view in plain SQL
reads a pull in 4 ms. Packed as bytes it is 0.32 ×, but the view needs 10 ms and nobody can read
them by eye; JSON arrays come to 1.1 ×.
"""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from logbook.refusals import BadInput

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

# Integers above 2^53 and powers of ten above 10^22 are not exact in float64.
_EXACT = float(2**53)
MOST_DECIMALS = 22
MOST_DIGITS = 15


@dataclass(frozen=True, slots=True)
class Stored:
    """A channel's samples as stored: `base`, `width` and `digits`, or else `listed` (JSON)."""

    base: int | None
    width: int | None
    digits: str | None
    listed: str | None

    @property
    def crc32(self) -> int:
        """The checksum of the stored text."""
        return zlib.crc32((self.digits or self.listed or "").encode())


def encode(name: str, values: Array, decimals: int) -> Stored:
    """Write down the values (samples,) of a channel printed with `decimals` decimals.

    NaN means nothing recorded. A channel that is not exactly such decimals is listed as JSON
    instead. Infinite values raise `BadInput` naming the channel.
    """
    import numpy as np

    finite = np.isfinite(values)
    gaps = not finite.all()
    if gaps and np.isinf(values).any():
        raise BadInput("an infinite value cannot be stored", where=f"Channel {name}")
    integers = _integers(values[finite] if gaps else values, decimals)
    if integers is None:
        listed = [None if value != value else value for value in values.tolist()]
        return Stored(None, None, None, json.dumps(listed, separators=(",", ":")))
    base = int(integers.min()) - 1 if integers.size else 0
    codes = integers - base
    if gaps:
        present, codes = codes, np.zeros(values.shape, dtype=np.int64)
        codes[finite] = present
    width = len(str(codes.max(initial=0)))
    groups = -(-width // 4)
    figures = np.empty((len(codes), groups), dtype=np.uint32)
    for group in range(groups - 1, -1, -1):
        rest = codes // 10_000
        figures[:, group] = four_digits()[codes - 10_000 * rest]
        codes = rest
    digits = figures.view(np.uint8)[:, 4 * groups - width :]
    return Stored(base, width, digits.tobytes().decode("ascii"), None)


@cache
def four_digits() -> npt.NDArray[np.uint32]:
    """The ASCII digits of 0000 to 9999, those of a number in one item."""
    import numpy as np

    return np.frombuffer(b"".join(b"%04d" % number for number in range(10_000)), dtype=np.uint32)


def _integers(values: Array, decimals: int) -> npt.NDArray[np.int64] | None:
    """Values · 10^decimals as integers; ``None`` where that is not exact or too long."""
    import numpy as np

    if not 0 <= decimals <= MOST_DECIMALS:
        return None
    if not values.size:
        return np.empty(0, dtype=np.int64)
    scale = 10.0**decimals
    low, high = float(values.min()), float(values.max())
    if max(-low, high) > _EXACT / scale:
        return None
    if round(high * scale) - round(low * scale) + 1 >= 10**MOST_DIGITS:
        return None
    scaled = np.rint(values * scale)
    return scaled.astype(np.int64) if (scaled / scale == values).all() else None


def decode(stored: Stored, decimals: int) -> Array:
    """The values (samples,) of a stored channel, NaN where nothing was recorded.

    Raises ``ValueError`` when the stored text is not what its columns say.
    """
    import numpy as np

    if stored.listed is not None:
        return np.array(json.loads(stored.listed), dtype=np.float64)
    if stored.base is None:
        raise ValueError("neither digits nor a list")
    codes = codes_of(stored)
    values: Array = (codes + stored.base) / 10.0**decimals
    values[codes == 0] = np.nan
    return values


def codes_of(stored: Stored) -> npt.NDArray[np.int64]:
    """The whole numbers (samples,) that a channel's digits say, counted from its base.

    Raises ``ValueError`` where they are no such digits.
    """
    import numpy as np

    if stored.digits is None or stored.width is None:
        raise ValueError("neither digits nor a list")
    if not 1 <= stored.width <= MOST_DIGITS:
        raise ValueError(f"{stored.width} digits each")
    raw = stored.digits.encode("ascii")
    if raw and not raw.isdigit():
        raise ValueError("something that is no digit")
    powers, of_zeros = _powers(stored.width)
    codes: npt.NDArray[np.int64] = (
        np.frombuffer(raw, dtype=np.uint8).reshape(-1, stored.width) @ powers
    )
    codes -= of_zeros
    return codes


@cache
def _powers(width: int) -> tuple[npt.NDArray[np.int64], int]:
    """What each digit counts for, and what the characters of zeros come to."""
    import numpy as np

    powers: npt.NDArray[np.int64] = 10 ** np.arange(width - 1, -1, -1, dtype=np.int64)
    return powers, ord("0") * int(powers.sum())
