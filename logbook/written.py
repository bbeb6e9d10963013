"""People's text in a cell of a spreadsheet: harmless there, and read back to the character.

A text that a spreadsheet would take for a formula gets an apostrophe before it, as does one that
begins with an apostrophe itself. Control characters and marks of direction are written as in
JSON: ``\\u001b``. A backslash before what would look so is written ``\\u005c``.
"""

from __future__ import annotations

import math
import re

from logbook.plain import UNSAFE

MARK = "'"
# What begins a formula in one spreadsheet or another, in half and full width.
_FORMULA_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
_ESCAPED = re.compile(r"\\u([0-9a-f]{4})|\\U([0-9a-f]{8})")
_AMBIGUOUS = re.compile(r"\\(?=u[0-9a-f]{4}|U[0-9a-f]{8})")


def written(text: str) -> str:
    """`text` as it is written into a cell."""
    told = UNSAFE.sub(_escape, _AMBIGUOUS.sub(r"\\u005c", text))
    formula = told.lstrip().startswith(_FORMULA_STARTS) and not _is_number(told)
    return f"{MARK}{told}" if formula or told.startswith(MARK) else told


def read_back(cell: str) -> str:
    """The text that `written` made this cell of."""
    return _ESCAPED.sub(_unescape, cell.removeprefix(MARK))


def _escape(found: re.Match[str]) -> str:
    code = ord(found.group())
    if found.group() == "\n":  # a cell may run over several lines
        return "\n"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _unescape(found: re.Match[str]) -> str:
    return chr(int(found.group(1) or found.group(2), 16))


def _is_number(text: str) -> bool:
    """``-4`` and ``+2`` are levels, and no formula."""
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False
