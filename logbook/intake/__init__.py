"""Foreign files become records, or are refused with file, line and what would be right."""

from __future__ import annotations

from logbook.intake.file import ReadFile, read_bytes, read_file

__all__ = ["ReadFile", "read_bytes", "read_file"]
