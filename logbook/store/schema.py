"""The tables of records, as the first migration makes them. Never edited once released.

Every constraint is named by the sentence that a person gets when it is broken. A `withdrawn`
row was taken back by an undo: it stays, lists leave it out. Text columns named `typed` hold a
JSON object of what was typed, by field.
"""

from __future__ import annotations

_RPM = 'CONSTRAINT "speed must lie within 0 to 30000 rpm" CHECK ({0} BETWEEN 0 AND 30000)'
_DEG = 'CONSTRAINT "timing must lie within -20 to 80 degrees" CHECK ({0} BETWEEN -20 AND 80)'
_TIME = (
    'CONSTRAINT "{0} must be a UTC time such as 2026-03-01T14:05:00Z" CHECK ({0} IS NULL OR '
    "(datetime({0}) IS NOT NULL AND {0} GLOB '????-??-??T??:??*Z'"
    " AND date({0}, '+0 days') IS substr({0}, 1, 10)))"
)
# Without a modifier SQLite takes February 30 as it stands.
_DATE = (
    'CONSTRAINT "{1} must be a date such as 2026-03-01"'
    " CHECK ({0} IS NULL OR date({0}, '+0 days') IS {0})"
)
_FLAG = "INTEGER NOT NULL DEFAULT {1} CHECK ({0} IN (0, 1))"
_JSON = "TEXT NOT NULL DEFAULT '{1}' CHECK (json_valid({0}))"
_WITHDRAWN = "withdrawn " + _FLAG.format("withdrawn", 0)
_TYPED = "typed " + _JSON.format("typed", "{}")


def _rpm(column: str) -> str:
    return f"{column} REAL {_RPM.format(column)}"


def _deg(column: str) -> str:
    return f"{column} REAL {_DEG.format(column)}"


def time_column(column: str, null: str = "NOT NULL") -> str:
    """The definition of a column that holds a UTC time."""
    return f"{column} TEXT {null} {_TIME.format(column)}"


RECORDS = f"""
CREATE TABLE cells (
  id TEXT NOT NULL PRIMARY KEY,
  name TEXT NOT NULL CONSTRAINT "a cell needs a name" CHECK (trim(name) <> ''),
  altitude_m REAL,
  time_zone TEXT NOT NULL DEFAULT 'UTC',
  absorber TEXT NOT NULL DEFAULT '',
  arm_mm REAL CONSTRAINT "the arm must be longer than 0 mm" CHECK (arm_mm > 0),
  inertia_kg_m2 REAL CONSTRAINT "inertia must not be negative" CHECK (inertia_kg_m2 >= 0),
  absorber_corrects_inertia {_FLAG.format("absorber_corrects_inertia", 1)},
  standard TEXT NOT NULL CHECK (standard <> ''),
  units TEXT NOT NULL CONSTRAINT "units are us or metric" CHECK (units IN ('us', 'metric')),
  air_stale_after_min REAL NOT NULL CHECK (air_stale_after_min > 0),
  worth_having_percent REAL NOT NULL CHECK (worth_having_percent >= 0),
  notes TEXT NOT NULL DEFAULT '',
  {_TYPED},
  {_WITHDRAWN}
) STRICT;

CREATE TABLE engines (
  id TEXT NOT NULL PRIMARY KEY,
  tag TEXT NOT NULL COLLATE NOCASE
    CONSTRAINT "an engine needs a tag" CHECK (trim(tag) <> ''),
  name TEXT NOT NULL DEFAULT '',
  owner TEXT NOT NULL DEFAULT '',
  family TEXT NOT NULL DEFAULT '',
  layout TEXT NOT NULL DEFAULT '',
  cylinders INTEGER CONSTRAINT "an engine has 1 to 64 cylinders" CHECK (cylinders BETWEEN 1 AND 64),
  bore_mm REAL CONSTRAINT "the bore must be wider than 0 mm" CHECK (bore_mm > 0),
  stroke_mm REAL CONSTRAINT "the stroke must be longer than 0 mm" CHECK (stroke_mm > 0),
  strokes INTEGER NOT NULL
    CONSTRAINT "an engine is a two- or four-stroke" CHECK (strokes IN (2, 4)),
  ignition TEXT NOT NULL
    CONSTRAINT "ignition is spark or compression" CHECK (ignition IN ('spark', 'compression')),
  aspiration TEXT NOT NULL
    CONSTRAINT "aspiration is natural or boosted" CHECK (aspiration IN ('natural', 'boosted')),
  compression_ratio REAL
    CONSTRAINT "a compression ratio is above 1" CHECK (compression_ratio > 1),
  {_rpm("limit_speed_rpm")},
  {_deg("limit_timing_deg")},
  {_deg("least_timing_deg")},
  limit_coolant_c REAL,
  limit_oil_c REAL,
  limit_exhaust_c REAL,
  least_oil_pressure_kpa REAL,
  limit_crankcase_vacuum_kpa REAL,
  ready_oil_low_c REAL,
  ready_oil_high_c REAL,
  ready_coolant_low_c REAL,
  ready_coolant_high_c REAL,
  {_rpm("band_low_rpm")},
  {_rpm("band_high_rpm")},
  inertia_kg_m2 REAL CONSTRAINT "inertia must not be negative" CHECK (inertia_kg_m2 >= 0),
  break_in TEXT NOT NULL DEFAULT '',
  notes TEXT NOT NULL DEFAULT '',
  {_TYPED},
  {_WITHDRAWN}
) STRICT;
CREATE UNIQUE INDEX engines_by_tag ON engines(tag) WHERE withdrawn = 0;

CREATE TABLE builds (
  id TEXT NOT NULL PRIMARY KEY,
  engine_id TEXT NOT NULL REFERENCES engines(id),
  label TEXT NOT NULL CONSTRAINT "a build needs a label" CHECK (trim(label) <> ''),
  built_on TEXT {_DATE.format("built_on", "built on")},
  parent_id TEXT REFERENCES builds(id)
    CONSTRAINT "a build is not its own parent" CHECK (parent_id <> id),
  notes TEXT NOT NULL DEFAULT '',
  {_WITHDRAWN}
) STRICT;
CREATE INDEX builds_by_engine ON builds(engine_id);
CREATE INDEX builds_by_parent ON builds(parent_id);

CREATE TABLE fuels (
  id TEXT NOT NULL PRIMARY KEY,
  name TEXT NOT NULL CONSTRAINT "a fuel needs a name" CHECK (trim(name) <> ''),
  batch TEXT NOT NULL DEFAULT '',
  density_kg_m3 REAL CONSTRAINT "a density is above 0" CHECK (density_kg_m3 > 0),
  density_at_c REAL,
  carbon REAL CHECK (carbon >= 0),
  hydrogen REAL CHECK (hydrogen >= 0),
  oxygen REAL CHECK (oxygen >= 0),
  nitrogen REAL CHECK (nitrogen >= 0),
  stoichiometric_ratio REAL
    CONSTRAINT "a stoichiometric ratio is above 0" CHECK (stoichiometric_ratio > 0),
  heating_value_mj_kg REAL
    CONSTRAINT "a heating value is above 0" CHECK (heating_value_mj_kg > 0),
  octane_ron REAL,
  octane_mon REAL,
  opened_on TEXT {_DATE.format("opened_on", "opened on")},
  notes TEXT NOT NULL DEFAULT '',
  {_TYPED},
  {_WITHDRAWN}
) STRICT;

CREATE TABLE sessions (
  id TEXT NOT NULL PRIMARY KEY,
  engine_id TEXT NOT NULL REFERENCES engines(id),
  build_id TEXT NOT NULL REFERENCES builds(id),
  cell_id TEXT NOT NULL REFERENCES cells(id),
  {time_column("opened_at")},
  {time_column("closed_at", "")},
  status TEXT NOT NULL
    CONSTRAINT "a session is open or closed" CHECK (status IN ('open', 'closed')),
  purpose TEXT NOT NULL DEFAULT '',
  operator TEXT NOT NULL DEFAULT '',
  standard TEXT NOT NULL CHECK (standard <> ''),
  {_rpm("band_low_rpm")},
  {_rpm("band_high_rpm")},
  baseline {_JSON.format("baseline", "[]")},
  power_source TEXT NOT NULL CONSTRAINT "power comes as recorded or from torque"
    CHECK (power_source IN ('recorded', 'torque')),
  power_rating TEXT NOT NULL
    CONSTRAINT "power is gross or net" CHECK (power_rating IN ('gross', 'net')),
  worth_having_percent REAL NOT NULL CHECK (worth_having_percent >= 0),
  pull_budget INTEGER CHECK (pull_budget > 0),
  plan TEXT NOT NULL DEFAULT '',
  accessories TEXT NOT NULL DEFAULT '',
  exhaust TEXT NOT NULL DEFAULT '',
  oil TEXT NOT NULL DEFAULT '',
  safety_checked {_JSON.format("safety_checked", "[]")},
  notes TEXT NOT NULL DEFAULT '',
  {_WITHDRAWN},
  CONSTRAINT "the band's low end must be below its high end"
    CHECK (band_low_rpm < band_high_rpm)
) STRICT, WITHOUT ROWID;
CREATE INDEX sessions_by_engine ON sessions(engine_id, opened_at);
CREATE INDEX sessions_by_time ON sessions(opened_at);
CREATE INDEX sessions_by_build ON sessions(build_id);
CREATE INDEX sessions_by_cell ON sessions(cell_id);

CREATE TABLE setups (
  id TEXT NOT NULL PRIMARY KEY,
  -- Equal for set-ups whose factors are all equal, however they were written.
  fingerprint TEXT NOT NULL
) STRICT;
CREATE INDEX setups_by_fingerprint ON setups(fingerprint);

CREATE TABLE setup_levels (
  setup_id TEXT NOT NULL REFERENCES setups(id),
  position INTEGER NOT NULL CHECK (position >= 0),
  factor TEXT NOT NULL CONSTRAINT "a factor needs a name" CHECK (trim(factor) <> ''),
  factor_key TEXT NOT NULL,
  text TEXT NOT NULL,
  number REAL,
  unit TEXT,
  PRIMARY KEY (setup_id, factor_key),
  CONSTRAINT "timing must lie within -20 to 80 degrees"
    CHECK (factor_key <> 'timing' OR number BETWEEN -20 AND 80)
) STRICT, WITHOUT ROWID;
CREATE INDEX setup_levels_by_number ON setup_levels(factor_key, number);

CREATE TABLE airs (
  id TEXT NOT NULL PRIMARY KEY,
  session_id TEXT REFERENCES sessions(id),
  {time_column("read_at")},
  pressure_kpa REAL NOT NULL CONSTRAINT "station pressure must lie within 50 to 110 kPa"
    CHECK (pressure_kpa BETWEEN 50 AND 110),
  temperature_c REAL NOT NULL CONSTRAINT "air temperature must lie within -40 to 60 °C"
    CHECK (temperature_c BETWEEN -40 AND 60),
  humidity_kind TEXT NOT NULL CONSTRAINT "humidity is given as one of the known kinds"
    CHECK (humidity_kind IN
      ('relative', 'wet bulb', 'dew point', 'vapor pressure', 'mixing ratio')),
  humidity REAL NOT NULL,
  pressure_typed_as TEXT NOT NULL CONSTRAINT "pressure is typed as station or sea level"
    CHECK (pressure_typed_as IN ('station', 'sea level')),
  instrument TEXT NOT NULL DEFAULT 'typed',
  {_TYPED},
  {_WITHDRAWN},
  CONSTRAINT "relative humidity must lie within 0 to 100 %"
    CHECK (humidity_kind <> 'relative' OR humidity BETWEEN 0 AND 1),
  CONSTRAINT "wet bulb and dew point must not be above dry bulb"
    CHECK (humidity_kind NOT IN ('wet bulb', 'dew point') OR humidity <= temperature_c),
  CONSTRAINT "vapor pressure and mixing ratio must not be negative"
    CHECK (humidity_kind NOT IN ('vapor pressure', 'mixing ratio') OR humidity >= 0)
) STRICT;
CREATE INDEX airs_by_session ON airs(session_id, read_at);

CREATE TABLE sources (
  id TEXT NOT NULL PRIMARY KEY,
  sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
  name TEXT NOT NULL,
  {time_column("taken_at")},
  signature TEXT NOT NULL DEFAULT '',
  size_bytes INTEGER NOT NULL CHECK (size_bytes >= 0),
  content_zlib BLOB NOT NULL
) STRICT;

CREATE TABLE source_kinds (
  id TEXT NOT NULL PRIMARY KEY,
  signature TEXT NOT NULL,
  name TEXT NOT NULL DEFAULT '',
  torque_state TEXT NOT NULL CHECK (torque_state <> ''),
  {_WITHDRAWN}
) STRICT;
CREATE UNIQUE INDEX source_kinds_by_signature ON source_kinds(signature) WHERE withdrawn = 0;

CREATE TABLE pulls (
  id TEXT NOT NULL PRIMARY KEY,
  session_id TEXT NOT NULL REFERENCES sessions(id),
  number INTEGER NOT NULL CONSTRAINT "pulls are numbered from 1" CHECK (number >= 1),
  {time_column("at")},
  kind TEXT NOT NULL CONSTRAINT "a pull is a sweep, steady points or typed peaks"
    CHECK (kind IN ('sweep', 'steady points', 'typed peaks')),
  setup_id TEXT NOT NULL REFERENCES setups(id),
  air_id TEXT REFERENCES airs(id),
  fuel_id TEXT REFERENCES fuels(id),
  source_id TEXT REFERENCES sources(id),
  torque_state TEXT NOT NULL CHECK (torque_state <> ''),
  peak_torque_nm REAL,
  {_rpm("peak_torque_rpm")},
  peak_power_kw REAL,
  {_rpm("peak_power_rpm")},
  oil_c REAL,
  coolant_c REAL,
  fuel_c REAL,
  minutes_since_last REAL,
  sweep_direction TEXT NOT NULL
    CONSTRAINT "a sweep goes up or down" CHECK (sweep_direction IN ('up', 'down')),
  {_rpm("sweep_start_rpm")},
  sweep_rate_rpm_s REAL,
  throttle_open INTEGER CHECK (throttle_open IN (0, 1)),
  zero_before_nm REAL,
  zero_after_nm REAL,
  manifold_vacuum_kpa REAL,
  crankcase_vacuum_kpa REAL,
  blow_by_m3_h REAL,
  air_flow_kg_h REAL,
  fuel_flow_kg_h REAL,
  lambda_ratio REAL,
  oil_hours REAL,
  knock TEXT NOT NULL CONSTRAINT "knock is none, heard or not checked"
    CHECK (knock IN ('none', 'heard', 'not checked')),
  observations TEXT NOT NULL DEFAULT '',
  alarms {_JSON.format("alarms", "[]")},
  excluded_reason TEXT,
  notes TEXT NOT NULL DEFAULT '',
  {_TYPED},
  {_WITHDRAWN}
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX pulls_by_number ON pulls(session_id, number) WHERE withdrawn = 0;
CREATE INDEX pulls_by_session ON pulls(session_id, at);
CREATE INDEX pulls_by_time ON pulls(at);
CREATE INDEX pulls_by_setup ON pulls(setup_id);
CREATE INDEX pulls_by_air ON pulls(air_id);
CREATE INDEX pulls_by_fuel ON pulls(fuel_id);
CREATE INDEX pulls_by_source ON pulls(source_id);
-- For the search box; partial, since few pulls have all of them.
CREATE INDEX pulls_by_oil ON pulls(oil_c) WHERE oil_c IS NOT NULL;
CREATE INDEX pulls_by_coolant ON pulls(coolant_c) WHERE coolant_c IS NOT NULL;
CREATE INDEX pulls_by_manifold_vacuum ON pulls(manifold_vacuum_kpa)
  WHERE manifold_vacuum_kpa IS NOT NULL;
CREATE INDEX pulls_by_crankcase_vacuum ON pulls(crankcase_vacuum_kpa)
  WHERE crankcase_vacuum_kpa IS NOT NULL;
CREATE INDEX pulls_by_blow_by ON pulls(blow_by_m3_h) WHERE blow_by_m3_h IS NOT NULL;
CREATE INDEX pulls_by_lambda ON pulls(lambda_ratio) WHERE lambda_ratio IS NOT NULL;
CREATE INDEX pulls_by_knock ON pulls(knock) WHERE knock = 'heard';
CREATE INDEX pulls_excluded ON pulls(excluded_reason) WHERE excluded_reason IS NOT NULL;
"""
