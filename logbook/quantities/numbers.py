"""The number in front of a unit, as people type it.

Understood: ``29.5``, ``.5``, ``29,5`` (decimal comma), ``1,250,000`` and ``12 500``
(thousands), ``1.250,5`` and ``1,250.5``, ``1.2e3``, a typographic minus, no-break blanks.
``1,250`` has two readings and is refused unless only one of them can be meant.
"""

from __future__ import annotations

import math
import re

from logbook.plain import plain
from logbook.refusals import BadInput

LONGEST_TEXT = 64

_BLANKS = re.compile(r"[\s\u00a0\u2000-\u200a\u202f\u205f\u3000]+")
_MINUS = str.maketrans("−–", "--")
_NUMBER = re.compile(
    r"(?P<sign>[+\-−–]?) ?"
    r"(?P<body>[1-9][0-9]{0,2}(?: [0-9]{3})+(?:[.,][0-9]+)?(?![0-9.,])"
    r"|[.,]?[0-9](?:[0-9.,]*[0-9])?\.?)"
    r"(?P<exponent>[eE][+\-−–]?[0-9]{1,3})?"
)
_COMMA_GROUPS = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?P<rest>\.[0-9]*)?")
_DOT_GROUPS = re.compile(r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+(?P<rest>,[0-9]+)?")
_TWO_READINGS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


def quoted(text: str) -> str:
    """The text in quotation marks, shortened and without control characters."""
    shown = plain(text)
    return f'"{shown}"' if len(shown) <= 40 else f'"{shown[:37]}…"'


def split_number(
    text: str, *, field: str, wanted: str, thousands_certain: bool = False
) -> tuple[float, str]:
    """The number that `text` starts with, and what is left of it (the unit as typed).

    Raises
    ------
    BadInput
        No number at the start, two readings, not finite, or an overlong text.
    """
    if len(text) > LONGEST_TEXT:
        raise BadInput(
            f"{quoted(text)} is longer than {LONGEST_TEXT} characters", where=field, wanted=wanted
        )
    plain = _BLANKS.sub(" ", text).strip()
    found = _NUMBER.match(plain)
    if not found:
        what = f"{quoted(text)} is not a number" if plain else "nothing was given"
        raise BadInput(what, where=field, wanted=wanted)
    body = found["body"].replace(" ", "")
    if not thousands_certain:
        _refuse_two_readings(body, text, field)
    digits = _plain_digits(body)
    if digits is None:
        raise BadInput(f"{quoted(text)} is not a number", where=field, wanted=wanted)
    number = float((found["sign"] + digits + (found["exponent"] or "")).translate(_MINUS))
    if not math.isfinite(number):
        raise BadInput(f"{quoted(text)} is beyond all bounds", where=field, wanted=wanted)
    return number, plain[found.end() :].strip()


def _refuse_two_readings(body: str, text: str, field: str) -> None:
    if _TWO_READINGS.fullmatch(body):
        decimal, thousands = body.replace(",", "."), body.replace(",", "")
        raise BadInput(
            f"{quoted(text)} can be read as {decimal} or as {thousands}",
            where=field,
            wanted=f"{decimal} with a point, or {thousands} without a comma",
        )


def _plain_digits(body: str) -> str | None:
    """`body` with a decimal point and no grouping, or ``None`` where it makes no sense."""
    dots, commas = body.count("."), body.count(",")
    if commas == 0 and dots <= 1:
        return body
    if _COMMA_GROUPS.fullmatch(body):
        return body.replace(",", "")
    if commas == 1 and dots == 0:
        return body.replace(",", ".")
    if _DOT_GROUPS.fullmatch(body):
        return body.replace(".", "").replace(",", ".")
    return None
