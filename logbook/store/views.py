"""Views with readable names, for the search index and for any SQLite client.

They are made again after every migration.
"""

from __future__ import annotations

# Between two fields stands a letter that nobody types (the dental click): the search index
# takes it for a word, so that no phrase reaches from one field into the next.
_APART = "' \u01c0 '"

_SEARCHED = (
    "e.tag", "e.name", "e.owner", "e.family", "e.layout", "e.notes", "b.label", "b.notes",
    "s.purpose", "s.operator", "s.plan", "s.accessories", "s.exhaust", "s.oil", "s.notes",
    "s.standard", "substr(s.opened_at, 1, 10)",
    "coalesce(f.name, '')", "coalesce(f.batch, '')", "coalesce(f.notes, '')",
    f"coalesce((SELECT group_concat(l.factor || ' ' || l.text, {_APART})"
    " FROM setup_levels l WHERE l.setup_id = p.setup_id), '')",
    f"coalesce((SELECT group_concat(a.value, {_APART}) FROM json_each(p.alarms) a), '')",
    "coalesce('excluded ' || p.excluded_reason, '')",
    "CASE p.knock WHEN 'heard' THEN 'knock heard' ELSE '' END",
    "p.observations", "p.notes",
)  # fmt: skip

# What is searched of each pull; pulls that are withdrawn have no document. `second` is the
# pull's time in seconds since 1970, of which docid is made.
_SEARCH_TEXTS = f"""
CREATE VIEW search_texts AS
SELECT p.id AS pull_id, p.session_id, p.setup_id,
  CAST(strftime('%s', p.at) AS INTEGER) AS second,
  {f" || {_APART} || ".join(_SEARCHED)} AS text
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
    _AUDIT_TRAIL,
)
