"""Typed text → record attributes, for every record that has a list of fields."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import fields as fields_of
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from logbook.cases.desk import stamp_of
from logbook.cases.field_lists import by_key
from logbook.cases.fields import Field, read
from logbook.refusals import BadInput


def attributes(
    record: type, fields: tuple[Field, ...], given: Mapping[str, str], units: str | None
) -> tuple[dict[str, Any], dict[str, str]]:
    """(record attributes, typed text by attribute) of what was given.

    An empty text puts the attribute back to `record`'s default. Raises `BadInput` for an
    unknown key or a bad value.
    """
    known = by_key(fields)
    values: dict[str, Any] = {}
    typed: dict[str, str] = {}
    for key, text in given.items():
        field = known.get(key)
        if field is None:
            raise BadInput(f"there is no field {key!r}", wanted=nearest(key, known))
        if not text.strip():
            values[field.attribute] = empty_value(field, record)
            typed[field.attribute] = ""
            continue
        entry = read(field, text, units)
        values[field.attribute] = entry.value
        typed[field.attribute] = entry.typed
    return values, typed


def empty_value(field: Field, record: type) -> Any:
    """What an emptied field is stored as: the default of the record's attribute."""
    return next(slot.default for slot in fields_of(record) if slot.name == field.attribute)


def merged_typed(old: Mapping[str, str], new: Mapping[str, str]) -> dict[str, str]:
    """Typed text of a changed record: the new beside what stays; emptied ones go."""
    return {key: text for key, text in {**old, **new}.items() if text}


def nearest(word: str, names: Iterable[str]) -> str:
    """``one of …`` with the nearest names first; for messages about unknown names."""
    known = list(names)
    close = difflib.get_close_matches(word, known, n=3, cutoff=0.5)
    shown = close or sorted(known)[:12]
    return "one of " + ", ".join(shown) if shown else "nothing of the kind is on file yet"


def read_time(text: str, zone: str, *, field: str = "Time") -> str:
    """A typed time → stored UTC text. Without an offset it is local to `zone`."""
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(
            f"{text[:40]!r} is not a time", where=field, wanted="such as 2026-03-01T14:05Z"
        ) from None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=ZoneInfo(zone))
    if not 1950 <= moment.year <= 2200:
        raise BadInput(f"{text[:40]!r} is outside 1950–2200", where=field)
    return stamp_of(moment.astimezone(UTC))


def read_date(text: str, *, field: str = "Date") -> str:
    """A typed date → ISO text."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise BadInput(
            f"{text[:40]!r} is not a date", where=field, wanted="such as 2026-03-01"
        ) from None


def check_zone(name: str) -> str:
    """A time zone name that exists, or a refusal."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise BadInput(
            f"{name[:60]!r} is not a time zone", where="Time zone", wanted="such as America/Denver"
        ) from None
    return name
