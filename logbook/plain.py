"""People's text made safe to show: nothing in it can steer a terminal.

A note pasted from anywhere may hold escape sequences, characters that turn the direction of
the text around, or ones without a width. They are shown, not obeyed: the reader sees that
something is there, and what is stored stays as it was.
"""

from __future__ import annotations

import re

# C0 and C1 controls, DEL; soft hyphen; marks of direction; characters without a width; line
# and paragraph separators; annotation marks; half surrogates (no terminal can be sent one);
# the invisible tag characters.
UNSAFE = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e007f]"
)


def plain(text: str, *, lines: bool = False) -> str:
    """`text` with every control character replaced by something visible.

    ``ESC`` becomes ``␛``, a tab ``␉``, a right-to-left override ``‹U+202E›``. With `lines`, line
    breaks stay, for notes that may run over several lines.
    """
    if lines:
        unified = text.replace("\r\n", "\n").replace("\r", "\n")
        return "\n".join(plain(line) for line in unified.split("\n"))
    return UNSAFE.sub(_visible, text)


def capital(text: str) -> str:
    """`text` with its first letter large and all others as they are: ``ISO 4287`` stays so."""
    return text[:1].upper() + text[1:]


def _visible(found: re.Match[str]) -> str:
    code = ord(found.group())
    if code < 0x20:
        return chr(0x2400 + code)  # the control pictures
    if code == 0x7F:
        return "␡"
    return f"‹U+{code:04X}›"
