"""Cells → numbers: decimal marks, digits printed, what stands for nothing, clocks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

# Digits after the point that a float64 can still be told apart by.
MOST_DECIMALS = 15

_LONGEST = 64  # characters of a number: longer cells are not worth trying
_CHUNK = 8192  # rows worked on at a time: they stay in the processor's cache
_LAST_PLACES = 4 * 2.0**-52  # relative: as far as a fast parser may be off

NOTHING = frozenset({"", "-", "--", "---", "–", "—", "na", "n/a", "#n/a", "null", "none", "nil"})
_NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity|1\.#\w+)", re.IGNORECASE)
_EXPONENT = r"(?:[eE][+-]?\d{1,3})?"
_EXPONENT_DIGITS = re.compile(r"[+-]?\d{1,3}", re.ASCII)
_SIGN = r"[+-]?"
_POINT = re.compile(rf"{_SIGN}(?:\d+(?:\.\d*)?|\.\d+){_EXPONENT}", re.ASCII)
_COMMA = re.compile(rf"{_SIGN}(?:\d+(?:,\d*)?|,\d+){_EXPONENT}", re.ASCII)
_POINT_GROUPED = re.compile(rf"{_SIGN}\d{{1,3}}(?:,\d{{3}})+(?:\.\d*)?", re.ASCII)
_COMMA_GROUPED = re.compile(rf"{_SIGN}\d{{1,3}}(?:\.\d{{3}})+(?:,\d*)?", re.ASCII)
_NUMERIC = re.compile(
    "|".join(p.pattern for p in (_POINT, _COMMA, _POINT_GROUPED, _COMMA_GROUPED))
    + f"|(?i:{_NOT_FINITE.pattern})",
    re.ASCII,
)

_CLOCK = re.compile(
    r"(?:(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})[T ]+"
    r"|(?P<first>\d{1,2})(?P<mark>[./-])(?P<second>\d{1,2})(?P=mark)(?P<full>\d{4})[T ]+)?"
    r"(?P<a>\d{1,3}):(?P<b>\d{2})(?::(?P<c>\d{2}))?(?:[.,](?P<part>\d{1,9}))?"
    r"(?: ?(?P<half>[AaPp])[Mm])?(?:Z|[+-]\d{2}:?\d{2})?",
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Marks:
    """The decimal mark of a file, and the mark between groups of three digits if it has one."""

    decimal: str = "."
    group: str | None = None


def looks_numeric(cell: str) -> bool:
    """Whether a stripped cell is a number by any of the decimal marks, or NaN, or infinity."""
    return len(cell) <= _LONGEST and _NUMERIC.fullmatch(cell) is not None


def is_not_finite(cell: str) -> bool:
    """Whether a stripped cell spells NaN or infinity."""
    return len(cell) <= _LONGEST and _NOT_FINITE.fullmatch(cell) is not None


def number(cell: str, marks: Marks) -> float | None:
    """The value of a stripped cell, ``None`` if it is not a number in this file's marks."""
    if len(cell) > _LONGEST:
        return None
    if marks.decimal == ".":
        if not _POINT.fullmatch(cell):
            if marks.group is None or not _POINT_GROUPED.fullmatch(cell):
                return None
            cell = cell.replace(",", "")
    else:
        if not _COMMA.fullmatch(cell):
            if marks.group is None or not _COMMA_GROUPED.fullmatch(cell):
                return None
            cell = cell.replace(".", "")
        cell = cell.replace(",", ".")
    return float(cell)


def find_marks(cells: Iterable[str]) -> Marks | None:
    """The marks that all these numeric cells agree on, ``None`` where they can be read two ways.

    ``3,600`` alone is 3600 or 3.6; ``0,873``, ``12,5`` or a ``3600`` beside it settles it.
    """
    with_comma, with_point, plain_long = [], [], False
    for cell in cells:
        if "," in cell:
            with_comma.append(cell)
        if "." in cell:
            with_point.append(cell)
        elif "," not in cell and len(cell.lstrip("+-")) > 3 and cell.isdigit():
            plain_long = True
    if not with_comma:
        return Marks()
    both = set(with_comma) & set(with_point)
    if both:
        decimals = {max(".,", key=cell.rfind) for cell in both}
        if len(decimals) > 1:
            return None
        return Marks(".", ",") if decimals == {"."} else Marks(",", ".")
    commas_group = all(_certainly_groups(cell, ",") for cell in with_comma)
    if with_point:
        points_group = all(_certainly_groups(cell, ".") for cell in with_point)
        if commas_group == points_group:
            return None
        return Marks(".", ",") if commas_group else Marks(",", ".")
    if not commas_group or plain_long:
        return Marks(",")
    if any(cell.count(",") > 1 for cell in with_comma):
        return Marks(".", ",")
    return None


def _certainly_groups(cell: str, mark: str) -> bool:
    """Whether the mark can stand between groups of three digits in this cell."""
    head, *groups = cell.lstrip("+-").split(mark)
    fits = 1 <= len(head) <= 3 and head.isdigit() and not head.startswith("0")
    return fits and all(len(group) == 3 and group.isdigit() for group in groups)


def printed_decimals(cells: Iterable[str], decimal: str) -> int:
    """The most digits after the decimal mark in these cells, exponents reckoned in."""
    most = 0
    for cell in cells:
        at = cell.rfind(decimal)
        digits = len(cell) - at - 1 if at >= 0 else 0
        if "e" in cell or "E" in cell:
            mantissa, _, exponent = cell.lower().partition("e")
            digits -= len(cell) - len(mantissa) if at >= 0 else 0
            digits -= int(exponent) if _EXPONENT_DIGITS.fullmatch(exponent) else 0
        if digits > most:  # quicker than max() for the hundreds of cells that are looked at
            most = digits
    return min(most, MOST_DECIMALS)


def snapped(
    columns: Sequence[Array], decimals: Sequence[int]
) -> tuple[list[Array], list[int | None]]:
    """Columns (samples,) as the exact float64 of their printed decimals.

    A fast parser may be one unit in the last place off; a decimal is not. For each column at
    least `decimals` digits are tried, more where its values need them. Returns the columns and
    the digits, ``None`` for a column that is no decimals of up to `MOST_DECIMALS` digits. What
    needs no change is not copied.
    """
    exact: list[Array] = list(columns)
    digits: list[int | None] = list(decimals)
    for at, found in enumerate(_as_decimals(columns, decimals)):
        more = decimals[at]
        while found is None and more < MOST_DECIMALS:
            more += 1
            (found,) = _as_decimals(columns[at : at + 1], (more,))
        digits[at] = None if found is None else more
        exact[at] = columns[at] if found is None else found
    return exact, digits


def _as_decimals(columns: Sequence[Array], decimals: Sequence[int]) -> list[Array | None]:
    """Each column rounded to its decimals, ``None`` where that is not what it was."""
    import numpy as np

    found: list[Array | None] = list(columns)
    count = len(columns[0]) if columns else 0
    scale = 10.0 ** np.array(decimals)[:, None]
    room = np.empty((3, len(columns), min(count, _CHUNK)))
    with np.errstate(over="ignore", invalid="ignore"):
        for start in range(0, count, _CHUNK):
            end = min(start + _CHUNK, count)
            part, counts, rounded = room[:, :, : end - start]
            for place, values in enumerate(columns):
                part[place] = values[start:end]
            np.rint(np.multiply(part, scale, out=counts), out=counts)
            np.divide(counts, scale, out=rounded)
            # False for NaN, too: whatever is not plainly all right is looked at more closely.
            plain = (rounded == part).all(axis=1)
            plain &= (counts.max(axis=1) < 2.0**53) & (counts.min(axis=1) > -(2.0**53))
            for at in np.flatnonzero(~plain).tolist():
                column = found[at]
                if column is None:
                    continue
                off = np.abs(rounded[at] - part[at]) > np.abs(part[at]) * _LAST_PLACES
                if off.any() or (np.abs(counts[at]) >= 2.0**53).any():
                    found[at] = None
                elif (rounded[at] != part[at])[~np.isnan(part[at])].any():
                    own = column.copy() if column is columns[at] else column
                    own[start:end] = rounded[at]
                    found[at] = own
            if not any(column is not None for column in found):
                break
    return found


def is_clock(cell: str) -> bool:
    """Whether a stripped cell is a clock time that says what it is."""
    match = _CLOCK.fullmatch(cell)
    return match is not None and _moment(match) is not None


def clock_seconds(cells: Sequence[str]) -> tuple[list[float], int, list[int]]:
    """Seconds since the first day's midnight for clock times, their decimals, and other rows.

    Takes ``14:03:07``, ``14:03:07.25``, ``2:03:07 PM``, a date before it (``2026-03-01``,
    ``01.03.2026``, ``3/1/2026``), and ``3:07.25`` as minutes and seconds; a time more than
    half a day earlier than the one before it is the next day. Cells of `NOTHING` are NaN; so
    are cells that are no clock, or with two fields leave open whether these are hours or
    minutes: their rows are given last.
    """
    found: list[float] = []
    others: list[int] = []
    decimals, day_shift, last = 0, 0, float("-inf")
    first_day: int | None = None
    for row, cell in enumerate(cells):
        match = _CLOCK.fullmatch(cell)
        moment = _moment(match) if match else None
        if match is None or moment is None:
            found.append(float("nan"))
            if cell.casefold() not in NOTHING:
                others.append(row)
            continue
        day, seconds = moment
        if day is not None:
            first_day = day if first_day is None else first_day
            seconds += (day - first_day) * 86400
        elif seconds + day_shift < last - 43200:
            day_shift += 86400
        seconds += day_shift
        last = seconds
        part = match["part"] or ""
        decimals = max(decimals, len(part))
        found.append(float(f"{seconds}.{part or 0}"))
    return found, decimals, others


def _moment(match: re.Match[str]) -> tuple[int | None, int] | None:
    """Day number (``None`` without a date) and whole seconds of one clock time."""
    a, b = int(match["a"]), int(match["b"])
    if match["c"] is not None:
        hours, minutes, seconds = a, b, int(match["c"])
    elif match["part"]:
        hours, minutes, seconds = 0, a, b
    else:
        return None
    if match["half"]:
        hours = hours % 12 + (12 if match["half"] in "Pp" else 0)
    day = None
    try:
        if match["year"]:
            day = date(int(match["year"]), int(match["month"]), int(match["day"])).toordinal()
        elif match["full"]:
            # Day or month first does not matter for seconds within one day; a change of date
            # within a log is one day whichever field it shows in.
            first, second = int(match["first"]), int(match["second"])
            month, number_of_day = (second, first) if match["mark"] == "." else (first, second)
            if month > 12:
                month, number_of_day = number_of_day, month
            day = date(int(match["full"]), month, number_of_day).toordinal()
    except ValueError:
        return None
    return day, (hours * 60 + minutes) * 60 + seconds
