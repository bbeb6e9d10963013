"""The results as JSON documents: SI with the unit in the key, never rounded, null for unknown.

Keys are an interface: they may be added, not renamed. Set-up factors keep the user's names.
Every function returns plain dicts and lists that `json.dumps(…, allow_nan=False)` takes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from logbook.records.setup import TIMING, factor_key

if TYPE_CHECKING:
    from logbook.cases.air import AirReport
    from logbook.cases.merge import MergeReport
    from logbook.cases.results import (
        AirView,
        Closed,
        CompareView,
        CurveView,
        DifferenceView,
        Drift,
        PullRow,
        PullStory,
        SessionView,
        Worth,
    )
    from logbook.engineering.air import AirState
    from logbook.engineering.correction import Correction
    from logbook.records.caution import Caution
    from logbook.records.engine import Engine
    from logbook.records.score import Figures
    from logbook.records.session import Session
    from logbook.records.setup import Level, SetUp
    from logbook.records.trace import Trace

Document = dict[str, Any]


def plain_value(value: Any) -> Any:
    """A record's value as JSON takes it: numbers in full, what is not a number as ``None``."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain_value(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain_value(item) for item in value]
    return value


def record_json(record: Any, *, without: Iterable[str] = ("withdrawn",)) -> Document:
    """Any record or row, by its field names, which carry the units."""
    left_out = set(without)
    names = record._fields if hasattr(record, "_fields") else [slot.name for slot in fields(record)]
    return {name: plain_value(getattr(record, name)) for name in names if name not in left_out}


def cautions_json(cautions: Iterable[Caution]) -> list[Document]:
    """``[{"code", "text"}]``, each once."""
    unique = {(caution.code, caution.text): None for caution in cautions}
    return [{"code": code, "text": text} for code, text in unique]


def closed_json(closed: Closed) -> Document:
    """The closed session, and what became of its backup."""
    return {
        **record_json(closed.session),
        "backup": str(closed.backup) if closed.backup else None,
        "cautions": cautions_json(closed.cautions),
    }


def merge_json(report: MergeReport) -> Document:
    """What ``logbook merge --json`` prints, also in a dry run."""
    return {
        **record_json(report, without=("conflicts", "backup")),
        "conflicts": [record_json(clash) for clash in report.conflicts],
        "backup": str(report.backup) if report.backup else None,
    }


def state_json(
    state: AirState, corrections: Mapping[str, Correction], cautions: Iterable[Caution]
) -> Document:
    """The moist air with every standard's factor."""
    return {
        "pressure_kpa": state.pressure_kpa,
        "temperature_c": state.temperature_c,
        "relative_humidity": state.relative_humidity,
        "vapour_pressure_kpa": state.vapor_pressure_kpa,
        "dry_pressure_kpa": state.dry_pressure_kpa,
        "density_kg_m3": state.density_kg_m3,
        "density_altitude_m": state.density_altitude_m,
        "factors": {
            key: {"factor": plain_value(one.factor), "in_range": one.in_range}
            for key, one in corrections.items()
        },
        "cautions": cautions_json(cautions),
    }


def air_json(report: AirReport) -> Document:
    """What ``logbook air --json`` prints."""
    return {
        **state_json(report.state, report.corrections, report.cautions),
        "pressure_given_as": report.reading.pressure_typed_as,
    }


def air_view_json(view: AirView | None) -> Document | None:
    """The air of a pull or session: as ``logbook air`` prints it, with when and how it was read."""
    if view is None:
        return None
    from logbook.engineering.correction import STANDARDS, correct

    corrections = {key: correct(key, view.state) for key in STANDARDS}
    cautions = [caution for one in corrections.values() for caution in one.cautions]
    return {
        **state_json(view.state, corrections, cautions),
        "pressure_given_as": view.reading.pressure_typed_as,
        "humidity_given_as": view.reading.humidity_kind,
        "typed": dict(view.reading.typed),
        "instrument": view.reading.instrument,
        "read_at": view.reading.read_at,
        "age_minutes": plain_value(view.age_minutes),
        "stale": view.stale,
    }


def set_up_json(setup: SetUp) -> Document:
    """The factors under the user's names; timing as the number ``timing_deg``.

    A plain number is a number; a quantity or any other level is the text that was typed.
    """
    return dict(_factor(name, level) for name, level in setup.levels.items())


def _factor(name: str, level: Level) -> tuple[str, float | str]:
    if factor_key(name) == TIMING and level.number is not None:
        return "timing_deg", level.number
    if level.number is not None and level.unit is None and math.isfinite(level.number):
        return name, level.number
    return name, level.text


def worth_json(worth: Worth | None) -> Document | None:
    """A judged difference: ``against_baseline`` of a pull. ``band_power_kw`` is null where only
    peaks could be compared; ``difference_kw`` with ``quantity`` always says what was judged."""
    if worth is None:
        return None
    is_band = worth.quantity == "band power"
    return {
        "band_power_kw": plain_value(worth.difference_kw) if is_band else None,
        "interval_kw": plain_value(worth.interval_kw),
        "percent": plain_value(worth.percent),
        "verdict": worth.verdict,
        "noise_percent": plain_value(worth.noise.percent),
        "noise_source": worth.noise.source,
        "usual_drift_percent": plain_value(worth.wander.drift_percent) if worth.wander else None,
        "resetting_percent": plain_value(worth.wander.resetting_percent) if worth.wander else None,
        "drift_source": worth.wander.source if worth.wander else None,
        "more_pulls": worth.more_pulls,
        "more_of_this_set_up": worth.settle_by[0] if worth.more_pulls else None,
        "more_of_the_other": worth.settle_by[1] if worth.more_pulls else None,
        "quantity": worth.quantity,
        "difference_kw": plain_value(worth.difference_kw),
        "pulls": list(worth.pulls),
        "baseline_pulls": list(worth.baseline_pulls),
        "reason": worth.reason,
    }


def figures_json(figures: Figures | None) -> Document:
    """Peaks and band averages; all null where nothing is known."""
    from logbook.records.score import Figures as Empty

    return record_json(figures if figures is not None else Empty())


def row_json(row: PullRow, session: Session, engine: Engine) -> Document:
    """A pull as one line of its session: everything but its air."""
    pull, score = row.pull, row.score
    shown_apart = {"id", "number", "at", "kind", "session_id", "setup_id", "withdrawn"}
    return {
        "id": pull.id,
        "engine": engine.tag,
        "session": session.id,
        "number": pull.number,
        "at": pull.at,
        "kind": pull.kind,
        "set_up": set_up_json(row.setup),
        "changed": [change.factor for change in row.changed],
        "standard": session.standard,
        "factor": plain_value(score.factor) if score else None,
        "band_rpm": band_json(session, engine),
        "observed": figures_json(score.observed if score else None),
        "corrected": figures_json(score.corrected if score else None),
        "against_baseline": worth_json(row.worth),
        "cautions": cautions_json(row.cautions),
        "is_baseline": row.is_baseline,
        "excluded": pull.excluded_reason is not None,
        "entered": record_json(pull, without=shown_apart),
    }


def band_json(session: Session, engine: Engine) -> list[float] | None:
    """The band that counts: the session's, else the engine's."""
    for record in (session, engine):
        if record.band_low_rpm is not None and record.band_high_rpm is not None:
            return [record.band_low_rpm, record.band_high_rpm]
    return None


def pull_json(
    story: PullStory, *, trace: Trace | None = None, cautions: Iterable[Caution] = ()
) -> Document:
    """What ``logbook pull show --json`` prints; `cautions` are those said when it was logged."""
    document = {
        **row_json(story.row, story.session, story.engine),
        "air": air_view_json(story.air),
        "against_baseline": worth_json(story.worth),
        "why_not_judged": story.why_none or None,
        "cautions": cautions_json([*story.row.cautions, *cautions]),
        "build": story.build.label,
        "session_opened_at": story.session.opened_at,
        "power_rating": story.session.power_rating,
        "source": story.source_name,
        "samples": list(story.samples) if story.samples else None,
        "calibration": story.row.pull.calibration_id,
        "recalibration": story.row.pull.recalibration_id,
    }
    return document if trace is None else {**document, "trace": trace_json(trace)}


def trace_json(trace: Trace) -> Document:
    """Every channel as the source printed it, with what takes it to SI."""
    return {
        "first_sample": trace.first_sample,
        "last_sample": trace.last_sample,
        "channels": [
            {
                "name": channel.name,
                "quantity": channel.quantity,
                "unit": channel.unit,
                "decimals": channel.decimals,
                "si_unit": channel.si_unit,
                "si_factor": channel.si_factor,
                "si_offset": channel.si_offset,
                "values": plain_value(channel.values.tolist()),
            }
            for channel in trace.channels
        ],
    }


def session_json(view: SessionView) -> Document:
    """What ``logbook session show --json`` prints; pulls newest first."""
    return {
        **record_json(view.session),
        "engine": view.engine.tag,
        "build": view.build.label,
        "cell": view.cell.name,
        "band_rpm": band_json(view.session, view.engine),
        "baseline_label": view.baseline_label,
        "noise": record_json(view.noise) if view.noise else None,
        "drift": _drift(view.drift) if view.drift else None,
        "air": air_view_json(view.air),
        "ready": [record_json(item) for item in view.ready],
        "cautions": cautions_json(view.cautions),
        "pulls": [row_json(row, view.session, view.engine) for row in view.rows],
    }


def _drift(drift: Drift) -> Document:
    return {
        "percent_per_pull": plain_value(drift.percent_per_pull),
        "standard_error": plain_value(drift.standard_error),
        "usual_percent_per_pull": plain_value(drift.usual.drift_percent),
        "resetting_percent": plain_value(drift.usual.resetting_percent),
        "source": drift.usual.source,
    }


def compare_json(view: CompareView) -> Document:
    """What ``logbook compare --json`` prints: both sides under one standard, right − left."""
    return {
        "standard": view.standard_name,
        "left": _side(view.left_label, view.left, view.left_figures, view.left_curve),
        "right": _side(view.right_label, view.right, view.right_figures, view.right_curve),
        "worth": worth_json(view.worth),
        "bare_difference": record_json(view.bare) if view.bare else None,
        "why_no_worth": view.why_no_worth or None,
        "difference": difference_json(view.difference),
        "differing": [record_json(line) for line in view.differing],
        "cautions": cautions_json(view.cautions),
    }


def _side(label: str, row: PullRow, figures: Figures, curve: CurveView | None) -> Document:
    return {
        "id": row.pull.id,
        "label": label,
        "set_up": set_up_json(row.setup),
        "corrected": figures_json(figures),
        "curve": curve_json(curve),
    }


def curve_json(curve: CurveView | None) -> Document | None:
    """A curve on its speed bins."""
    if curve is None:
        return None
    return {
        "speed_rpm": plain_value(curve.speed_rpm.tolist()),
        "torque_nm": plain_value(curve.torque_nm.tolist()),
        "power_kw": plain_value(curve.power_kw.tolist()),
    }


def difference_json(view: DifferenceView | None) -> Document | None:
    """The curve of differences with its band."""
    if view is None:
        return None
    return {
        "speed_rpm": plain_value(view.speed_rpm.tolist()),
        "power_kw": plain_value(view.power_kw.tolist()),
        "low_kw": plain_value(view.low_kw.tolist()),
        "high_kw": plain_value(view.high_kw.tolist()),
        "note": view.note,
    }
