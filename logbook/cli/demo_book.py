"""The demo logbook as a file: built whole or not at all."""

from __future__ import annotations

from pathlib import Path

from logbook import underway


def build_demo(place: Path) -> None:
    """Build the demo beside its place and move it there whole: no half demo is ever opened."""
    from seed_db import build

    place.parent.mkdir(parents=True, exist_ok=True)
    beside = place.with_name(f"{place.name}.part")
    parts = [beside.with_name(beside.name + end) for end in ("", "-wal", "-shm")]
    for part in parts:
        part.unlink(missing_ok=True)
    try:
        with underway.provisional():
            build(beside)
        underway.seal()
        beside.replace(place)
    finally:
        for part in parts:
            part.unlink(missing_ok=True)
