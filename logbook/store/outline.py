"""A source file without its numbers: written again, byte for byte, from the trace taken from it.

Most of a file from the data system are the numbers that its trace holds anyway. Its outline is
the file with a mark in the place of each of them, compressed to a few hundred bytes. To read it
the trace's numbers are printed row by row, those of a row in the order of the channels, and put
in the place of the marks. Everything else stands in the outline as the file had it; so does a
number that the trace says in other words (``-0.00``, ``1E3``), and the trace's own is skipped.

Unpacked, an outline is a line of JSON and then the text, a character for each byte. The line says
which characters stand for a number and for one skipped, the decimal point, how each channel is
printed and how many rows the one line with marks stands for, where all are alike (else ``null``):
``f`` with all decimals, ``t`` without zeros at the end, ``r`` likewise but with one decimal at
least, ``-`` not at all. `outlining` finds the outline of a file.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from logbook.store.printing import (
    FIXED,
    POINTS,
    STYLES,
    StoredChannel,
    even_rows,
    in_rows,
    length,
)

_LONGEST_HEAD = 1 << 16
_LEVEL = 6
_END_OF_LINE = len("\r\n")


@dataclass(frozen=True, slots=True)
class Outline:
    """A file's text with marks for its numbers.

    `styles` has a letter for every channel. Where `rows` is a number, the one line with marks
    stands for so many, each of which has a number of every channel, with all its decimals.
    """

    text: str
    number: str
    skipped: str
    point: str
    styles: str
    rows: int | None = None

    def packed(self) -> bytes:
        """The outline as the book keeps it."""
        told = {"number": self.number, "skipped": self.skipped, "point": self.point,
                "printed": self.styles, "rows": self.rows}  # fmt: skip
        return zlib.compress(f"{json.dumps(told)}\n{self.text}".encode("latin-1"), _LEVEL)


def unpacked(packed: bytes, size: int) -> Outline:
    """The outline of a file of `size` bytes. Raises ``ValueError`` where it is none."""
    unpacking = zlib.decompressobj()
    try:
        whole = unpacking.decompress(packed, size + _LONGEST_HEAD).decode("latin-1")
        head, _, text = whole.partition("\n")
        told = json.loads(head)
        found = Outline(
            text, *(told[name] for name in ("number", "skipped", "point", "printed", "rows"))
        )
        marks, sound = {found.number, found.skipped}, unpacking.eof and len(text) <= size
        if not (sound and len(marks) == 2 and all(len(mark) == 1 for mark in marks)):
            raise ValueError("it does not fit the file")
        if found.point not in tuple(POINTS) or not set(found.styles) <= set(STYLES):
            raise ValueError("it prints numbers in no known way")
    except (zlib.error, ValueError, KeyError, TypeError) as error:
        raise ValueError(f"its outline is damaged: {error}") from error
    return found


def written(packed: bytes, channels: Sequence[StoredChannel], size: int) -> bytes:
    """The file of `size` bytes that an outline and the channels of its trace make.

    `channels` are all of the trace in their order. Raises ``ValueError`` where no such file
    comes of it.
    """
    outline = unpacked(packed, size)
    if len(channels) < len(outline.styles):
        raise ValueError("its trace has too few channels")
    if outline.rows is None:
        content = _line_by_line(outline, channels)
    else:
        content = _evenly(outline, channels[: len(outline.styles)])
        if len(content) - size <= _END_OF_LINE:
            content = content[:size]  # the last line may lack its end
    if len(content) != size:
        raise ValueError(f"it comes to {len(content)} of its {size} bytes")
    return content


def _line_by_line(outline: Outline, channels: Sequence[StoredChannel]) -> bytes:
    between = outline.text.split(outline.number)
    numbers = in_rows(channels, outline.styles, outline.point)
    if outline.skipped in outline.text:
        at, used = 0, []
        for part in between[:-1]:
            at += part.count(outline.skipped)
            used.append(at)
            at += 1
        between = [part.replace(outline.skipped, "") for part in between]
        numbers = [numbers[at] for at in used if at < len(numbers)]
    if len(between) - 1 > len(numbers):
        raise ValueError("its trace has too few numbers")
    parts = [""] * (2 * len(between) - 1)
    parts[0::2] = between
    parts[1::2] = numbers[: len(between) - 1]
    return "".join(parts).encode("latin-1")


def _evenly(outline: Outline, channels: Sequence[StoredChannel]) -> bytes:
    begin, end = _marked_line(outline)
    row = outline.text[begin:end].encode("latin-1").split(outline.number.encode())
    if any(length(channel) != outline.rows for channel in channels):
        raise ValueError("its trace has other rows")
    if len(row) != len(channels) + 1 or set(outline.styles) != {FIXED}:
        raise ValueError("its trace has other channels")
    rows = even_rows(channels, outline.point, row)
    if rows is None:
        raise ValueError("its trace has other numbers")
    head, tail = outline.text[:begin], outline.text[end:]
    return head.encode("latin-1") + rows + tail.encode("latin-1")


def _marked_line(outline: Outline) -> tuple[int, int]:
    """Where the first line with a mark begins, and where the next line does."""
    mark = outline.text.find(outline.number)
    return outline.text.rfind("\n", 0, mark) + 1, outline.text.find("\n", mark) + 1
