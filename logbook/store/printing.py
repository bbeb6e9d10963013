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
_LARGEST_BASE = 10**16
_MINUS, _APART, _ZERO = b"- 0"


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
        (channel, style)
        for channel, style in zip(channels, styles, strict=False)
        if style != ABSENT
    ]
    if not printed:
        return []
    samples = {length(channel) for channel, _ in printed}
    if len(samples) != 1:
        raise ValueError("its channels are not of one length")
    if all(style == FIXED for _, style in printed):
        found = _in_bulk([channel for channel, _ in printed], samples.pop(), point)
        if found is not None:
            return found
    rows = zip(*(texts(channel, style, point) for channel, style in printed), strict=True)
    return [text for row in rows for text in row if text is not None]


def _in_bulk(channels: Sequence[StoredChannel], samples: int, point: str) -> list[str] | None:
    """`in_rows` with all decimals, as one table of characters; ``None`` for unusual numbers.

    Each number has as many places as the longest; those that it does not need hold zero bytes,
    which are taken out at the end.
    """
    import numpy as np

    bases, widths, places = [], [], []
    for stored, decimals in channels:
        if stored.digits is None or stored.base is None or not stored.width:
            return None
        bases.append(stored.base)
        widths.append(stored.width)
        places.append(decimals)
    usual = max(map(abs, bases)) < _LARGEST_BASE and max(widths) <= codec.MOST_DIGITS
    if not (usual and samples and 0 <= min(places) <= max(places) <= _BULK_DIGITS):
        return None
    codes = np.empty((samples, len(channels)), dtype=np.int64)
    for at, (stored, _) in enumerate(channels):
        codes[:, at] = codec.codes_of(stored)
    numbers = codes + np.array(bases)
    decimals_each = np.array(places)
    whole, part = np.divmod(np.abs(numbers), 10**decimals_each)
    most, least = int(whole.max()), max(places)
    if most >= 10**_BULK_DIGITS:
        return None
    before, after = 4 if most < 10**4 else 8, -(-least // 4) * 4
    shape = (samples, len(channels))
    cells = np.empty((*shape, before + after + 3), dtype=np.uint8)
    cells[..., 0] = (numbers < 0) * np.uint8(_MINUS)
    cells[..., 1 : before + 1] = _without_zeros(whole, before).reshape(*shape, before)
    cells[..., before + 1] = (decimals_each > 0) * np.uint8(ord(point))
    if after:
        figures = _digits(part * 10 ** (after - decimals_each), after).reshape(*shape, after)
        said = np.arange(after) < decimals_each[:, np.newaxis]
        cells[..., before + 2 : -1] = figures * said
    cells[..., -1] = _APART
    cells[codes == 0] = 0
    return cells.tobytes().translate(None, b"\0").decode("ascii").split()


def _digits(numbers: npt.NDArray[np.int64], places: int) -> npt.NDArray[np.uint8]:
    """Numbers as that many ASCII digits, 4 or 8."""
    import numpy as np

    four = codec.four_digits()
    if places == 4:
        return four[numbers].view(np.uint8)
    high, low = np.divmod(numbers, 10_000)
    return np.stack((four[high], four[low]), axis=-1).view(np.uint8)


def _without_zeros(numbers: npt.NDArray[np.int64], places: int) -> npt.NDArray[np.uint8]:
    """The same with zero bytes in place of the zeros before the first digit."""
    import numpy as np

    plain, bare = codec.four_digits(), _bare_digits()
    if places == 4:
        return bare[numbers].view(np.uint8)
    high, low = np.divmod(numbers, 10_000)
    above = high > 0
    return np.stack(
        (np.where(above, bare[high], 0), np.where(above, plain[low], bare[low])), axis=-1
    ).view(np.uint8)


@cache
def _bare_digits() -> npt.NDArray[np.uint32]:
    """The ASCII digits of 0 to 9999 without zeros before them, which are zero bytes here."""
    import numpy as np

    digits = codec.four_digits().view(np.uint8).reshape(-1, 4).copy()
    digits[:, :3][np.logical_and.accumulate(digits[:, :3] == _ZERO, axis=1)] = 0
    return digits.view(np.uint32).ravel()
