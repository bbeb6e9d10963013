"""Finding a file's outline: which of its numbers are those of its trace, as it prints them.

Most files are the same row after row: then one row tells the outline of all. Else every line is
compared with the row of the trace whose turn it is. Whatever is found is tried: only what gives
the very bytes of the file again, from what the book will read back, is an outline of it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache

from logbook.store.codec import Stored
from logbook.store.outline import Outline, written
from logbook.store.printing import (
    ABSENT,
    FIXED,
    POINTS,
    ROUND,
    TRIMMED,
    StoredChannel,
    length,
    texts,
)

# Larger files are long logs; going over one line by line takes a second for so many bytes.
MOST_BYTES = 4 * 1024 * 1024
_MOST_UNEVEN = 1024 * 1024
# Of shorter ones an outline is hardly smaller.
LEAST_BYTES = 1024
_MARKS = tuple(map(chr, (*range(1, 9), *range(14, 32))))
# How many samples tell how a channel is printed.
_TELLING = 64
# So far a number of the row is looked for, past those that the line says otherwise.
_AHEAD = 4

Column = Sequence[str | None]


@cache
def _numbers(point: str) -> re.Pattern[str]:
    """What is a number in a file with this decimal point."""
    return re.compile(rf"(-?[0-9]+(?:{re.escape(point)}[0-9]+)?(?:[eE][-+]?[0-9]+)?)")


def outline_of(content: bytes, channels: Sequence[StoredChannel]) -> bytes | None:
    """The packed outline of a file, of which and of `channels` `written` makes its bytes again.

    `channels` are all of the trace in their order, as the book stores them. ``None`` where the
    trace's numbers are not those that the file prints.
    """
    if not (LEAST_BYTES <= len(content) <= MOST_BYTES and channels):
        return None
    text = content.decode("latin-1")
    free = [mark for mark in _MARKS if mark not in text]
    if len(free) < 2:
        return None
    for outline in _proposals(text, channels, free[0], free[1]):
        packed = outline.packed()
        try:
            if written(packed, channels, len(content)) == content:
                return packed
        except ValueError:
            continue  # what was proposed is no outline of this file
    return None


def _proposals(
    text: str, channels: Sequence[StoredChannel], number: str, skipped: str
) -> Iterator[Outline]:
    even = _last_rows(text, length(channels[0]))
    if even is not None:
        begin, row = even
        for point in POINTS:
            outlined, count = _numbers(point).subn(number, row)
            if count == len(channels):
                yield Outline(text[:begin] + outlined, number, skipped, point, FIXED * count,
                              length(channels[0]))  # fmt: skip
    if len(text) > _MOST_UNEVEN:
        return
    for point in POINTS:
        said = set(_numbers(point).findall(text))
        styles = "".join(_style(channel, point, said) for channel in channels)
        columns = [
            texts(channel, style, point)
            for channel, style in zip(channels, styles, strict=True)
            if style != ABSENT
        ]
        if columns:
            uneven = _line_by_line(text, columns, _numbers(point), number, skipped)
            if len(uneven) < len(text):
                yield Outline(uneven, number, skipped, point, styles)


def _samples(channel: StoredChannel, which: slice) -> StoredChannel:
    """A channel with these of its samples only."""
    stored, decimals = channel
    if stored.listed is not None:
        return Stored(None, None, None, json.dumps(json.loads(stored.listed)[which])), decimals
    digits, width = stored.digits or "", stored.width or 1
    begins = range(0, len(digits), width)[which]
    few = "".join(digits[begin : begin + width] for begin in begins)
    return Stored(stored.base, stored.width, few, None), decimals


def _last_rows(text: str, rows: int) -> tuple[int, str] | None:
    """Where the last so many lines begin, and the very last, with the end that the others have
    even where the file breaks off before it."""
    lines = text.split("\n")
    if lines[-1]:
        end = "\r" if lines[0].endswith("\r") else ""
        lines[-1:] = [lines[-1] + end, ""]
    begin = len(lines) - 1 - rows
    if begin < 0 or not rows or "\0" in lines[-2]:
        return None
    return sum(map(len, lines[:begin])) + begin, f"{lines[-2]}\n"


def _style(channel: StoredChannel, point: str, said: set[str]) -> str:
    """How the file prints a channel, where it prints most of its numbers at all."""
    few = _samples(channel, slice(None, None, max(length(channel) // _TELLING, 1)))
    best, most = ABSENT, 0
    for style in (FIXED, TRIMMED, ROUND):
        recorded = [text for text in texts(few, style, point) if text is not None]
        found = sum(map(said.__contains__, recorded))
        if found == len(recorded):
            return style
        if found > most and 2 * found >= len(recorded):
            best, most = style, found
    return best


def _line_by_line(
    text: str, columns: Sequence[Column], numbers: re.Pattern[str], number: str, skipped: str
) -> str:
    """The outline of a file of which each line is compared with the row whose turn it is."""
    recorded = ([one for one in row if one is not None] for row in zip(*columns, strict=True))
    rows = (row for row in recorded if row)
    row, outlined = next(rows, None), []
    usual: Mapping[int, int] = {}
    for line in text.split("\n"):
        if row is None:
            outlined.append(line)
            continue
        parts = numbers.split(line)
        between, said = parts[0::2], parts[1::2]
        if said == row:
            outlined.append(number.join(between))
            row = next(rows, None)
            continue
        places = _places(said, row, usual)
        if 2 * len(places) >= len(row):
            usual = places
            line = _outlined(between, said, places, len(row), number, skipped)
            row = next(rows, None)
        outlined.append(line)
    return "\n".join(outlined)


def _places(said: Sequence[str], row: Sequence[str], usual: Mapping[int, int]) -> Mapping[int, int]:
    """Which numbers of a line are which of a row; as `usual` where that holds for all."""
    if len(usual) == len(row) and all(
        at < len(said) and place < len(row) and said[at] == row[place]
        for at, place in usual.items()
    ):
        return usual
    found, next_place = {}, 0
    for at, text in enumerate(said):
        for place in range(next_place, min(next_place + _AHEAD, len(row))):
            if row[place] == text:
                found[at], next_place = place, place + 1
                break
    return found


def _outlined(
    between: Sequence[str],
    said: Sequence[str],
    places: Mapping[int, int],
    wanted: int,
    number: str,
    skipped: str,
) -> str:
    """A line with marks, all `wanted` numbers of its row used up or skipped."""
    parts, used = [between[0]], 0
    for at, (text, after) in enumerate(zip(said, between[1:], strict=True)):
        place = places.get(at)
        if place is None:
            parts += (text, after)
        else:
            parts += (skipped * (place - used), number, after)
            used = place + 1
    parts.append(skipped * (wanted - used))
    return "".join(parts)
