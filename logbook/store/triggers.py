"""Triggers: scores are never stale, the search index is never stale, history is never edited.

They are made again after every migration and hold for any program that writes to the book.
"""

from __future__ import annotations

from collections.abc import Iterator

# Fields that the corrected figures are computed from; a change of one deletes the scores.
_PULL_INPUTS = (
    "session_id, kind, air_id, fuel_id, torque_state, peak_torque_nm, peak_torque_rpm, "
    "peak_power_kw, peak_power_rpm, sweep_direction, sweep_start_rpm, sweep_rate_rpm_s, "
    "air_flow_kg_h, fuel_flow_kg_h, first_sample, last_sample, recalibration_id"
)
_SESSION_INPUTS = "standard, band_low_rpm, band_high_rpm, power_source, engine_id, cell_id"
_ENGINE_INPUTS = (
    "ignition, aspiration, strokes, cylinders, bore_mm, stroke_mm, compression_ratio, inertia_kg_m2"
)
_CELL_INPUTS = "inertia_kg_m2, absorber_corrects_inertia, altitude_m"
_AIR_INPUTS = "pressure_kpa, temperature_c, humidity_kind, humidity"
_CALIBRATION_INPUTS = "reference_values, readings, directions, unit, withdrawn"

# Fields whose words are searched.
_SEARCHED = {
    "pulls": "at, session_id, setup_id, fuel_id, withdrawn, notes, observations, knock, alarms, "
    "excluded_reason, number",
    "sessions": "purpose, operator, plan, accessories, exhaust, oil, notes, standard, opened_at, "
    "engine_id, build_id",
    "engines": "tag, name, owner, family, layout, notes",
    "builds": "label, notes",
    "fuels": "name, batch, notes",
    "build_items": "build_id, system, name, text, done, notes, withdrawn",
    "inspections": "build_id, kind, plugs, filter_cut, notes, withdrawn",
    "attachments": "name, notes, engine_id, build_id, inspection_id, session_id, withdrawn",
}

# What never changes of a source file.
_OF_A_FILE = ("id", "sha256", "name", "taken_at", "signature", "size_bytes")

_OWNERS = {
    "build_items": "build_id",
    "inspections": "build_id",
    "attachments": "engine_id, build_id, inspection_id, session_id",
}

# For a row of each table: the pulls that lean on it.
_PULLS_OF = {
    "pulls": "SELECT {row}.id",
    "traces": "SELECT {row}.pull_id",
    "airs": "SELECT id FROM pulls WHERE air_id = {row}.id",
    "fuels": "SELECT id FROM pulls WHERE fuel_id = {row}.id",
    "sessions": "SELECT id FROM pulls WHERE session_id = {row}.id",
    "setup_levels": "SELECT id FROM pulls WHERE setup_id = {row}.setup_id",
    "engines": "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
    " WHERE s.engine_id = {row}.id",
    "builds": "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
    " WHERE s.build_id = {row}.id",
    "cells": "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
    " WHERE s.cell_id = {row}.id",
    "build_items": "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
    " WHERE s.build_id = {row}.build_id",
    "inspections": "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
    " WHERE s.build_id = {row}.build_id",
    "attachments": "SELECT p.id FROM sessions s JOIN pulls p ON p.session_id = s.id"
    " WHERE s.id = {row}.session_id OR s.engine_id = {row}.engine_id"
    " OR s.build_id IN ({row}.build_id,"
    " (SELECT build_id FROM inspections WHERE id = {row}.inspection_id))",
    "calibrations": "SELECT id FROM pulls WHERE recalibration_id = {row}.id",
}

# For a row of each table: the sessions whose judgement leans on it, those that measure from
# one of its pulls included.
_SESSIONS_OF = {
    table: f"SELECT session_id AS id FROM pulls WHERE id IN ({pulls})"
    f" UNION SELECT session_id FROM baseline_pulls WHERE pull_id IN ({pulls})"
    for table, pulls in _PULLS_OF.items()
}
# Every pull of a cell may carry a caution of its calibrations.
_SESSIONS_OF["calibrations"] = "SELECT id FROM sessions WHERE cell_id = {row}.cell_id"
_SESSIONS_OF["sessions"] += " UNION SELECT {row}.id"
_SESSIONS_OF["airs"] += " UNION SELECT {row}.session_id WHERE {row}.session_id IS NOT NULL"


def _trigger(name: str, event: str, table: str, body: str, when: str = "") -> str:
    condition = f" WHEN {when}" if when else ""
    return f"CREATE TRIGGER {name} {event} ON {table}{condition} BEGIN\n{body}\nEND;"


def trigger_table(statement: str) -> str:
    """The table that a trigger's statement is on."""
    head = statement.partition(" BEGIN\n")[0]
    return head.partition(" ON ")[2].split()[0]


def _delete_scores(table: str, row: str) -> str:
    return f"DELETE FROM scores WHERE pull_id IN ({_PULLS_OF[table].format(row=row)});"


def _bump(table: str, row: str) -> str:
    return (
        "INSERT INTO stamps (session_id, stamp) SELECT id, 1 FROM "
        f"({_SESSIONS_OF[table].format(row=row)}) WHERE true"
        " ON CONFLICT (session_id) DO UPDATE SET stamp = stamp + 1;"
    )


def _totals(sessions: str) -> str:
    """Count a session's pulls and its best score again."""
    band, peak = (
        f"max(CASE WHEN p.excluded_reason IS NULL THEN c.corrected_{kind}_power_kw END)"
        for kind in ("band", "peak")
    )
    return f"""INSERT INTO session_totals (session_id, pulls, scored, best_power_kw, best_is_band)
SELECT s.id, count(p.id), count(c.pull_id), coalesce({band}, {peak}), {band} IS NOT NULL
FROM sessions s LEFT JOIN pulls p ON p.session_id = s.id AND p.withdrawn = 0
LEFT JOIN scores c ON c.pull_id = p.id
WHERE s.id IN ({sessions}) GROUP BY s.id
ON CONFLICT (session_id) DO UPDATE
SET pulls = excluded.pulls, scored = excluded.scored, best_power_kw = excluded.best_power_kw,
  best_is_band = excluded.best_is_band;"""


def _score_triggers() -> Iterator[str]:
    inputs = (
        ("pulls", _PULL_INPUTS),
        ("sessions", _SESSION_INPUTS),
        ("engines", _ENGINE_INPUTS),
        ("cells", _CELL_INPUTS),
        ("airs", _AIR_INPUTS),
        ("calibrations", _CALIBRATION_INPUTS),
        ("traces", "first_sample, last_sample"),
    )
    for table, columns in inputs:
        body = _delete_scores(table, "NEW")
        yield _trigger(f"scores_after_{table}", f"AFTER UPDATE OF {columns}", table, body)
    # The channels of a trace are written together with it, in one transaction.
    body = _delete_scores("traces", "NEW")
    yield _trigger("scores_after_traces_insert", "AFTER INSERT", "traces", body)


def _stamp_triggers() -> Iterator[str]:
    for table in ("pulls", "sessions", "airs", "traces", "calibrations"):
        yield _trigger(f"stamp_{table}_insert", "AFTER INSERT", table, _bump(table, "NEW"))
    for table in (
        "pulls", "sessions", "airs", "fuels", "engines", "cells", "traces", "calibrations",
    ):  # fmt: skip
        yield _trigger(f"stamp_{table}_update", "AFTER UPDATE", table, _bump(table, "NEW"))
    yield _trigger(
        "stamp_pulls_moved",
        "AFTER UPDATE OF session_id",
        "pulls",
        "UPDATE stamps SET stamp = stamp + 1 WHERE session_id = OLD.session_id;",
        "OLD.session_id <> NEW.session_id",
    )


def _total_triggers() -> Iterator[str]:
    of_new, of_old = "NEW.session_id", "OLD.session_id"
    yield _trigger("totals_sessions_insert", "AFTER INSERT", "sessions", _totals("NEW.id"))
    yield _trigger("totals_pulls_insert", "AFTER INSERT", "pulls", _totals(of_new))
    yield _trigger(
        "totals_pulls_update",
        "AFTER UPDATE OF session_id, withdrawn, excluded_reason",
        "pulls",
        _totals(f"{of_new}, {of_old}"),
    )
    for event, row in (("INSERT", "NEW"), ("UPDATE", "NEW"), ("DELETE", "OLD")):
        yield _trigger(
            f"totals_scores_{event.lower()}",
            f"AFTER {event}",
            "scores",
            _totals(f"SELECT session_id FROM pulls WHERE id = {row}.pull_id"),
        )


def _baseline_triggers() -> Iterator[str]:
    keep = (
        "DELETE FROM baseline_pulls WHERE session_id = NEW.id;\n"
        "INSERT INTO baseline_pulls (session_id, pull_id)"
        " SELECT DISTINCT NEW.id, value FROM json_each(NEW.baseline);"
    )
    yield _trigger("baseline_insert", "AFTER INSERT", "sessions", keep)
    yield _trigger("baseline_update", "AFTER UPDATE OF baseline", "sessions", keep)


def _search_triggers() -> Iterator[str]:
    yield _trigger(
        "search_index_insert",
        "AFTER INSERT",
        "search_documents",
        "INSERT INTO search_index (rowid, text) VALUES (NEW.docid, NEW.text);",
    )
    forget = "INSERT INTO search_index (search_index, rowid, text)"
    yield _trigger(
        "search_index_delete",
        "AFTER DELETE",
        "search_documents",
        f"{forget} VALUES ('delete', OLD.docid, OLD.text);",
    )
    yield _trigger(
        "search_index_update",
        "AFTER UPDATE",
        "search_documents",
        f"{forget} VALUES ('delete', OLD.docid, OLD.text);\n"
        "INSERT INTO search_index (rowid, text) VALUES (NEW.docid, NEW.text);",
    )
    write = (
        "DELETE FROM search_documents WHERE pull_id = NEW.id;\n"
        "INSERT INTO search_documents (docid, pull_id, session_id, setup_id, text)"
        " SELECT coalesce((SELECT max(docid) + 1 FROM search_documents"
        " WHERE docid >= t.second * 1000000 AND docid < (t.second + 1) * 1000000),"
        " t.second * 1000000), t.pull_id, t.session_id, t.setup_id, t.text"
        " FROM search_texts t WHERE t.pull_id = NEW.id;"
    )
    yield _trigger("search_pulls_insert", "AFTER INSERT", "pulls", write)
    yield _trigger("search_pulls_update", f"AFTER UPDATE OF {_SEARCHED['pulls']}", "pulls", write)
    for table, columns in _SEARCHED.items():
        if table != "pulls":
            yield _trigger(
                f"search_{table}_update",
                f"AFTER UPDATE OF {columns}",
                table,
                _search_again(table, "NEW"),
            )
    # Levels never change, but another program may add one to a set-up in use.
    for table in ("setup_levels", "build_items", "inspections", "attachments"):
        again = _search_again(table, "NEW")
        yield _trigger(f"search_{table}_insert", "AFTER INSERT", table, again)
    # What has moved to another owner leaves the texts of the one before.
    for table, owners in _OWNERS.items():
        again = _search_again(table, "OLD")
        yield _trigger(f"search_{table}_moved", f"AFTER UPDATE OF {owners}", table, again)


def _search_again(table: str, row: str) -> str:
    return (
        "UPDATE search_documents SET text = t.text FROM search_texts t"
        f" WHERE search_documents.pull_id IN ({_PULLS_OF[table].format(row=row)})"
        " AND t.pull_id = search_documents.pull_id AND search_documents.text IS NOT t.text;"
    )


def _refusing(name: str, event: str, table: str, said: str) -> str:
    return _trigger(name, f"BEFORE {event}", table, f"SELECT RAISE(ABORT, '{said}');")


def _landing_triggers() -> Iterator[str]:
    """What waited is taken when there are pulls of all its parts, and waits again without one."""
    body = """UPDATE landings SET pull_id = NEW.id, state = CASE WHEN parts <= (
  SELECT count(*) FROM pulls WHERE source_id = NEW.source_id AND withdrawn = 0
) THEN 'taken' ELSE 'waiting' END
WHERE sha256 = (SELECT sha256 FROM sources WHERE id = NEW.source_id)
AND state IN ('waiting', 'taken');"""
    for event, name in (("INSERT", "insert"), ("UPDATE OF withdrawn", "update")):
        given = "NEW.source_id IS NOT NULL"
        yield _trigger(f"landings_pulls_{name}", f"AFTER {event}", "pulls", body, given)


def _audit_triggers() -> Iterator[str]:
    for table in ("audit_changes", "audit_fields"):
        for event in ("UPDATE", "DELETE"):
            said = "the audit trail is only ever added to"
            yield _refusing(f"{table}_no_{event.lower()}", event, table, said)


def _kept_triggers() -> Iterator[str]:
    """Nothing is ever deleted: undo withdraws. What was measured or set is never edited."""
    for table in (
        "cells", "engines", "builds", "fuels", "sessions", "airs", "pulls", "build_items",
        "inspections", "clearances", "calibrations", "due_marks", "attachments",
    ):  # fmt: skip
        said = "records are never deleted: set withdrawn = 1 instead"
        yield _refusing(f"{table}_kept", "DELETE", table, said)
    for table in ("setups", "setup_levels"):
        for event in ("UPDATE", "DELETE"):
            said = "a set-up is never edited: give the pull another one"
            yield _refusing(f"{table}_no_{event.lower()}", event, table, said)
    said = "what was measured is kept for ever"
    for table, event in (("sources", "DELETE"), ("channels", "UPDATE"), ("channels", "DELETE")):
        yield _refusing(f"{table}_no_{event.lower()}", event, table, said)
    yield _refusing("traces_kept", "DELETE", "traces", said)
    yield _refusing("traces_no_update", "UPDATE OF pull_id, samples", "traces", said)
    # A copy may give way to a smaller outline over the trace of a pull of it; see `sources`.
    same = " AND ".join(f"NEW.{name} IS OLD.{name}" for name in _OF_A_FILE)
    outlined = (
        f"{same} AND OLD.trace_pull_id IS NULL"
        " AND length(NEW.content_zlib) < length(OLD.content_zlib)"
        " AND EXISTS (SELECT 1 FROM traces t JOIN pulls p ON p.id = t.pull_id"
        " WHERE p.id = NEW.trace_pull_id AND p.source_id = OLD.id)"
    )
    body = f"SELECT RAISE(ABORT, '{said}');"
    yield _trigger("sources_no_update", "BEFORE UPDATE", "sources", body, f"NOT ({outlined})")


TRIGGERS: tuple[str, ...] = (
    *_score_triggers(),
    *_stamp_triggers(),
    *_total_triggers(),
    *_baseline_triggers(),
    *_search_triggers(),
    *_landing_triggers(),
    *_audit_triggers(),
    *_kept_triggers(),
)
