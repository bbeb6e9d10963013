"""What happened in a watched folder, as JSON. Keys may be added, not renamed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from logbook.cases.landing import LandingEvent


def landing_json(event: LandingEvent) -> dict[str, Any]:
    """One event: what happened to which file, in words, and the landing where there is one."""
    landing = event.landing
    return {
        "event": event.what,
        "name": event.name,
        "text": event.text,
        "landing_id": landing.id if landing else None,
        "folder": landing.folder if landing else None,
        "sha256": (landing.sha256 or None) if landing else None,
        "size_bytes": landing.size if landing else None,
        "seen_at": landing.seen_at if landing else None,
        "reason": (landing.reason or None) if landing else None,
    }
