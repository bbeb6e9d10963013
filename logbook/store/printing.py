"""The numbers of a stored trace as files from data systems print them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from logbook.store import codec

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# A channel as it is stored, and the number of its decimals.
StoredChannel = tuple[codec.Stored, int]

# With all decimals; without zeros at the end; likewise, but one decimal at least; not at all.
FIXED, TRIMMED, ROUND, ABSENT = STYLES = "ftr-"
POINTS = ".,"
# Numbers of at most so many digits before and after the point are printed in bulk.
_BULK_DIGITS = 8
_MINUS, _ZERO = b"-0"


def length(channel: StoredChannel) -> int:
    """How many samples a stored channel has."""
    stored, decimals = channel
    if stored.listed is not None:
        return len(codec.decode(stored, decimals))
    return len(stored.digits or "") // (stored.width or 1)


def texts(channel: StoredChannel, style: str, point: str) -> list[str | None]:
    """The numbers of a channel in a style of `STYLES`, ``None`` where nothing was recorded.

    Raises ``ValueError`` for a channel that cannot be read.
    """
    stored, decimals = channel
    if not 0 <= decimals <= codec.MOST_DECIMALS:
        raise ValueError(f"{decimals} decimals")
    values = codec.decode(stored, decimals).tolist()
    if stored.listed is not None:
        printed = [repr(value) for value in values]
        if style == TRIMMED:
            printed = [text.removesuffix(".0") for text in printed]
    else:
        printed = (f"%.{decimals}f " * len(values) % tuple(values)).split()
        if style in (TRIMMED, ROUND) and decimals:
            printed = [text.rstrip("0").rstrip(".") for text in printed]
        if style == ROUND:
            printed = [text if "." in text else f"{text}.0" for text in printed]
    if point != ".":
        printed = [text.replace(".", point) for text in printed]
    return [text if value == value else None for value, text in zip(values, printed, strict=True)]


def in_rows(channels: Sequence[StoredChannel], styles: str, point: str) -> list[str]:
    """The numbers of channels of equal length row by row, those of nothing recorded left out.

    Each channel is printed in its style. Raises ``ValueError`` where one cannot be read.
    """
    printed = [
        texts(channel, style, point)
        for channel, style in zip(channels, styles, strict=False)
        if style != ABSENT
    ]
    return [text for row in zip(*printed, strict=True) for text in row if text is not None]


def even_rows(
    channels: Sequence[StoredChannel], point: str, between: Sequence[bytes]
) -> bytes | None:
    """Rows of all channels with all their decimals, as one text; ``None`` for unusual numbers.

    `between` are the characters before, between and after the numbers of each row, none of them
    a zero byte. Each number has as many places as the longest; those that it does not need hold
    zero bytes, which are taken out at the end. Raises ``ValueError`` where a channel cannot be
    read.
    """
    import numpy as np

    bases, places = [], []
    for stored, decimals in channels:
        if stored.base is None or not 0 <= decimals <= _BULK_DIGITS:
            return None
        bases.append(stored.base)
        places.append(decimals)
    codes = np.stack([codec.codes_of(stored) for stored, _ in channels], axis=1)
    numbers = codes + np.array(bases)
    sizes = np.abs(numbers)
    if not codes.all() or int(sizes.max(initial=0)) > 2**32 - 1:
        return None
    each = np.array(places, dtype=np.uint32)
    scale, small = np.uint32(10) ** each, sizes.astype(np.uint32)
    whole = small // scale
    most, least = int(whole.max(initial=0)), max(places)
    before, after = 4 if most < 10**4 else 8, -(-least // 4) * 4
    if most >= 10**_BULK_DIGITS:
        return None
    ends = [*between[1:-1], between[-1] + between[0]]
    widest = max(map(len, ends))
    shape, last = codes.shape, before + 2 + after
    cells = np.empty((*shape, last + widest), dtype=np.uint8)
    cells[..., 0] = (numbers < 0) * np.uint8(_MINUS)
    cells[..., 1 : before + 1] = _without_zeros(whole, before).reshape(*shape, before)
    cells[..., before + 1] = (each > 0) * np.uint8(ord(point))
    if after:
        part = (small - whole * scale) * np.uint32(10) ** (np.uint32(after) - each)
        figures = _digits(part, after).reshape(*shape, after)
        cells[..., before + 2 : last] = figures * (np.arange(after) < each[:, np.newaxis])
    padded = b"".join(end.ljust(widest, b"\0") for end in ends)
    cells[..., last:] = np.frombuffer(padded, dtype=np.uint8).reshape(-1, widest)
    text = between[0] + cells.tobytes().translate(None, b"\0")
    return text.removesuffix(between[0])


def _digits(numbers: npt.NDArray[np.uint32], places: int) -> npt.NDArray[np.uint8]:
    """Numbers as that many ASCII digits, 4 or 8."""
    import numpy as np

    four = codec.four_digits()
    if places == 4:
        return four[numbers].view(np.uint8)
    high, low = np.divmod(numbers, np.uint32(10_000))
    return np.stack((four[high], four[low]), axis=-1).view(np.uint8)


def _without_zeros(numbers: npt.NDArray[np.uint32], places: int) -> npt.NDArray[np.uint8]:
    """The same with zero bytes in place of the zeros before the first digit."""
    import numpy as np

    plain, bare = codec.four_digits(), _bare_digits()
    if places == 4:
        return bare[numbers].view(np.uint8)
    high, low = np.divmod(numbers, np.uint32(10_000))
    above = high > 0
    return np.stack(
        (np.where(above, bare[high], np.uint32(0)), np.where(above, plain[low], bare[low])),
        axis=-1,
    ).view(np.uint8)


@cache
def _bare_digits() -> npt.NDArray[np.uint32]:
    """The ASCII digits of 0 to 9999 without zeros before them, which are zero bytes here."""
    import numpy as np

    digits = codec.four_digits().view(np.uint8).reshape(-1, 4).copy()
    digits[:, :3][np.logical_and.accumulate(digits[:, :3] == _ZERO, axis=1)] = 0
    return digits.view(np.uint32).ravel()
