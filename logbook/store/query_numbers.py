"""Numbers in a search: compared, within a range, or as they would be shown."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from logbook.quantities import known_unit, parse, stored_unit
from logbook.records.setup import TIMING
from logbook.refusals import BadInput

_COMPARED = re.compile(r"\s*(>=|<=|≥|≤|>|<|=)\s*(.*)", re.DOTALL)
_NUMBER = re.compile(r"\s*[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_RANGE = ".."


@dataclass(frozen=True, slots=True)
class Bounds:
    """``None`` means open. Which ends belong to it is said beside them."""

    low: float | None = None
    low_counts: bool = True
    high: float | None = None
    high_counts: bool = True


def unit_is_missing(text: str) -> bool:
    """Whether `text` ends in a number with no unit behind it."""
    last = text.rpartition(_RANGE)[2]
    compared = _COMPARED.fullmatch(last)
    return _NUMBER.fullmatch(compared[2] if compared else last) is not None


def quantity_bounds(text: str, kind: str, *, field: str, bare_unit: str | None) -> Bounds:
    """The bounds that ``>200hp``, ``80..95C`` or ``190F`` mean, in the stored unit of `kind`.

    A single value means everything that is shown so: ``200hp`` is 199.5 to 200.5 hp.
    """

    def value(part: str) -> float:
        return parse(part, kind, field=field, bare_unit=bare_unit).value

    compared = _COMPARED.fullmatch(text)
    if compared and compared[1] != "=":
        return _compared(compared[1], value(compared[2]))
    text = compared[2] if compared else text
    if _RANGE in text:
        low_text, _, high_text = text.partition(_RANGE)
        low_text, high_text = _lend_unit(low_text.strip(), high_text.strip())
        return _range(
            value(low_text) if low_text else None,
            value(high_text) if high_text else None,
            field,
            text,
        )
    return _as_shown(text, value)


def level_bounds(text: str, key: str, *, field: str) -> tuple[Bounds | None, str | None]:
    """The bounds of a set-up factor's level and their stored unit.

    (``None``, ``None``) where `text` is not a number: then the level's text is meant. A number
    without a unit is compared with the figures of levels as they were typed.
    """
    compared = _COMPARED.fullmatch(text)
    sign, rest = (compared[1], compared[2]) if compared else ("=", text)
    low_text, dots, high_text = rest.partition(_RANGE)
    if dots:
        low_text, high_text = _lend_unit(low_text.strip(), high_text.strip())
    parts = [_level(part, key, field) for part in (low_text, high_text) if part.strip()]
    numbers = [part for part in parts if part is not None]
    if dots and not parts:
        raise BadInput(f"“{text}” has neither end", where=field, wanted="28..32, 28.. or ..32")
    if len(numbers) != len(parts) or not parts:
        if compared or (dots and numbers):
            raise BadInput(
                f"“{text}” is not a number to compare with", where=field, wanted=f"{field}:>30"
            )
        return None, None
    if len({unit for _, unit in numbers}) > 1:
        raise BadInput(f"“{text}” mixes two units", where=field, wanted="both ends in one unit")
    unit = numbers[0][1]
    if dots:
        low = numbers[0][0] if low_text else None
        high = numbers[-1][0] if high_text else None
        return _range(low, high, field, text), unit
    return _compared(sign, numbers[0][0]), unit


def _level(text: str, key: str, field: str) -> tuple[float, str | None] | None:
    number = _NUMBER.match(text)
    if number is None:
        return None
    unit_text = text[number.end() :].strip()
    if key == TIMING:
        return parse(text, "angle", field=field, bare_unit="deg").value, None
    if not unit_text:
        return parse(text, "ratio", field=field).value, None
    unit = known_unit(unit_text)
    if unit is None:
        return None
    kind = unit[1]
    return parse(text, kind, field=field).value, stored_unit(kind)


def _compared(sign: str, value: float) -> Bounds:
    if sign in (">", ">=", "≥"):
        return Bounds(low=value, low_counts=sign != ">")
    if sign in ("<", "<=", "≤"):
        return Bounds(high=value, high_counts=sign != "<")
    # Levels went through unit conversion: equal means equal to nine digits.
    slack = 1e-9 * max(1.0, abs(value))
    return Bounds(value - slack, True, value + slack, True)


def _range(low: float | None, high: float | None, field: str, text: str) -> Bounds:
    if low is None and high is None:
        raise BadInput(f"“{text}” has neither end", where=field, wanted="28..32, 28.. or ..32")
    if low is not None and high is not None and low > high:
        raise BadInput(f"“{text}” runs backwards", where=field, wanted="the lower end first")
    return Bounds(low=low, high=high)


def _lend_unit(low: str, high: str) -> tuple[str, str]:
    """``80..95C``: the second end's unit holds for both."""
    number = _NUMBER.match(high)
    if low and number and _NUMBER.fullmatch(low):
        return low + high[number.end() :], high
    return low, high


def _as_shown(text: str, value: Callable[[str], float]) -> Bounds:
    number = _NUMBER.match(text)
    if number is None:
        # Not a number at all: the quantity's own refusal says what is wanted.
        return _compared("=", value(text))
    decimals = len(re.split(r"[.,]", number[0] + ".")[1])
    half = 0.5 * 10.0**-decimals
    middle = float(number[0].replace(",", "."))
    unit = text[number.end() :]
    ends = sorted(value(f"{end:.{decimals + 1}f}{unit}") for end in (middle - half, middle + half))
    return Bounds(ends[0], True, ends[1], False)
