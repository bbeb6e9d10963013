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
_ZERO = ord("0")


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
    a zero byte. Every number is laid out in as many words of four characters as the longest:
    sign, digits, point, decimals, what comes after it. What it does not need of them are zero
    bytes, which are taken out at the end. Raises ``ValueError`` where a channel cannot be read.
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
    if not codes.all() or int(sizes.max(initial=0)) >= 2**32:
        return None
    each = np.array(places, dtype=np.uint32)
    scale, small = np.uint32(10) ** each, sizes.astype(np.uint32)
    whole = small // scale
    if (most := int(whole.max(initial=0))) >= 10**_BULK_DIGITS:
        return None
    words = [(numbers < 0) * _words(b"-")[0]]
    if most < 10**4:
        words.append(_bare_digits()[whole])
    else:
        high, low = np.divmod(whole, np.uint32(10**4))
        above = high > 0
        words.append(np.where(above, _bare_digits()[high], np.uint32(0)))
        words.append(np.where(above, codec.four_digits()[low], _bare_digits()[low]))
    words.append((each > 0) * _words(point.encode())[0])
    if after := -(-max(places) // 4) * 4:
        said = _words(b"".join((b"\xff" * decimals).ljust(after, b"\0") for decimals in places))
        part = (small - whole * scale) * np.uint32(10) ** (np.uint32(after) - each)
        halves = [part] if after == 4 else np.divmod(part, np.uint32(10**4))
        words += [
            codec.four_digits()[half] & said[at :: after // 4] for at, half in enumerate(halves)
        ]
    ends = [*between[1:-1], between[-1] + between[0]]
    widest = -(-max(map(len, ends)) // 4)
    ending = _words(b"".join(end.ljust(4 * widest, b"\0") for end in ends))
    words += [ending[at::widest] for at in range(widest)]
    cells = np.empty((*codes.shape, len(words)), dtype=np.uint32)
    for at, word in enumerate(words):
        cells[..., at] = word
    text: bytes = between[0] + cells.tobytes().translate(None, b"\0")
    return text.removesuffix(between[0])


def _words(text: bytes) -> npt.NDArray[np.uint32]:
    """Characters four by four, zero bytes after the last."""
    import numpy as np

    return np.frombuffer(text.ljust(-(-len(text) // 4) * 4, b"\0"), dtype=np.uint32)


@cache
def _bare_digits() -> npt.NDArray[np.uint32]:
    """The ASCII digits of 0 to 9999 without zeros before them, which are zero bytes here."""
    import numpy as np

    digits = codec.four_digits().view(np.uint8).reshape(-1, 4).copy()
    digits[:, :3][np.logical_and.accumulate(digits[:, :3] == _ZERO, axis=1)] = 0
    return digits.view(np.uint32).ravel()
