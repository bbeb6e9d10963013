"""Identifiers: UUIDv7, globally unique and ordered by time (RFC 9562)."""

from __future__ import annotations

import uuid6


def new_id() -> str:
    """A new time-ordered id as lower-case text, 36 characters."""
    return str(uuid6.uuid7())
