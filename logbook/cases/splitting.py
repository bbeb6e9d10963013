"""Several values in one line of text: one for each cylinder, or the two ends of a range."""

from __future__ import annotations

import re

from logbook.quantities.numbers import split_number
from logbook.refusals import BadInput

_NOT_MEASURED = frozenset({"-", "–", "—", "−"})
_BEGINS_NUMBER = re.compile(r"[+\-−–]?[.,]?[0-9]")
_HAS_UNIT = re.compile(r"[^0-9.,+\-−–eE]")


def split_list(typed: str, *, where: str, example: str) -> tuple[list[str | None], str]:
    """``4 5 - 3.5 %`` → (``["4 %", "5 %", None, "3.5 %"]``, ``"%"``): the unit after the last
    value is that of all, a dash stands for what was not measured."""
    words = [word.rstrip(",;") for word in typed.replace(";", " ").split()]
    values: list[str | None] = []
    while words and (words[0] in _NOT_MEASURED or _BEGINS_NUMBER.match(words[0])):
        word = words.pop(0)
        values.append(None if word in _NOT_MEASURED else word)
    unit = " ".join(words)
    if not any(values):
        raise BadInput(
            f"{typed[:40]!r} holds no value",
            where=where,
            wanted=f"values with blanks between, such as {example}" if example else "values",
        )
    bare = [value if value is None or _HAS_UNIT.search(value) else f"{value} {unit}".strip()
            for value in values]  # fmt: skip
    return bare, unit


def split_range(text: str, *, where: str) -> tuple[str, str]:
    """``0.30..0.40 mm`` → (``"0.30 mm"``, ``"0.40 mm"``); a side may be missing."""
    mark = next((mark for mark in ("..", " to ", "–", "—") if mark in text), None)
    if mark is None:
        raise BadInput(
            f"{text[:40]!r} is not a range",
            where=where,
            wanted="such as 0.30..0.40 mm, ..0.05 mm or 0.30 mm..",
        )
    low, _, high = (part.strip() for part in text.partition(mark))
    if not (low or high):
        raise BadInput("nothing was given", where=where, wanted="such as 0.30..0.40 mm")
    if low and high and not split_number(low, field=where, wanted="a number")[1]:
        low = f"{low} {split_number(high, field=where, wanted='a number')[1]}".strip()
    return low, high
