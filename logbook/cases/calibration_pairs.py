"""Reading what somebody writes down at a calibration: pairs, weights, tolerance, due date."""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from logbook import quantities
from logbook.cases.typed import read_date
from logbook.quantities.numbers import split_number
from logbook.quantities.spelling import find_unit, units_of
from logbook.records.calibration import DOWN, IN_UNIT, LOAD_CELL, OF_SPAN, UP
from logbook.refusals import BadInput

# The kinds of quantity that an instrument may read.
KINDS = {
    LOAD_CELL: ("torque", "force"),
    "barometer": ("pressure",),
    "thermometer": ("temperature",),
    "fuel meter": ("mass_flow", "volume_flow"),
}
PAIRS = "Pairs"
_EXAMPLE = "reference:reading, such as 0:0.1 100:100.4 200:200.3 100:100.2"
_WAYS = {"up": UP, "down": DOWN, "↑": UP, "↓": DOWN}
_DUE = re.compile(r"(\d{1,4}) *(day|week|month|year)s?")
MOST_PAIRS = 500


def unit_kind(instrument: str, text: str) -> tuple[str, str]:
    """(the unit as it is shown, its kind) of what an instrument reads. Raises `BadInput`."""
    for kind in KINDS[instrument]:
        unit = find_unit(text, kind)
        if unit is not None:
            return unit.label, kind
    raise BadInput(
        f"{text[:20]!r} is no unit of a {instrument}",
        where="Unit",
        wanted="one of "
        + ", ".join(label for kind in KINDS[instrument] for label in units_of(kind)),
    )


def read_pairs(text: str) -> tuple[tuple[float, ...], tuple[float, ...], tuple[str, ...]]:
    """(references, readings, directions) of pairs as written down, in their order.

    Pairs are ``reference:reading`` with blanks between, or a line each with a blank inside;
    ``up`` and ``down`` say which way it goes from there on, else it is seen from the references.
    """
    references: list[float] = []
    readings: list[float] = []
    ways: list[str | None] = []
    way: str | None = None
    for one in _pieces(text):
        if one.casefold() in _WAYS:
            way = _WAYS[one.casefold()]
            continue
        parts = [part for part in re.split(r"[:=\s]+", one) if part]
        if parts and parts[-1].casefold() in _WAYS:
            way = _WAYS[parts.pop().casefold()]
        if len(parts) != 2:
            raise BadInput(f"{one[:40]!r} is no pair", where=PAIRS, wanted=_EXAMPLE)
        references.append(_number(parts[0]))
        readings.append(_number(parts[1]))
        ways.append(way)
    if len(set(references)) < 2:
        raise BadInput(
            f"{len(set(references))} different references", where=PAIRS,
            wanted=f"at least two, {_EXAMPLE}",
        )  # fmt: skip
    if len(references) > MOST_PAIRS:
        raise BadInput(f"more than {MOST_PAIRS} pairs", where=PAIRS)
    return tuple(references), tuple(readings), directions(references, ways)


def _pieces(text: str) -> Iterator[str]:
    for line in re.split(r"[\n;]+", text):
        if ":" in line or "=" in line:
            yield from re.sub(r" *([:=]) *", r"\1", line).split()
        elif line.strip():
            yield line.strip()


def _number(text: str) -> float:
    number, unit = split_number(text, field=PAIRS, wanted=_EXAMPLE)
    if unit:
        raise BadInput(f"{text[:40]!r} is not a plain number", where=PAIRS,
                       wanted="numbers without a unit, which is said once")  # fmt: skip
    return number


def directions(references: Sequence[float], said: Sequence[str | None]) -> tuple[str, ...]:
    """Which way the reference was going at each pair: as it was said, else up where it is
    higher than the one before and down where it is lower; an equal one goes on."""
    found: list[str] = []
    for place, way in enumerate(said):
        if way is None and place and references[place] != references[place - 1]:
            way = UP if references[place] > references[place - 1] else DOWN
        elif way is None and place:
            way = found[-1]
        if way is None:
            later = next((one for one in references[place:] if one != references[place]), None)
            way = DOWN if later is not None and later < references[place] else UP
        found.append(way)
    return tuple(found)


def read_tolerance(text: str, unit: str, kind: str) -> tuple[float, str]:
    """``0.2 %`` is of the span, ``0.5 N·m`` in the unit of the readings."""
    number, typed_unit = split_number(text, field="Tolerance", wanted="such as 0.2 % or 0.5 N·m")
    if typed_unit in ("%", "% of span"):
        tolerance, of = number, OF_SPAN
    else:
        # A tolerance is a difference: of degrees it has no zero point.
        kind = "temperature_difference" if kind == "temperature" else kind
        stored = quantities.parse(text, kind, field="Tolerance", bare_unit=unit).value
        tolerance, of = quantities.from_stored(stored, unit, kind), IN_UNIT
    if tolerance <= 0:
        raise BadInput(
            f"{text[:40]!r} is not above zero", where="Tolerance", wanted="such as 0.2 %"
        )
    return tolerance, of


def read_due(text: str, day: date) -> str:
    """A date, or so long after `day`: ``6 months``, ``1 year``, ``90 days``."""
    after = _DUE.fullmatch(text.strip().casefold())
    if after is None:
        due = date.fromisoformat(read_date(text, field="Due"))
    else:
        count, unit = int(after[1]), after[2]
        due = (
            _months_later(day, count * (12 if unit == "year" else 1))
            if unit in ("month", "year")
            else day + timedelta(days=count * (7 if unit == "week" else 1))
        )
    if due <= day:
        raise BadInput(f"{text[:40]!r} is not after the calibration", where="Due",
                       wanted="such as 6 months, or a later date")  # fmt: skip
    return due.isoformat()


def _months_later(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 2200:
        raise BadInput("too far away", where="Due", wanted="such as 6 months")
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
