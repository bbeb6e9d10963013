"""The tables kept beside the records: traces, scores, totals, the audit trail, the search index.

As the first migration makes them. Never edited once released.
"""

from __future__ import annotations

from logbook.store.schema import time_column

KEPT = f"""
-- The pulls named in sessions.baseline, kept by triggers.
CREATE TABLE baseline_pulls (
  session_id TEXT NOT NULL REFERENCES sessions(id),
  pull_id TEXT NOT NULL REFERENCES pulls(id),
  PRIMARY KEY (session_id, pull_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX baseline_pulls_by_pull ON baseline_pulls(pull_id);

CREATE TABLE traces (
  pull_id TEXT NOT NULL PRIMARY KEY REFERENCES pulls(id),
  samples INTEGER NOT NULL CHECK (samples >= 0),
  first_sample INTEGER NOT NULL CHECK (first_sample >= 0),
  last_sample INTEGER NOT NULL CHECK (last_sample < samples)
) STRICT;

-- One row a channel. `digits` holds `samples` whole numbers of `width` decimal digits each, one
-- after the other: all zeros = nothing recorded, else value = (base + number) / 10^decimals in
-- `unit`, exactly what the source printed. Channels that do not fit stand in `listed` as a JSON
-- array of numbers and nulls. Stored value = value * si_factor + si_offset in `si_unit`.
-- `crc32` is that of the text of `digits` or `listed`, so that a damaged digit is noticed.
CREATE TABLE channels (
  pull_id TEXT NOT NULL REFERENCES traces(pull_id),
  position INTEGER NOT NULL CHECK (position >= 0),
  name TEXT NOT NULL,
  quantity TEXT,
  unit TEXT NOT NULL,
  decimals INTEGER NOT NULL CHECK (decimals >= 0),
  si_unit TEXT,
  si_factor REAL NOT NULL,
  si_offset REAL NOT NULL,
  samples INTEGER NOT NULL CHECK (samples >= 0),
  base INTEGER,
  width INTEGER CHECK (width BETWEEN 1 AND 15),
  digits TEXT CHECK (length(digits) = samples * width),
  listed TEXT CHECK (json_array_length(listed) = samples),
  crc32 INTEGER NOT NULL,
  PRIMARY KEY (pull_id, position),
  CHECK ((digits IS NULL) <> (listed IS NULL)),
  CHECK (digits IS NULL OR (base IS NOT NULL AND width IS NOT NULL))
) STRICT;

-- 0, 1, 2 … up to the longest trace; the view trace_points counts samples with it.
CREATE TABLE sample_numbers (sample INTEGER PRIMARY KEY) STRICT;

CREATE TABLE scores (
  pull_id TEXT NOT NULL PRIMARY KEY REFERENCES pulls(id),
  version INTEGER NOT NULL,
  standard TEXT NOT NULL,
  factor REAL,
  observed_peak_power_kw REAL,
  observed_peak_power_rpm REAL,
  observed_peak_torque_nm REAL,
  observed_peak_torque_rpm REAL,
  observed_band_power_kw REAL,
  observed_band_torque_nm REAL,
  corrected_peak_power_kw REAL,
  corrected_peak_power_rpm REAL,
  corrected_peak_torque_nm REAL,
  corrected_peak_torque_rpm REAL,
  corrected_band_power_kw REAL,
  corrected_band_torque_nm REAL,
  power_kw REAL AS (coalesce(corrected_band_power_kw, corrected_peak_power_kw)),
  torque_nm REAL AS (coalesce(corrected_band_torque_nm, corrected_peak_torque_nm))
) STRICT, WITHOUT ROWID;
CREATE INDEX scores_by_power ON scores(power_kw);
CREATE INDEX scores_by_torque ON scores(torque_nm);
CREATE INDEX scores_by_version ON scores(version);

-- A session's stamp rises with every change of anything its judgement is computed from.
CREATE TABLE stamps (
  session_id TEXT NOT NULL PRIMARY KEY REFERENCES sessions(id),
  stamp INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- What lists show of a session, kept by triggers: pulls that are not withdrawn, how many of them
-- have a score, and the best corrected power among those that are not excluded either.
CREATE TABLE session_totals (
  session_id TEXT NOT NULL PRIMARY KEY REFERENCES sessions(id),
  pulls INTEGER NOT NULL,
  scored INTEGER NOT NULL,
  best_power_kw REAL
) STRICT, WITHOUT ROWID;

CREATE TABLE audit_changes (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  {time_column("at")},
  who TEXT NOT NULL,
  what TEXT NOT NULL,
  why TEXT NOT NULL DEFAULT '',
  undoes TEXT REFERENCES audit_changes(id)
) STRICT;
CREATE INDEX audit_changes_by_undoes ON audit_changes(undoes) WHERE undoes IS NOT NULL;

-- `field` is NULL where the record was entered.
CREATE TABLE audit_fields (
  number INTEGER PRIMARY KEY,
  change_id TEXT NOT NULL REFERENCES audit_changes(id),
  record_type TEXT NOT NULL,
  record_id TEXT NOT NULL,
  field TEXT,
  old ANY,
  new ANY
) STRICT;
CREATE INDEX audit_fields_by_change ON audit_fields(change_id);
CREATE INDEX audit_fields_by_record ON audit_fields(record_id, field);

-- docid = the pull's time in seconds since 1970 * 1000000 + a counter within that second, so
-- that newest first is the index's own order and needs no sort.
CREATE TABLE search_documents (
  docid INTEGER PRIMARY KEY,
  pull_id TEXT NOT NULL UNIQUE REFERENCES pulls(id),
  session_id TEXT NOT NULL REFERENCES sessions(id),
  setup_id TEXT NOT NULL REFERENCES setups(id),
  text TEXT NOT NULL
) STRICT;
CREATE INDEX search_documents_by_session ON search_documents(session_id);
CREATE INDEX search_documents_by_setup ON search_documents(setup_id);
CREATE VIRTUAL TABLE search_index USING fts5(
  text, content='search_documents', content_rowid='docid',
  tokenize="unicode61 remove_diacritics 2", prefix='2 3'
);
"""
