"""Identifiers: UUIDv7, globally unique and ordered by time (RFC 9562)."""

from __future__ import annotations


def new_id() -> str:
    """A new time-ordered id as lower-case text, 36 characters."""
    import uuid6  # here: it looks its own version up, which a cold start should not wait for

    return str(uuid6.uuid7())
