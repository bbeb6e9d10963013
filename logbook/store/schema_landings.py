"""The tables of watched folders, as their migration makes them. Never edited once released."""

from __future__ import annotations

from logbook.store.schema import time_column

LANDINGS = f"""
-- Folders that were ever watched from this machine. `in_app`: the app watches it when it runs.
CREATE TABLE watched_folders (
  folder TEXT NOT NULL PRIMARY KEY,
  {time_column("began_at")},
  in_app INTEGER NOT NULL DEFAULT 0 CHECK (in_app IN (0, 1))
) STRICT;

-- Every file that came into one. What waits keeps its bytes in sources, so that it can still be
-- taken when the next run has been written over it. No part of the audit trail: what becomes a
-- pull of a landing is.
CREATE TABLE landings (
  id TEXT NOT NULL PRIMARY KEY,
  folder TEXT NOT NULL,
  name TEXT NOT NULL,
  size INTEGER NOT NULL CHECK (size >= 0),
  modified_ns INTEGER NOT NULL,
  sha256 TEXT NOT NULL DEFAULT '' CHECK (length(sha256) IN (0, 64)),
  {time_column("seen_at")},
  state TEXT NOT NULL CONSTRAINT "a landing is waiting, taken, refused or ignored"
    CHECK (state IN ('waiting', 'taken', 'refused', 'ignored')),
  reason TEXT NOT NULL DEFAULT '',
  pull_id TEXT REFERENCES pulls(id)
) STRICT;
CREATE INDEX landings_by_place ON landings(folder, name);
CREATE INDEX landings_by_content ON landings(sha256);
CREATE INDEX landings_by_pull ON landings(pull_id) WHERE pull_id IS NOT NULL;
CREATE INDEX landings_waiting ON landings(id) WHERE state = 'waiting';
"""

# Several pulls of one file.
PARTS = """
ALTER TABLE pulls ADD COLUMN first_in_file INTEGER NOT NULL DEFAULT 0 CHECK (first_in_file >= 0);
ALTER TABLE pulls ADD COLUMN first_sample INTEGER CHECK (first_sample >= 0);
ALTER TABLE pulls ADD COLUMN last_sample INTEGER CHECK (last_sample > first_sample);
ALTER TABLE landings ADD COLUMN parts INTEGER NOT NULL DEFAULT 1 CHECK (parts >= 1);
"""

# A typed peak is above any band average: the best of a session says which of the two it is.
BEST_OF_A_KIND = """
ALTER TABLE session_totals ADD COLUMN best_is_band INTEGER NOT NULL DEFAULT 0
  CHECK (best_is_band IN (0, 1));
UPDATE session_totals SET best_power_kw = n.best, best_is_band = n.is_band
FROM (
  SELECT p.session_id,
    coalesce(max(c.corrected_band_power_kw), max(c.corrected_peak_power_kw)) AS best,
    max(c.corrected_band_power_kw) IS NOT NULL AS is_band
  FROM pulls p JOIN scores c ON c.pull_id = p.id
  WHERE p.withdrawn = 0 AND p.excluded_reason IS NULL GROUP BY p.session_id
) n WHERE n.session_id = session_totals.session_id;
"""

# Columns named by a person, by kind of file.
COLUMN_MAPS = """
ALTER TABLE source_kinds ADD COLUMN column_map TEXT NOT NULL DEFAULT '{}'
  CHECK (json_valid(column_map));
"""

# An accepted plan (JSON) was searched like words: “hard” found every pull of its session.
PLANS_NOT_SEARCHED = """
INSERT INTO search_index (search_index, rowid, text)
  SELECT 'delete', d.docid, d.text FROM search_documents d
  JOIN sessions s ON s.id = d.session_id WHERE s.plan LIKE '{%';
UPDATE search_documents SET text = replace(text, s.plan, '')
  FROM sessions s WHERE s.id = search_documents.session_id AND s.plan LIKE '{%';
INSERT INTO search_index (rowid, text)
  SELECT d.docid, d.text FROM search_documents d
  JOIN sessions s ON s.id = d.session_id WHERE s.plan LIKE '{%';
"""
