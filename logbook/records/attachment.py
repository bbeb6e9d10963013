"""The attachment: a photo, a sheet, any file that belongs to a record."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file kept beside the book under its SHA-256.

    It belongs to exactly one record: an engine, a build, an inspection or a session. `name` is
    what the file was called; it is shown and searched, and never used as a path. Times are UTC.
    """

    id: str
    name: str
    sha256: str
    size_bytes: int
    media_type: str
    attached_at: str
    engine_id: str | None = None
    build_id: str | None = None
    inspection_id: str | None = None
    session_id: str | None = None
    notes: str = ""
    withdrawn: bool = False
