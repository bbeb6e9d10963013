"""A file's text, of which a long one is left in its bytes.

A log of an evening is a hundred thousand rows of digits, which are parsed as bytes. A text of
them would be as large again, only for a look at its first rows and some in the middle.
"""

from __future__ import annotations

import codecs
from dataclasses import dataclass, field

LINE_ENDS = (b"", b"\n", b"\r\n", b"\r")

_LONG = 1024 * 1024
_PIECE = 256 * 1024  # bytes gone through at a time: they stay in the processor's cache


@dataclass(frozen=True, slots=True)
class Decoded:
    """The text with ``\\n`` line ends, without the blanks at its end, and the Python name of its
    encoding.

    `raw` are the file's own bytes where they are this text in UTF-8, but for the line ends. A
    place in the text counts characters, or the bytes of `raw` up to `end` where `kept` is
    ``None``.
    """

    encoding: str
    kept: str | None = field(repr=False)
    raw: bytes | None = field(default=None, repr=False)
    end: int = 0

    @property
    def text(self) -> str:
        """The whole text."""
        return self.part(0, self.size)

    @property
    def size(self) -> int:
        """The place after the last character."""
        return self.end if self.kept is None else len(self.kept)

    def find(self, what: str, at: int = 0) -> int:
        """The first place from `at` on where this stands, -1 if there is none."""
        if self.kept is not None:
            return self.kept.find(what, at)
        sought = what.encode()
        first = self._bytes.find(sought[:1], at, self.end)  # many times quicker than all of them
        return first if first < 0 else self._bytes.find(sought, first, self.end)

    def rfind(self, what: str, at: int, end: int) -> int:
        """The last place from `at` on, before `end`, where this stands, -1 if there is none."""
        if self.kept is not None:
            return self.kept.rfind(what, at, end)
        return self._bytes.rfind(what.encode(), at, min(end, self.end))

    def count(self, what: str, at: int, end: int) -> int:
        """How often this stands there."""
        if self.kept is not None:
            return self.kept.count(what, at, end)
        return self._bytes.count(what.encode(), at, min(end, self.end))

    def part(self, at: int, end: int) -> str:
        """The text from one place to another; characters cut in two are left out."""
        if self.kept is not None:
            return self.kept[at:end]
        part = self._bytes[at : min(end, self.end)].decode(errors="ignore")
        part = part.replace("\r\n", "\n").removesuffix("\r")
        return part if at else part.removeprefix("\ufeff")

    def line(self, number: int) -> int:
        """The place where a line begins, counted from 1."""
        at = 0
        for _ in range(1, number):
            at = self.find("\n", at) + 1
        return at

    @property
    def _bytes(self) -> bytes:
        assert self.raw is not None
        return self.raw


def as_bytes(content: bytes, encoding: str, end: int) -> Decoded | None:
    """A long text as its bytes; ``None`` where only a text of it will do, and where it is none.

    That is where it is no UTF-8, ends in more than a line end, or has line ends without a line
    feed.
    """
    if len(content) < _LONG or encoding not in ("utf-8", "utf-8-sig"):
        return None
    if content[end:] not in LINE_ENDS or not (content.isascii() or _is_utf8(content)):
        return None
    if b"\r" in content and _has_lone_return(content):
        return None
    return Decoded(encoding, None, content, end)


def _is_utf8(content: bytes) -> bool:
    view, at = memoryview(content), 0
    try:
        while at < len(content):
            last = at + _PIECE >= len(content)
            at += codecs.utf_8_decode(view[at : at + _PIECE], "strict", last)[1]
    except UnicodeDecodeError:
        return False
    return True


def _has_lone_return(content: bytes) -> bool:
    import numpy as np

    codes = np.frombuffer(content, dtype=np.uint8)
    pieces = (codes[start : start + _PIECE + 1] for start in range(0, len(codes), _PIECE))
    lone = any(((one[:-1] == ord("\r")) & (one[1:] != ord("\n"))).any() for one in pieces)
    return lone or content.endswith(b"\r")


def count_of(byte: bytes, content: bytes | memoryview) -> int:
    """How often a byte occurs; quicker than to count it in a text."""
    import numpy as np

    codes = np.frombuffer(content, dtype=np.uint8)
    pieces = (codes[start : start + _PIECE] for start in range(0, len(codes), _PIECE))
    return sum(int(np.count_nonzero(piece == byte[0])) for piece in pieces)
