"""The column that files kept as outlines need. Never edited once released."""

from __future__ import annotations

# Where it is NULL, content_zlib is the file itself, compressed. Else it is the file's outline:
# its numbers are those of the trace of that pull. A file comes into the book before its trace,
# so the reference is looked at when the change is written as a whole.
OUTLINES = """
ALTER TABLE sources ADD COLUMN trace_pull_id TEXT
  REFERENCES traces(pull_id) DEFERRABLE INITIALLY DEFERRED;
"""
