"""An engine's sheet in few rows: what it is, its limits, its builds, what is due, what was seen.
Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.app.widgets.ink import BLANK, Line, Span, fit_line, one, rows_of, wrap
from logbook.cases.field_lists import ENGINE_FIELDS, by_key
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.due import DueState
    from logbook.cases.inspections import InspectionView
    from logbook.engineering.cylinders import Spread
    from logbook.records.engine import Build, Engine

_NEWEST = 6  # builds that are named


def sheet_lines(engine: Engine, builds: Sequence[Build], width: int, system: str) -> list[Line]:
    """The sheet in lines; only what is on it."""
    from logbook.cases.geometry_check import geometry_caution

    newest = [build.label for build in builds[: -_NEWEST - 1 : -1]]
    older = f" and {len(builds) - _NEWEST} more" if len(builds) > _NEWEST else ""
    named: Line = (("Builds ", "strong"), (", ".join(newest) + older, ""))
    lines = rows_of(_facts(engine, system), width)
    limits = _limits(engine, system)
    if limits:
        lines += rows_of([one("Limits", "strong"), *limits, named], width)
    else:
        lines += [one("⚠ No limits on this sheet: e enters them", "caution")]
        lines += rows_of([named], width)
    if (caution := geometry_caution(engine, system)) is not None:
        lines += wrap(f"⚠ {caution.text}", width, "caution", indent="  ")
    if engine.notes:
        lines += [fit_line(one(engine.notes.split("\n")[0], "quiet"), width)]
    return lines


def _text(engine: Engine, key: str, system: str) -> str:
    """A field of the sheet as it is shown; empty where it is not on it."""
    field = by_key(ENGINE_FIELDS)[key]
    value = getattr(engine, field.attribute)
    if value in (None, ""):
        return ""
    if field.is_quantity:
        return showing.shown(value, field.kind, system)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _facts(engine: Engine, system: str) -> list[Line]:
    def text(key: str) -> str:
        return _text(engine, key, system)

    bore, stroke = text("bore"), text("stroke")
    both = f"{bore.split(' ')[0]} × {stroke}" if bore and stroke else ""
    band = showing.band(engine.band_low_rpm, engine.band_high_rpm)
    parts = (
        ("", text("layout"), ""),
        ("", text("cylinders"), " cylinders"),
        ("bore × stroke ", both, ""),
        ("bore ", "" if both else bore, ""),
        ("stroke ", "" if both else stroke, ""),
        ("displacement ", text("displacement"), ""),
        ("compression ", text("compression-ratio"), ""),
        ("", text("ignition"), " ignition"),
        ("", text("aspiration"), " aspiration"),
    )
    known = one(band) if engine.band_low_rpm is None else (("band ", "quiet"), (band, ""))
    return [*_shown(parts), known]


def _limits(engine: Engine, system: str) -> list[Line]:
    def text(key: str) -> str:
        return _text(engine, key, system)

    most, least = text("limit-timing"), text("least-timing")
    between = f"{least.rstrip('°')} to {most}" if most and least else ""
    return _shown(
        (
            ("timing ", between, ""),
            ("timing ≤ ", "" if between else most, ""),
            ("timing ≥ ", "" if between else least, ""),
            ("", text("limit-speed"), ""),
            ("oil ", text("limit-oil"), ""),
            ("coolant ", text("limit-coolant"), ""),
            ("exhaust ", text("limit-exhaust"), ""),
            ("oil pressure ≥ ", text("least-oil-pressure"), ""),
            ("crankcase vacuum ", text("limit-crankcase-vacuum"), ""),
        )
    )


def _shown(parts: Sequence[tuple[str, str, str]]) -> list[Line]:
    """What is known, between the quiet words before and after it."""
    return [((before, "quiet"), (text, ""), (after, "quiet"))
            for before, text, after in parts if text]  # fmt: skip


def filed_lines(
    due: Sequence[DueState], looked: InspectionView | None, width: int, system: str
) -> list[Line]:
    """What is due, and what the last inspection said; nothing where there is nothing."""
    from logbook.reports.filed import DUE_SIGN, SOON_SIGN, used_words

    lines: list[Line] = []
    for head, states in (
        (f"{DUE_SIGN} Due", [state for state in due if state.is_due]),
        (f"{SOON_SIGN} Due soon", [state for state in due if state.is_soon]),
    ):
        words = [one(f"{state.mark.what} {used_words(state)}", "caution") for state in states]
        lines += rows_of([one(head, "caution"), *words], width) if words else []
    if due and not lines:
        lines = [(("Due ", "strong"), ("nothing yet", ""))]
    if looked is not None:
        day = showing.date_words(looked.inspection.inspected_on)
        said = [
            _spread("leak-down", looked.leak_down, "percent", system),
            _spread("cranking", looked.cranking, "cylinder_pressure", system),
        ]
        lines += rows_of([(("Inspected ", "strong"), (day, "")), *filter(None, said)], width)
    return lines


def _spread(label: str, found: Spread | None, kind: str, system: str) -> Line:
    """Least to greatest, and the cylinders that stand apart."""
    from logbook.reports.filed import range_words

    if found is None:
        return BLANK
    spans: list[Span] = [(f"{label} ", "quiet"), (range_words(found, kind, system), "")]
    if found.outliers:
        which = ", ".join(map(str, found.outliers))
        spans.append((f" ⚠ cyl {which}", "caution"))
    return tuple(spans)
