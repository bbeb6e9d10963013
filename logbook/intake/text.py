"""Bytes to text: what is no table of text at all, which encoding, how long a line may be.

The encoding is found by trying, in a fixed order: a byte order mark, UTF-16 without one (its
zero bytes give it away), UTF-8, Windows-1252, Latin-1. A statistical guesser is no help here:
a file of digits with one ``°`` has nothing to take statistics of, while UTF-8 is practically
never valid by accident and the other two differ only in characters no header uses.
"""

from __future__ import annotations

import codecs
import unicodedata

from logbook.intake.decoded import LINE_ENDS, Decoded, as_bytes, count_of
from logbook.refusals import BadFile

MAX_BYTES = 64 * 1024 * 1024
MAX_LINE = 100_000
MAX_LINES = 2_000_000

_MIB = 1024 * 1024
_TABLE = "a table of text, such as CSV, with a row of column names"

# How files of other kinds begin, and what to say they are.
_BEGINNINGS: tuple[tuple[bytes, str, str], ...] = (
    (b"\x89PNG", "a PNG picture", _TABLE),
    (b"\xff\xd8\xff", "a JPEG picture", _TABLE),
    (b"GIF8", "a GIF picture", _TABLE),
    (b"%PDF", "a PDF document", _TABLE),
    (b"PK\x03\x04", "a zip archive or a spreadsheet", "the sheet saved as CSV"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old spreadsheet or document", "the sheet as CSV"),
    (b"\x1f\x8b", "compressed with gzip", "the file unpacked"),
    (b"BZh", "compressed with bzip2", "the file unpacked"),
    (b"\xfd7zXZ", "compressed with xz", "the file unpacked"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive", "the file unpacked"),
    (b"\x28\xb5\x2f\xfd", "compressed with zstandard", "the file unpacked"),
    (b"SQLite format 3\x00", "an SQLite database", _TABLE),
    (b"PAR1", "a Parquet file", "the sheet saved as CSV"),
    (b"\x89HDF", "an HDF5 file", _TABLE),
    (b"MDF     ", "an ASAM MDF measurement file", "its channels exported as CSV"),
    (b"\x7fELF", "a program", _TABLE),
)

_MARKS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16: its mark begins with the same two bytes
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)

# Control bytes that text does not have; tab, line ends, form feed and DOS end of file do occur.
_CONTROLS = bytes(sorted(set(range(32)) - set(b"\t\n\r\x0c\x1a") | {127}))
_PROBE = 64 * 1024
_BLANKS = "\x1a\n\r\t "


def decode(content: bytes, *, where: str) -> Decoded:
    """The text of a file.

    Raises `BadFile` (`where` names the file) for an empty file, another kind of file, one over
    `MAX_BYTES`, a line over `MAX_LINE` characters, or more than `MAX_LINES` lines.
    """
    check_size(len(content), where=where)
    for beginning, kind, wanted in _BEGINNINGS:
        if content.startswith(beginning):
            raise BadFile(f"the file is {kind}, not a table of text", where=where, wanted=wanted)
    decoded = _decoded(content, where)
    if not decoded.part(0, _PROBE).strip("\ufeff"):
        raise BadFile("the file holds nothing but blanks", where=where, wanted=_TABLE)
    if (zero := decoded.find("\x00")) >= 0:
        line = decoded.count("\n", 0, zero) + 1
        raise BadFile(
            "the file holds zero bytes: it is binary or damaged",
            where=f"{where}, line {line}",
            wanted=_TABLE,
        )
    _check_lines(decoded, content, where)
    return decoded


def check_size(size: int, *, where: str) -> None:
    """Refuse, before anything is read, a file that is empty or too large to be one pull."""
    if size == 0:
        raise BadFile("the file is empty", where=where, wanted=_TABLE)
    if size > MAX_BYTES:
        raise BadFile(
            f"the file has {size / _MIB:.0f} MB, but only up to {MAX_BYTES // _MIB} MB are read",
            where=where,
            wanted="the pull alone, cut out of the long log",
        )


def visible(text: str, longest: int = 40) -> str:
    """The text on one line, shortened, with nothing in it that could steer a terminal.

    Control, formatting (bidirectional too), separator and unassigned characters are written as
    escapes.
    """
    if len(text) <= longest and text.isprintable():
        return " ".join(text.split())
    out = []
    for char in text[: longest + 1]:
        if char.isprintable():
            out.append(char)
        elif char in "\t\n\r" or unicodedata.category(char) == "Zs":
            out.append(" ")
        else:
            out.append(char.encode("unicode_escape").decode())
    shown = " ".join("".join(out).split())
    return shown if len(text) <= longest else shown[:longest].rstrip() + "…"


def quoted(text: str, longest: int = 40) -> str:
    """The text made `visible`, in quotation marks."""
    return f'"{visible(text, longest)}"'


def _decoded(content: bytes, where: str) -> Decoded:
    encodings = _encodings(content)
    if not encodings:
        raise BadFile("the file is binary, not a table of text", where=where, wanted=_TABLE)
    # A byte of the blanks is one of them in all encodings but these.
    wide = encodings[0].startswith(("utf-16", "utf-32"))
    end = len(content) if wide else _end(content)
    if long := as_bytes(content, encodings[0], end):
        return long
    for encoding in encodings:
        try:
            text = str(memoryview(content)[:end], encoding)
        except UnicodeDecodeError as error:
            last = error
        else:
            if "\r" in text:
                text = text.replace("\r\n", "\n").replace("\r", "\n")
            same = encoding.startswith("utf-8") and content[end:] in LINE_ENDS
            return Decoded(encoding, text.rstrip(_BLANKS), content if same else None)
    raise BadFile(
        f"the file says it is {last.encoding.upper()} but byte {last.start} does not fit that",
        where=where,
        wanted="the file saved again as UTF-8",
    ) from last


def _end(content: bytes) -> int:
    """Where the blanks at the end begin."""
    tail = content[-_PROBE:]
    kept = tail.rstrip(_BLANKS.encode())
    return len(content) - len(tail) + len(kept) if kept else len(content.rstrip(_BLANKS.encode()))


def _encodings(content: bytes) -> tuple[str, ...]:
    """The encodings to try, in order; none for what is not text."""
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return (encoding,)
    probe = content[:_PROBE]
    zeros_even, zeros_odd = probe[0::2].count(0), probe[1::2].count(0)
    half = max(1, len(probe) // 2)
    if zeros_odd > 0.4 * half and zeros_even < 0.05 * half:
        return ("utf-16-le",)
    if zeros_even > 0.4 * half and zeros_odd < 0.05 * half:
        return ("utf-16-be",)
    controls = len(probe) - len(probe.translate(None, _CONTROLS))
    if controls > max(2, len(probe) // 200):
        return ()
    return ("utf-8", "cp1252", "latin-1")


def _check_lines(text: Decoded, content: bytes, where: str) -> None:
    """Refuse overlong lines with one pass that jumps from line end to line end."""
    lines = 1 + (text.count("\n", 0, text.size) if _line_ends(content) >= MAX_LINES else 0)
    if lines > MAX_LINES:
        raise BadFile(
            f"the file has {lines} lines, more than the {MAX_LINES} that are read",
            where=where,
            wanted="the pull alone, cut out of the long log",
        )
    start = 0
    while text.size - start > MAX_LINE:
        end = text.rfind("\n", start, start + MAX_LINE + 1)
        if end < 0:
            line = text.count("\n", 0, start) + 1
            raise BadFile(
                f"the line has more than {MAX_LINE} characters",
                where=f"{where}, line {line}",
                wanted="one sample per line",
            )
        start = end + 1


def _line_ends(content: bytes) -> int:
    """As many line ends as there are in any encoding, or more."""
    if len(content) < MAX_LINES:
        return 0
    ends = count_of(b"\n", content)
    return ends + count_of(b"\r", content) if b"\r" in content else ends
