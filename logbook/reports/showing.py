"""Times, bands, signed figures and verdicts as people read them.

Screens and printed reports write a figure through the same function, so that the digits agree.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.records.times import local

if TYPE_CHECKING:
    from logbook.records.engine import Engine
    from logbook.records.setup import FactorChange, Level, SetUp

NOTHING = "—"
GAIN_SIGN, LOSS_SIGN, NOTHING_SIGN, UNSETTLED_SIGN = "▲", "▼", "=", "?"
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def sign_of(verdict: str) -> str:
    """The sign of a verdict: gains and losses point, the open ones ask."""
    if verdict.startswith("gain"):
        return GAIN_SIGN
    if verdict.startswith("loss"):
        return LOSS_SIGN
    if verdict.startswith("nothing"):
        return NOTHING_SIGN
    return UNSETTLED_SIGN


def day(stamp: str | None, zone: str) -> str:
    """``14 Mar 2026`` in the cell's zone."""
    if not stamp:
        return NOTHING
    return _spelled(local(stamp, zone))


def date_words(typed: str | None) -> str:
    """``14 Mar 2026`` of a day that was typed as one; empty for none."""
    return _spelled(date.fromisoformat(typed)) if typed else ""


def _spelled(moment: date) -> str:
    return f"{moment.day} {_MONTHS[moment.month - 1]} {moment.year}"


def clock(stamp: str, zone: str) -> str:
    """``14:05`` in the cell's zone."""
    return local(stamp, zone).strftime("%H:%M")


def engine_name(engine: Engine) -> str:
    """``RB-2, boat V8``."""
    return f"{engine.tag}, {engine.name}" if engine.name else engine.tag


def band(low: float | None, high: float | None) -> str:
    """``4500–6500 rpm``."""
    if low is None or high is None:
        return "no band"
    return f"{low:.0f}–{high:.0f} rpm"


def true_minus(text: str) -> str:
    """A leading hyphen as the minus that lines up with the plus."""
    return "−" + text[1:] if text.startswith("-") else text


def signed(value_kw: float, system: str, *, digits: int = 1, unit: bool = False) -> str:
    """A difference in power with its sign: ``+2.9``, ``−0.4 hp``."""
    text = true_minus(quantities.show(value_kw, "power", system, digits=digits, unit=unit))
    return text if text.startswith("−") else f"+{text}"


def percent(value: float, digits: int = 1) -> str:
    """``+0.8 %``."""
    return f"{value:+.{digits}f} %".replace("-", "−")


def share(percent: float, base_kw: float | None, system: str) -> str:
    """``0.68 % (3.1 hp)``: percents of a power, which is left away where it is not known."""
    if base_kw is None:
        return f"{percent:.2f} %"
    return f"{percent:.2f} % ({quantities.show(base_kw * percent / 100, 'power', system)})"


def shown(value: float | None, kind: str, system: str) -> str:
    """A value in the user's unit with a true minus."""
    return true_minus(quantities.show(value, kind, system))


def level(value: Level | None) -> str:
    """A level of a set-up as people write it: an angle gets its ``°``."""
    if value is None:
        return "not set"
    bare = value.text.rstrip("° ").removesuffix("deg").rstrip()
    return f"{bare}°" if value.unit == "deg" else value.text


def set_up(whole: SetUp) -> str:
    """``timing 34°, main jets 82``; empty for none."""
    return ", ".join(f"{name} {level(one)}" for name, one in whole.levels.items())


def change(one: FactorChange) -> str:
    """``timing 34°``, ``spacer taken away``."""
    if one.new is None:
        return f"{one.factor} taken away"
    return f"{one.factor} {level(one.new)}"


def changes(several: Sequence[FactorChange]) -> str:
    """The changes of a step, the most in a word."""
    return ", ".join(change(one) for one in several)


def from_to(several: Iterable[FactorChange]) -> str:
    """The changes of a step with what was before: ``timing 32 → 34, fuel Tango``."""
    parts = []
    for one in several:
        old, new = (side.text if side else None for side in (one.old, one.new))
        if new is None:
            parts.append(f"{one.factor} taken away")
        else:
            parts.append(f"{one.factor} {new}" if old is None else f"{one.factor} {old} → {new}")
    return ", ".join(parts)


def numbers(values: Sequence[int]) -> str:
    """Pull numbers with runs drawn together: ``1–3, 7``."""
    runs: list[list[int]] = []
    for value in sorted(set(values)):
        if runs and value == runs[-1][1] + 1:
            runs[-1][1] = value
        else:
            runs.append([value, value])
    return ", ".join(f"{a}" if a == b else f"{a}–{b}" for a, b in runs)


def count(number: int, noun: str) -> str:
    """``1 pull``, ``3 pulls``."""
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"
