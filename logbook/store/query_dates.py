"""Dates in a search: a year, a month, a day, and ranges of them."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from logbook.refusals import BadInput

_DATE = re.compile(r"(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?")
_COMPARED = re.compile(r"(>=|<=|≥|≤|>|<|=)(.*)")
_WANTED = "date:2026, date:2026-03, date:2026-03-01..2026-04-15, date:2026-03.. or date:today"


def days(text: str, now: datetime) -> tuple[int | None, int | None]:
    """(first second, end) in seconds since 1970 of what `text` means; ``None`` is open.

    The end is not included. Days begin at midnight in the time zone of `now`.
    """
    compact = text.replace(" ", "")
    compared = _COMPARED.fullmatch(compact)
    if compared:
        first, end = _span(compared[2], now)
        return {
            ">": (end, None),
            ">=": (first, None),
            "≥": (first, None),
            "<": (None, first),
            "<=": (None, end),
            "≤": (None, end),
            "=": (first, end),
        }[compared[1]]
    if ".." in compact:
        low, _, high = compact.partition("..")
        if not low and not high:
            raise BadInput(f"“{text}” has neither end", where="date", wanted=_WANTED)
        start = _span(low, now)[0] if low else None
        stop = _span(high, now)[1] if high else None
        if start is not None and stop is not None and start >= stop:
            raise BadInput(
                f"“{text}” runs backwards", where="date", wanted="the earlier date first"
            )
        return start, stop
    return _span(compact, now)


def _span(text: str, now: datetime) -> tuple[int, int]:
    today = now.replace(hour=0, minute=0, second=0, microsecond=0)
    named = {"today": today, "yesterday": today - timedelta(days=1)}.get(text.casefold())
    if named is not None:
        return _seconds(named), _seconds(named + timedelta(days=1))
    found = _DATE.fullmatch(text)
    if found is None:
        raise BadInput(f"“{text}” is not a date", where="date", wanted=_WANTED)
    year, month, day = (int(part) if part else None for part in found.groups())
    try:
        first = today.replace(year=year or 0, month=month or 1, day=day or 1)
        if day:
            return _seconds(first), _seconds(first + timedelta(days=1))
        if month:
            after = (first + timedelta(days=32)).replace(day=1)
            return _seconds(first), _seconds(after)
        return _seconds(first), _seconds(first.replace(year=first.year + 1))
    except (ValueError, OverflowError):
        raise BadInput(f"“{text}” is not in the calendar", where="date", wanted=_WANTED) from None


def _seconds(moment: datetime) -> int:
    return int(moment.timestamp())
