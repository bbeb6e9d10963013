"""The checks of a build: tables for people, and the same as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from logbook.engineering.tolerance import IN, NO_LIMIT, OUT, RECLAIM, SIGNS
from logbook.plain import capital, plain
from logbook.quantities import display_unit, show
from logbook.reports.as_json import Document, cautions_json, record_json
from logbook.reports.tables import grid, heading, sheet

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from logbook.cases.build_checks import BuildChecks
    from logbook.cases.measures import Check
    from logbook.engineering.surface import Finish
    from logbook.engineering.tolerance import Tolerance

STYLES = {IN: "green", RECLAIM: "yellow", OUT: "red", NO_LIMIT: ""}
_DIGITS = {"in": 4, "mm": 3}
_FINE_MM = 0.05  # tapers and the like: in inches the tenths of a tenth of a thou count


def measure(value: float, kind: str, system: str) -> str:
    """A measured value without its unit, as fine as a builder reads it: 0.0041 in, 0.104 mm."""
    unit = display_unit(kind, system)
    digits = 2 if kind == "ratio" else _DIGITS.get(unit)
    if unit == "in" and abs(value) < _FINE_MM:
        digits = 5
    return show(value, kind, system, digits=digits, unit=False).replace("-", "−")


def label_of(check: Check, system: str) -> str:
    """The measure with its unit: ``Taper, in``."""
    unit = display_unit(check.kind, system)
    name = capital(check.label)
    return f"{name}, {unit}" if unit else name


def limits_text(limits: Tolerance, kind: str, system: str) -> str:
    """``0.0035–0.0047``, ``to 0.0005``, ``from 0.016``; empty without limits."""
    low, high = (
        None if edge is None else measure(edge, kind, system) for edge in (limits.low, limits.high)
    )
    if low is not None and high is not None:
        return f"{low}–{high}"
    if high is not None:
        return f"to {high}"
    return f"from {low}" if low is not None else ""


def span_text(check: Check, system: str) -> str:
    """The values of a measure from the least to the greatest: ``0.0037–0.0050``."""
    values = [one.value for one in check.values]
    low, high = (measure(edge, check.kind, system) for edge in (min(values), max(values)))
    return low if low == high else f"{low}–{high}"


def verdict_text(word: str) -> str:
    """A verdict with its sign: ``✓ in``."""
    return f"{SIGNS[word]} {word}"


def check_tables(found: BuildChecks, system: str) -> list[RenderableType]:
    """Every measure with its values, tolerance and verdict; then what could not be checked."""
    count = max((m.cylinder or 0 for c in found.checks for m in c.values), default=0)
    rows: list[tuple[str | Text, ...]] = []
    for check in found.checks:
        by_cylinder = {one.cylinder: one for one in check.values}
        cells = [
            Text(f"{measure(one.value, check.kind, system)} {_mark(one.verdict)}".rstrip(),
                 style=STYLES[one.verdict] if one.verdict in (RECLAIM, OUT) else "")
            if (one := by_cylinder.get(place)) is not None else Text("")
            for place in (None, *range(1, count + 1))
        ]  # fmt: skip
        rows.append(
            (
                Text(verdict_text(check.verdict), style=STYLES[check.verdict]),
                label_of(check, system),
                *cells,
                limits_text(check.tolerance, check.kind, system),
                check.limits_from,
            )
        )
    columns = ("", "Measure", "Engine", *(f"Cyl. {n}" for n in range(1, count + 1)),
               "Tolerance", "Whose")  # fmt: skip
    right = "".join(chr(ord("c") + n) for n in range(count + 1))
    parts: list[RenderableType] = [
        heading(f"{found.build.label} of {found.engine.tag}: {verdict_text(found.verdict)}"),
        grid(columns, rows, right=right) if rows else Text("Nothing to check on this sheet."),
    ]
    notes = [f"{check.label}: {check.advice}" for check in found.checks if check.advice]
    notes += [f"Left out. {sentence}" for sentence in found.left_out]
    return [*parts, *([Text(), *(Text(plain(note)) for note in notes)] if notes else [])]


def _mark(word: str) -> str:
    return SIGNS[word] if word in (RECLAIM, OUT) else ""


def finish_table(found: Finish, system: str) -> Table:
    """The roughness of a profile."""
    heights = [
        (name, show(value / 1000.0, "roughness", system))
        for name, value in (
            ("Ra", found.ra_um), ("Rk", found.rk_um), ("Rpk", found.rpk_um), ("Rvk", found.rvk_um),
        )
    ]  # fmt: skip
    return sheet(
        [
            *heights,
            ("Mr1", f"{found.mr1_percent:.1f} %"),
            ("Mr2", f"{found.mr2_percent:.1f} %"),
            ("Evaluated over", f"{found.length_mm:.3g} mm"),
        ]
    )


def checks_json(found: BuildChecks) -> Document:
    """What ``logbook build check --json`` prints; values in the stored unit of their kind."""
    from logbook.quantities import stored_unit

    return {
        "engine": found.engine.tag,
        "build": found.build.label,
        "verdict": found.verdict,
        "checks": [
            {
                "measure": check.label,
                "unit": stored_unit(check.kind) or None,
                "verdict": check.verdict,
                "values": [record_json(one) for one in check.values],
                **record_json(check.tolerance),
                "how": check.how,
                "limits_from": check.limits_from,
                "advice": check.advice or None,
            }
            for check in found.checks
        ],
        "left_out": list(found.left_out),
        "cautions": cautions_json(found.cautions),
    }
