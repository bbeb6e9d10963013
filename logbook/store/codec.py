"""Channels of a trace as packed decimal integers, exact to what the source printed.

A channel printed with `d` decimals becomes integers value · 10^d. They are stored as unsigned
big-endian integers of the smallest width that fits, counted from `base`; 0 stands for a sample
with nothing recorded. Division by 10^d gives back the very float64 that the printed text has,
since both are exact and the quotient is correctly rounded. Plain fixed-width bytes, unlike
zipped ones, can be read by a view in any SQLite client.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.refusals import BadInput

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

# Integers above 2^53 and powers above 10^22 are not exact in float64.
_EXACT = float(2**53)
_MOST_DECIMALS = 22
_MOST_BYTES = 7


@dataclass(frozen=True, slots=True)
class Packed:
    """A channel's samples as stored: `base`, `width` and `packed`, or `listed` (JSON)."""

    base: int | None
    width: int | None
    packed: bytes | None
    listed: str | None


def encode(name: str, values: Array, decimals: int) -> Packed:
    """Pack the values (samples,) of a channel printed with `decimals` digits after the point.

    A channel that is not exactly such decimals is listed as JSON instead. Infinite values
    raise `BadInput` naming the channel.
    """
    import numpy as np

    if np.isinf(values).any():
        raise BadInput("an infinite value cannot be stored", where=f"Channel {name}")
    integers = _integers(values, decimals)
    if integers is None:
        listed = [None if value != value else value for value in values.tolist()]
        return Packed(None, None, None, json.dumps(listed, separators=(",", ":")))
    present = ~np.isnan(values)
    base = int(integers[present].min()) - 1 if present.any() else 0
    codes = np.where(present, integers - base, 0)
    width = max(1, (int(codes.max(initial=0)).bit_length() + 7) // 8)
    octets = codes.astype(">u8").view(np.uint8).reshape(-1, 8)
    return Packed(base, width, octets[:, 8 - width :].tobytes(), None)


def _integers(values: Array, decimals: int) -> npt.NDArray[np.int64] | None:
    """Values · 10^decimals as integers, 0 where nothing was recorded; ``None`` if not exact."""
    import numpy as np

    if not 0 <= decimals <= _MOST_DECIMALS:
        return None
    scale = 10.0**decimals
    scaled = np.rint(np.nan_to_num(values, nan=0.0) * scale)
    if np.abs(scaled).max(initial=0.0) > _EXACT:
        return None
    present = ~np.isnan(values)
    if not np.array_equal(scaled[present] / scale, values[present]):
        return None
    integers = scaled.astype(np.int64)
    if present.any():
        span = int(integers[present].max()) - int(integers[present].min()) + 1
        if span >= 256**_MOST_BYTES:
            return None
    return integers


def decode(stored: Packed, decimals: int) -> Array:
    """The values (samples,) of a stored channel, NaN where nothing was recorded.

    Raises ``ValueError`` when the stored bytes are not what their columns say.
    """
    import numpy as np

    if stored.listed is not None:
        return np.array(json.loads(stored.listed), dtype=np.float64)
    if stored.packed is None or stored.base is None or stored.width is None:
        raise ValueError("neither packed nor listed")
    octets = np.frombuffer(stored.packed, dtype=np.uint8).reshape(-1, stored.width)
    wide = np.zeros((len(octets), 8), dtype=np.uint8)
    wide[:, 8 - stored.width :] = octets
    codes = wide.view(">u8").reshape(-1).astype(np.int64)
    values: Array = (codes + stored.base) / 10.0**decimals
    values[codes == 0] = np.nan
    return values
