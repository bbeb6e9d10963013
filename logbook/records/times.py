"""Stored times (UTC, ISO 8601, ``Z``) as moments, and on the wall clock of a cell."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo


def moment_of(stamp: str) -> datetime:
    """Stored text back to an aware UTC time."""
    return datetime.fromisoformat(stamp.replace("Z", "+00:00"))


def local(stamp: str, zone: str) -> datetime:
    """A stored time in a time zone, such as the cell's."""
    return moment_of(stamp).astimezone(_zone(zone))


def day_in(stamp: str, zone: str) -> str:
    """The day of a stored time in a time zone: ``2026-03-14``."""
    return local(stamp, zone).date().isoformat()


@lru_cache(maxsize=32)
def _zone(name: str) -> tzinfo:
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # a zone this machine does not know
        return UTC
