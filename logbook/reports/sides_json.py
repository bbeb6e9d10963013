"""Builds, sessions and engines over each other as JSON: SI, never rounded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from logbook.reports.as_json import (
    cautions_json,
    curve_json,
    difference_json,
    figures_json,
    plain_value,
    record_json,
    worth_json,
)

if TYPE_CHECKING:
    from logbook.cases.results import CurveView, Worth
    from logbook.cases.sides_results import (
        AttributionView,
        EvidenceView,
        MemberView,
        Share,
        SideCurves,
        SidesView,
        SideView,
    )

Document = dict[str, Any]


def sides_json(view: SidesView, curves: SideCurves) -> Document:
    """What ``logbook compare --json`` prints of two sides: right − left under one standard."""
    return {
        "standard": view.standard_name,
        "band_rpm": list(view.band_rpm) if view.band_rpm else None,
        "left": _side(view.left, curves.left),
        "right": _side(view.right, curves.right),
        "worth": _worth(view.worth),
        "difference": difference_json(curves.difference),
        "attribution": None if view.attribution is None else _attribution(view.attribution),
        "differing": [record_json(line) for line in view.differing],
        "uncontrolled": list(view.uncontrolled),
        "cautions": cautions_json(view.cautions),
    }


def _worth(worth: Worth) -> Document:
    """Without pull numbers, which only mean something within a session: see the sides."""
    document = worth_json(worth) or {}
    return {key: value for key, value in document.items() if not key.endswith("pulls")}


def _side(side: SideView, curve: CurveView | None) -> Document:
    return {
        "kind": side.kind,
        "label": side.label,
        "engine": side.engine,
        "build": side.build,
        "set_up": side.set_up,
        "sessions": [record_json(part) for part in side.parts],
        "corrected": figures_json(side.figures),
        "curve": curve_json(curve),
    }


def _attribution(view: AttributionView) -> Document:
    return {
        "subject": view.subject,
        "worth": _share(view.rest),
        "verdict": view.verdict,
        "told_apart": view.told,
        "together_with": list(view.untold),
        "at_least_kw": plain_value(view.at_least_kw),
        "at_most_kw": plain_value(view.at_most_kw),
        "at_least_percent": plain_value(view.at_least_percent),
        "at_most_percent": plain_value(view.at_most_percent),
        "assumed": [record_json(one) for one in view.assumed],
        "members": [_member(member) for member in view.members],
        "between_engines": record_json(view.carrying),
        "sisters": [_evidence(line) for line in view.sisters],
    }


def _share(share: Share | None) -> Document | None:
    return None if share is None else record_json(share)


def _member(member: MemberView) -> Document:
    return {
        "factor": member.factor,
        "old": member.old or None,
        "new": member.new or None,
        "worth": _share(member.worth),
        "evidence": [_evidence(line) for line in member.evidence],
        "sessions_found": member.sessions_found,
    }


def _evidence(line: EvidenceView) -> Document:
    return {
        **record_json(line, without={"sessions"}),
        "sessions": [record_json(part) for part in line.sessions],
    }
