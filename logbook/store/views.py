"""Views with readable names, for the search index and for any SQLite client.

They are made again after every migration.
"""

from __future__ import annotations

# Between two fields stands a letter that nobody types (the dental click): the search index
# takes it for a word, so that no phrase reaches from one field into the next.
_APART = "' \u01c0 '"

# An accepted plan is kept as JSON: its keys are nobody's words, and what it says is in the pulls.
_PLAN_IN_WORDS = "CASE WHEN s.plan LIKE '{%' THEN '' ELSE s.plan END"

_SEARCHED = (
    "e.tag", "e.name", "e.owner", "e.family", "e.layout", "e.notes", "b.label", "b.notes",
    "s.purpose", "s.operator", _PLAN_IN_WORDS, "s.accessories", "s.exhaust", "s.oil", "s.notes",
    "s.standard", "substr(s.opened_at, 1, 10)",
    "coalesce(f.name, '')", "coalesce(f.batch, '')", "coalesce(f.notes, '')",
    f"coalesce((SELECT group_concat(l.factor || ' ' || l.text, {_APART})"
    " FROM setup_levels l WHERE l.setup_id = p.setup_id), '')",
    f"coalesce((SELECT group_concat(a.value, {_APART}) FROM json_each(p.alarms) a), '')",
    "coalesce('excluded ' || p.excluded_reason, '')",
    "CASE p.knock WHEN 'heard' THEN 'knock heard' ELSE '' END",
    "p.observations", "p.notes",
)  # fmt: skip

# The engine's file stands in the text of every pull of the build: of long notes the beginning.
# Where there is nothing of it, the text is what it was before builds had items.
_FILED = (
    "(SELECT group_concat(i.system || ' ' || i.name || ' ' || i.text || ' ' || i.done || ' '"
    f" || substr(i.notes, 1, 500), {_APART}) FROM build_items i"
    " WHERE i.build_id = s.build_id AND i.withdrawn = 0)",
    "(SELECT group_concat(n.kind || ' ' || n.plugs || ' ' || substr(n.filter_cut, 1, 500) || ' '"
    f" || substr(n.notes, 1, 500), {_APART}) FROM inspections n"
    " WHERE n.build_id = s.build_id AND n.withdrawn = 0)",
    f"(SELECT group_concat(t.name || ' ' || substr(t.notes, 1, 500), {_APART})"
    " FROM attachments t WHERE t.withdrawn = 0 AND t.id IN"
    " (SELECT id FROM attachments WHERE session_id = s.id"
    " UNION ALL SELECT id FROM attachments WHERE engine_id = s.engine_id"
    " UNION ALL SELECT id FROM attachments WHERE build_id = s.build_id"
    " UNION ALL SELECT q.id FROM inspections n JOIN attachments q ON q.inspection_id = n.id"
    " WHERE n.build_id = s.build_id AND n.withdrawn = 0))",
)  # fmt: skip

# What is searched of each pull; pulls that are withdrawn have no document. `second` is the
# pull's time in seconds since 1970, of which docid is made.
_SEARCH_TEXTS = f"""
CREATE VIEW search_texts AS
SELECT p.id AS pull_id, p.session_id, p.setup_id,
  CAST(strftime('%s', p.at) AS INTEGER) AS second,
  {f" || {_APART} || ".join(_SEARCHED)}
  {" ".join(f"|| coalesce({_APART} || {part}, '')" for part in _FILED)} AS text
FROM pulls p
JOIN sessions s ON s.id = p.session_id
JOIN engines e ON e.id = s.engine_id
JOIN builds b ON b.id = s.build_id
LEFT JOIN fuels f ON f.id = p.fuel_id
WHERE p.withdrawn = 0;
"""

# See `store.codec` for how samples are written down.
_TRACE_POINTS = """
CREATE VIEW trace_points AS
SELECT pull_id, channel, quantity, unit, sample, value,
  CASE WHEN si_unit IS NOT NULL THEN value * si_factor + si_offset END AS si_value, si_unit
FROM (
  SELECT c.pull_id, c.name AS channel, c.quantity, c.unit, n.sample,
    (c.base + nullif(CAST(substr(c.digits, n.sample * c.width + 1, c.width) AS INTEGER), 0))
      / CAST('1e' || c.decimals AS REAL) AS value,
    c.si_factor, c.si_offset, c.si_unit
  FROM channels c JOIN sample_numbers n ON n.sample < c.samples
  WHERE c.digits IS NOT NULL
  UNION ALL
  SELECT c.pull_id, c.name, c.quantity, c.unit, j.key, j.value,
    c.si_factor, c.si_offset, c.si_unit
  FROM channels c JOIN json_each(c.listed) j
  WHERE c.listed IS NOT NULL
);
"""

_CORRECTED_PULLS = """
CREATE VIEW corrected_pulls AS
SELECT e.tag AS engine, substr(s.opened_at, 1, 10) AS session_date, b.label AS build,
  p.number AS pull_number, p.at, p.kind,
  (SELECT l.number FROM setup_levels l WHERE l.setup_id = p.setup_id AND l.factor_key = 'timing')
    AS timing_deg,
  f.name AS fuel, s.purpose, s.operator,
  coalesce(c.standard, s.standard) AS standard, c.factor AS correction_factor,
  s.band_low_rpm, s.band_high_rpm,
  c.corrected_band_power_kw, c.corrected_band_torque_nm,
  c.corrected_peak_power_kw, c.corrected_peak_power_rpm,
  c.corrected_peak_torque_nm, c.corrected_peak_torque_rpm,
  c.observed_band_power_kw, c.observed_band_torque_nm,
  c.observed_peak_power_kw, c.observed_peak_power_rpm,
  c.observed_peak_torque_nm, c.observed_peak_torque_rpm,
  p.manifold_vacuum_kpa, p.crankcase_vacuum_kpa, p.blow_by_m3_h, p.oil_c, p.coolant_c,
  p.knock, p.excluded_reason, p.notes AS note, p.id AS pull_id, p.session_id, s.engine_id
FROM pulls p
JOIN sessions s ON s.id = p.session_id
JOIN engines e ON e.id = s.engine_id
JOIN builds b ON b.id = s.build_id
LEFT JOIN fuels f ON f.id = p.fuel_id
LEFT JOIN scores c ON c.pull_id = p.id
WHERE p.withdrawn = 0 AND s.withdrawn = 0;
"""

_SET_UP_LEVELS = """
CREATE VIEW set_up_levels AS
SELECT e.tag AS engine, substr(s.opened_at, 1, 10) AS session_date, p.number AS pull_number,
  l.factor, l.text AS level, l.number AS level_number, l.unit AS level_unit, p.id AS pull_id
FROM pulls p
JOIN sessions s ON s.id = p.session_id
JOIN engines e ON e.id = s.engine_id
JOIN setup_levels l ON l.setup_id = p.setup_id
WHERE p.withdrawn = 0 AND s.withdrawn = 0;
"""

_BUILD_SHEETS = """
CREATE VIEW build_sheets AS
SELECT e.tag AS engine, b.label AS build, b.built_on, i.system, i.name AS item, i.text AS value,
  i.number AS value_number, i.unit, c.key + 1 AS cylinder, c.value AS cylinder_value,
  i.low AS tolerance_low, i.high AS tolerance_high, i.done, i.notes AS note, i.id AS item_id,
  b.id AS build_id, p.label AS parent_build
FROM build_items i
JOIN builds b ON b.id = i.build_id
JOIN engines e ON e.id = b.engine_id
LEFT JOIN builds p ON p.id = b.parent_id
LEFT JOIN json_each(i.per_cylinder) c
WHERE i.withdrawn = 0 AND b.withdrawn = 0;
"""

_INSPECTED_CYLINDERS = """
CREATE VIEW inspected_cylinders AS
SELECT e.tag AS engine, b.label AS build, n.inspected_on, n.kind, c.cylinder,
  n.leak_down_percent ->> c.place AS leak_down_percent,
  n.cranking_kpa ->> c.place AS cranking_kpa,
  n.lash_intake_hot_mm ->> c.place AS lash_intake_hot_mm,
  n.lash_exhaust_hot_mm ->> c.place AS lash_exhaust_hot_mm,
  n.lash_intake_cold_mm ->> c.place AS lash_intake_cold_mm,
  n.lash_exhaust_cold_mm ->> c.place AS lash_exhaust_cold_mm,
  n.plugs ->> c.place AS plug, n.id AS inspection_id
FROM inspections n
JOIN engines e ON e.id = n.engine_id
LEFT JOIN builds b ON b.id = n.build_id
JOIN (WITH RECURSIVE one(place) AS (SELECT 0 UNION ALL SELECT place + 1 FROM one WHERE place < 63)
  SELECT place, place + 1 AS cylinder FROM one) c
  ON c.place < max(json_array_length(n.leak_down_percent), json_array_length(n.cranking_kpa),
    json_array_length(n.lash_intake_hot_mm), json_array_length(n.lash_exhaust_hot_mm),
    json_array_length(n.lash_intake_cold_mm), json_array_length(n.lash_exhaust_cold_mm),
    json_array_length(n.plugs))
WHERE n.withdrawn = 0;
"""

_CALIBRATION_POINTS = """
CREATE VIEW calibration_points AS
SELECT l.name AS cell, k.calibrated_at, k.instrument, k.which, r.key + 1 AS pair,
  r.value AS reference_value, k.readings ->> r.key AS reading,
  k.directions ->> r.key AS direction, k.unit, k.due_on, k.id AS calibration_id
FROM calibrations k
JOIN cells l ON l.id = k.cell_id
JOIN json_each(k.reference_values) r
WHERE k.withdrawn = 0;
"""

# The calibration of every instrument that stood when a pull was taken: the cell's last one
# before it, whether it was known then or entered later.
_PULL_CALIBRATIONS = """
CREATE VIEW pull_calibrations AS
SELECT p.id AS pull_id, p.at, k.instrument, k.which, k.id AS calibration_id, k.calibrated_at,
  k.due_on, k.due_on IS NOT NULL AND substr(p.at, 1, 10) >= k.due_on AS overdue,
  p.calibration_id AS kept_calibration_id, p.recalibration_id
FROM pulls p
JOIN sessions s ON s.id = p.session_id
JOIN calibrations k ON k.cell_id = s.cell_id AND k.calibrated_at <= p.at AND k.withdrawn = 0
WHERE p.withdrawn = 0 AND NOT EXISTS (
  SELECT 1 FROM calibrations later WHERE later.cell_id = k.cell_id
  AND later.instrument = k.instrument AND lower(later.which) = lower(k.which)
  AND later.withdrawn = 0 AND later.calibrated_at <= p.at
  AND (later.calibrated_at, later.id) > (k.calibrated_at, k.id)
);
"""

_ATTACHED_FILES = """
CREATE VIEW attached_files AS
SELECT a.name, a.sha256, a.size_bytes, a.media_type, a.attached_at,
  coalesce(e.tag, be.tag, ne.tag, se.tag) AS engine, b.label AS build, n.inspected_on,
  substr(s.opened_at, 1, 10) AS session_date, a.notes AS note, a.id AS attachment_id
FROM attachments a
LEFT JOIN engines e ON e.id = a.engine_id
LEFT JOIN builds b ON b.id = a.build_id
LEFT JOIN engines be ON be.id = b.engine_id
LEFT JOIN inspections n ON n.id = a.inspection_id
LEFT JOIN engines ne ON ne.id = n.engine_id
LEFT JOIN sessions s ON s.id = a.session_id
LEFT JOIN engines se ON se.id = s.engine_id
WHERE a.withdrawn = 0;
"""

_AUDIT_TRAIL = """
CREATE VIEW audit_trail AS
SELECT c.at, c.who, c.what, c.why, f.record_type, f.record_id,
  coalesce(f.field, 'entered') AS field, f.old, f.new, u.what AS undoes, c.id AS change_id
FROM audit_fields f
JOIN audit_changes c ON c.id = f.change_id
LEFT JOIN audit_changes u ON u.id = c.undoes
ORDER BY f.number;
"""

VIEWS: tuple[str, ...] = (
    _SEARCH_TEXTS,
    _TRACE_POINTS,
    _CORRECTED_PULLS,
    _SET_UP_LEVELS,
    _BUILD_SHEETS,
    _INSPECTED_CYLINDERS,
    _CALIBRATION_POINTS,
    _PULL_CALIBRATIONS,
    _ATTACHED_FILES,
    _AUDIT_TRAIL,
)
