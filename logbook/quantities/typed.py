"""What somebody typed, taken with its unit or refused in a sentence."""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.quantities.convert import to_stored
from logbook.quantities.kinds import KINDS
from logbook.quantities.numbers import quoted, split_number
from logbook.quantities.spelling import find_unit, spelled, units_of, words_of
from logbook.refusals import BadInput


@dataclass(frozen=True, slots=True)
class Measured:
    """A typed value: `value` in the stored unit of its kind, `typed`, the text it came from
    with its unit (a bare number has the field's unit added, so that it reads the same when the
    display units have changed), and `unit`, that unit as it is shown."""

    value: float
    typed: str
    unit: str = ""


def parse(text: str, kind: str, *, field: str, bare_unit: str | None = None) -> Measured:
    """Read a typed number with its unit.

    Parameters
    ----------
    text : what was typed, e.g. ``"29.5 inHg"``, ``"72F"``, ``"310 lb-ft"``, ``"29,5 inHg"``.
    kind : a key of `KINDS`.
    field : the field's label, for the refusal.
    bare_unit : the unit a number without one takes; ``None`` refuses it (except a ratio).

    Raises
    ------
    BadInput
        Not a number, two readings, unknown unit, another dimension's unit, no unit where one
        is needed, not finite, overlong. The sentence names field, given and wanted.
    """
    quantity = KINDS[kind]
    wanted = f"{quantity.words} such as {quantity.example}"
    number, unit_text = split_number(
        text, field=field, wanted=wanted, thousands_certain=quantity.thousands_certain
    )
    typed = text.strip()
    if not unit_text:
        if bare_unit is None and kind != "ratio":
            raise BadInput(f"{quoted(typed)} has no unit", where=field, wanted=wanted)
        unit_text = bare_unit or ""
        typed = f"{typed} {bare_unit}" if bare_unit else typed
    found = find_unit(unit_text, kind)
    if unit_text and found is None:
        raise BadInput(_not_this_unit(typed, unit_text, kind), where=field, wanted=wanted)
    value = to_stored(number, unit_text, kind)
    if not math.isfinite(value):
        raise BadInput(f"{quoted(typed)} is beyond all bounds", where=field, wanted=wanted)
    return Measured(value, typed, found.label if found else "")


def step_of(text: str, kind: str) -> float:
    """The step of the last digit of a typed value, in the stored unit: 0.254 for ``3.46 in``.

    For kinds whose zero is zero in every unit (lengths, volumes). Raises as `parse`.
    """
    _, unit_text = split_number(text, field="", wanted=KINDS[kind].words)
    digits = text.strip()[: len(text.strip()) - len(unit_text)].strip()
    decimals = len(digits) - 1 - max(digits.rfind("."), digits.rfind(","))
    if "." not in digits and "," not in digits:
        decimals = 0
    return to_stored(10.0**-decimals, unit_text, kind)


def _not_this_unit(typed: str, unit_text: str, kind: str) -> str:
    others = spelled(unit_text)
    if others:
        return f"{quoted(typed)} is {words_of(others[0])}, not {KINDS[kind].words}"
    known = ", ".join(units_of(kind))
    listed = f" (known here: {known})" if known else ""
    return f"{quoted(typed)}: {quoted(unit_text)} is not a unit the logbook knows{listed}"
