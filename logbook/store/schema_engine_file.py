"""The tables of the engine's file: what is in a build, inspections, calibrations, due marks and
attached files, as their migration makes them. Never edited once released.

Lists (per cylinder, per pair) are JSON arrays; the views lay them out in rows.
"""

from __future__ import annotations

from logbook.store.schema import time_column

_KEPT = """typed TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(typed)),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1))"""


def _list(column: str) -> str:
    return (
        f"{column} TEXT NOT NULL DEFAULT '[]'"
        f" CHECK (json_valid({column}) AND json_type({column}) = 'array')"
    )


def _day(column: str, null: str = "NOT NULL") -> str:
    said = column.replace("_", " ")
    return (
        f'{column} TEXT {null} CONSTRAINT "{said} must be a date such as 2026-03-01"'
        f" CHECK ({column} IS NULL OR date({column}, '+0 days') IS {column})"
    )


ENGINE_FILE = f"""
CREATE TABLE build_items (
  id TEXT NOT NULL PRIMARY KEY,
  build_id TEXT NOT NULL REFERENCES builds(id),
  system TEXT NOT NULL
    CONSTRAINT "an item belongs to a system of the build" CHECK (trim(system) <> ''),
  name TEXT NOT NULL CONSTRAINT "an item needs a name" CHECK (trim(name) <> ''),
  text TEXT NOT NULL DEFAULT '',
  number REAL,
  unit TEXT,
  {_list("per_cylinder")},
  low REAL,
  high REAL,
  done TEXT NOT NULL DEFAULT '' CONSTRAINT "an item is new, kept, reclaimed or rejected"
    CHECK (done IN ('', 'new', 'kept', 'reclaimed', 'rejected')),
  notes TEXT NOT NULL DEFAULT '',
  {_KEPT},
  CONSTRAINT "a tolerance's low end must not be above its high end" CHECK (low <= high)
) STRICT;
CREATE INDEX build_items_by_build ON build_items(build_id);

CREATE TABLE inspections (
  id TEXT NOT NULL PRIMARY KEY,
  engine_id TEXT NOT NULL REFERENCES engines(id),
  {_day("inspected_on")},
  build_id TEXT REFERENCES builds(id),
  kind TEXT NOT NULL DEFAULT '',
  who TEXT NOT NULL DEFAULT '',
  {_list("leak_down_percent")},
  {_list("cranking_kpa")},
  {_list("lash_intake_hot_mm")},
  {_list("lash_exhaust_hot_mm")},
  lash_hot_c REAL,
  {_list("lash_intake_cold_mm")},
  {_list("lash_exhaust_cold_mm")},
  lash_cold_c REAL,
  {_list("plugs")},
  filter_cut TEXT NOT NULL DEFAULT '',
  notes TEXT NOT NULL DEFAULT '',
  {_KEPT}
) STRICT;
CREATE INDEX inspections_by_engine ON inspections(engine_id, inspected_on);
CREATE INDEX inspections_by_build ON inspections(build_id);

CREATE TABLE clearances (
  id TEXT NOT NULL PRIMARY KEY,
  inspection_id TEXT NOT NULL REFERENCES inspections(id),
  name TEXT NOT NULL CONSTRAINT "a clearance needs a name" CHECK (trim(name) <> ''),
  measured_mm REAL NOT NULL,
  place TEXT NOT NULL DEFAULT '',
  low_mm REAL,
  high_mm REAL,
  verdict TEXT NOT NULL CONSTRAINT "a clearance is within, to reclaim or to reject"
    CHECK (verdict IN ('within', 'reclaim', 'reject')),
  notes TEXT NOT NULL DEFAULT '',
  {_KEPT},
  CONSTRAINT "a limit's low end must not be above its high end" CHECK (low_mm <= high_mm)
) STRICT;
CREATE INDEX clearances_by_inspection ON clearances(inspection_id);

CREATE TABLE calibrations (
  id TEXT NOT NULL PRIMARY KEY,
  cell_id TEXT NOT NULL REFERENCES cells(id),
  {time_column("calibrated_at")},
  instrument TEXT NOT NULL
    CONSTRAINT "a calibration is of a load cell, barometer, thermometer or fuel meter"
    CHECK (instrument IN ('load cell', 'barometer', 'thermometer', 'fuel meter')),
  unit TEXT NOT NULL CONSTRAINT "a calibration needs a unit" CHECK (trim(unit) <> ''),
  {_list("reference_values")},
  {_list("readings")},
  {_list("directions")},
  which TEXT NOT NULL DEFAULT '',
  zero_before REAL,
  zero_after REAL,
  tolerance REAL CONSTRAINT "a tolerance is above 0" CHECK (tolerance > 0),
  tolerance_in TEXT NOT NULL CONSTRAINT "a tolerance is in percent of span or in the unit"
    CHECK (tolerance_in IN ('percent of span', 'unit')),
  arm_mm REAL CONSTRAINT "the arm must be longer than 0 mm" CHECK (arm_mm > 0),
  gravity_m_s2 REAL CONSTRAINT "gravity lies within 9.7 to 9.9 m/s²"
    CHECK (gravity_m_s2 BETWEEN 9.7 AND 9.9),
  {_day("due_on", "")},
  who TEXT NOT NULL DEFAULT '',
  notes TEXT NOT NULL DEFAULT '',
  {_KEPT},
  CONSTRAINT "every reference has a reading and a direction"
    CHECK (json_array_length(reference_values) = json_array_length(readings)
      AND json_array_length(readings) = json_array_length(directions))
) STRICT;
CREATE INDEX calibrations_by_cell ON calibrations(cell_id, instrument, calibrated_at);

CREATE TABLE due_marks (
  id TEXT NOT NULL PRIMARY KEY,
  engine_id TEXT NOT NULL REFERENCES engines(id),
  what TEXT NOT NULL CONSTRAINT "a due mark says what is due" CHECK (trim(what) <> ''),
  {time_column("since_at")},
  build_id TEXT REFERENCES builds(id),
  limit_pulls INTEGER CONSTRAINT "a limit of pulls is above 0" CHECK (limit_pulls > 0),
  limit_minutes REAL CONSTRAINT "a limit of minutes is above 0" CHECK (limit_minutes > 0),
  limit_days INTEGER CONSTRAINT "a limit of days is above 0" CHECK (limit_days > 0),
  notes TEXT NOT NULL DEFAULT '',
  {_KEPT},
  CONSTRAINT "a due mark needs a limit of pulls, minutes or days"
    CHECK (coalesce(limit_pulls, limit_minutes, limit_days) IS NOT NULL)
) STRICT;
CREATE INDEX due_marks_by_engine ON due_marks(engine_id);
CREATE INDEX due_marks_by_build ON due_marks(build_id);

-- The bytes stand in the folder of attached files beside the book, named by their hash.
CREATE TABLE attachments (
  id TEXT NOT NULL PRIMARY KEY,
  name TEXT NOT NULL CONSTRAINT "an attached file needs a name" CHECK (trim(name) <> ''),
  sha256 TEXT NOT NULL CONSTRAINT "a hash is 64 hexadecimal digits"
    CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
  size_bytes INTEGER NOT NULL CHECK (size_bytes >= 0),
  media_type TEXT NOT NULL DEFAULT '',
  {time_column("attached_at")},
  engine_id TEXT REFERENCES engines(id),
  build_id TEXT REFERENCES builds(id),
  inspection_id TEXT REFERENCES inspections(id),
  session_id TEXT REFERENCES sessions(id),
  notes TEXT NOT NULL DEFAULT '',
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  CONSTRAINT "an attached file belongs to one engine, build, inspection or session"
    CHECK ((engine_id IS NOT NULL) + (build_id IS NOT NULL) + (inspection_id IS NOT NULL)
      + (session_id IS NOT NULL) = 1)
) STRICT;
CREATE INDEX attachments_by_engine ON attachments(engine_id);
CREATE INDEX attachments_by_build ON attachments(build_id);
CREATE INDEX attachments_by_inspection ON attachments(inspection_id);
CREATE INDEX attachments_by_session ON attachments(session_id);

-- The calibration that stood when a pull was logged, and one it was taken through afterwards.
ALTER TABLE pulls ADD COLUMN calibration_id TEXT REFERENCES calibrations(id);
ALTER TABLE pulls ADD COLUMN recalibration_id TEXT REFERENCES calibrations(id);
CREATE INDEX pulls_by_calibration ON pulls(calibration_id) WHERE calibration_id IS NOT NULL;
CREATE INDEX pulls_by_recalibration ON pulls(recalibration_id)
  WHERE recalibration_id IS NOT NULL;
"""

STATED_DISPLACEMENT = """
ALTER TABLE engines ADD COLUMN displacement_l REAL
  CONSTRAINT "a displacement is above 0" CHECK (displacement_l > 0);
"""
