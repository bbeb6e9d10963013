"""The engine's file as JSON documents: SI with the unit in the key, as `reports.as_json` does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.reports.as_json import Document, record_json
from logbook.reports.filed import MARKS, mark_of

if TYPE_CHECKING:
    from logbook.cases.attachments import AttachedView
    from logbook.cases.builds import BuildSheet, ItemChange
    from logbook.cases.calibration_view import CalibrationView
    from logbook.cases.due import DueState
    from logbook.cases.inspections import InspectionView
    from logbook.engineering.cylinders import Spread


def build_json(found: BuildSheet) -> Document:
    """A build with its items, each with its difference from the parent or ``null``."""
    return {
        **record_json(found.build),
        "engine": found.engine.tag,
        "parent": found.parent.label if found.parent else None,
        "items": [
            {
                **record_json(item),
                "difference": MARKS.get(mark_of(found.change_of(item))),
            }
            for item in found.items
        ],
        "left_out": [record_json(change.old) for change in found.difference if change.new is None],
    }


def change_json(change: ItemChange) -> Document:
    """One item that differs; ``null`` where a side does not have it."""
    return {
        "system": change.item.system,
        "name": change.item.name,
        "difference": MARKS[mark_of(change)],
        "old": record_json(change.old) if change.old else None,
        "new": record_json(change.new) if change.new else None,
    }


def inspection_json(found: InspectionView) -> Document:
    """An inspection with its clearances and the spread of its cylinders."""
    return {
        **record_json(found.inspection),
        "engine": found.engine.tag,
        "build": found.build.label if found.build else None,
        "clearances": [record_json(one) for one in found.clearances],
        "leak_down": _spread_json(found.leak_down, "percent"),
        "cranking": _spread_json(found.cranking, "kpa"),
    }


def _spread_json(found: Spread | None, unit: str) -> Document | None:
    """The spread over cylinders, which are counted from 1."""
    if found is None:
        return None
    return {
        f"least_{unit}": found.least,
        f"most_{unit}": found.most,
        f"mean_{unit}": found.mean,
        f"spread_{unit}": found.spread,
        "spread_of_most_percent": found.spread_percent,
        "apart_cylinders": list(found.outliers),
    }


def calibration_json(view: CalibrationView) -> Document:
    """A calibration with its figures, fits and verdict; coefficients of 1, reference, reference²
    in the unit of the pairs."""
    return {
        **record_json(view.calibration),
        "cell": view.cell.name,
        "figures": record_json(view.figures),
        "line": record_json(view.line),
        "parabola": record_json(view.parabola) if view.parabola else None,
        "tolerance_of_span_percent": view.tolerance_percent,
        "verdict": view.verdict,
        "overdue": view.overdue,
        "cautions": [record_json(caution) for caution in view.cautions],
    }


def due_json(state: DueState) -> Document:
    """A due mark and how far it is."""
    return {
        **record_json(state.mark),
        "engine": state.engine.tag,
        "build": state.build.label if state.build else None,
        "pulls": state.pulls,
        "recorded_min": state.minutes,
        "untimed_pulls": state.untimed,
        "days": state.days,
        "share": state.share,
        "due": state.is_due,
        "soon": state.is_soon,
    }


def attached_json(view: AttachedView) -> Document:
    """An attached file, what it belongs to and where it is kept."""
    return {
        **record_json(view.attachment),
        "of": view.of,
        "kept_at": str(view.path),
        "there": view.there,
    }
