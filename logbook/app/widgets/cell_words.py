"""A cell's sheet, the standards and the backups in lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook import quantities
from logbook.app.widgets.ink import Line, one, pad, rows_of, wrap

if TYPE_CHECKING:
    from logbook.cases.cell_view import Backups
    from logbook.records.cell import Cell


def cell_lines(cell: Cell, width: int, system: str) -> list[Line]:
    """The cell's sheet in a row or two; only what stands on it."""
    from logbook.engineering.correction import standard

    parts = [
        (cell.altitude_m, "altitude", "altitude"),
        (cell.arm_mm, "length", "arm"),
        (cell.inertia_kg_m2, "inertia", "inertia"),
    ]
    shown: list[Line] = [one(cell.absorber)] if cell.absorber else []
    shown += [
        ((f"{label} ", "quiet"), (quantities.show(value, kind, system), ""))
        for value, kind, label in parts
        if value is not None
    ]
    shown += [one(cell.time_zone, "quiet"), one(standard(cell.standard).name)]
    return rows_of(shown, width)


def standards_lines(width: int, system: str) -> list[Line]:
    """Every standard with where it stands, then what the logbook refuses."""
    from logbook.engineering.correction import STANDARDS
    from logbook.engineering.limits import LIMITS

    lines: list[Line] = [
        one("Numbers of different standards are never comparable as they stand.", "caution"), (),
    ]  # fmt: skip
    for known in STANDARDS.values():
        lines.append(((known.name, "strong"), (f"  {known.key}", "quiet")))
        said = [known.reference, known.formula]
        if known.valid is not None:
            said.append(_range_words(known.valid, system))
        said += [known.note, f"Source: {known.source}"]
        for text in said:
            if text:
                lines += wrap(f"  {text}", width, "quiet", indent="  ")
    lines += [(), one("Refused wherever it comes from", "strong")]
    for name, (kind, low, high) in LIMITS.items():
        ends = " to ".join(quantities.show(end, kind, system) for end in (low, high))
        lines.append(((pad(f"  outside {ends}", min(40, width - 20)), ""), (name, "quiet")))
    return lines


def _range_words(valid: object, system: str) -> str:
    from logbook.engineering.correction import Range

    assert isinstance(valid, Range)
    low, high = valid.factor
    words = f"stands for factors of {low:g} to {high:g}"
    for ends, kind in (
        (valid.temperature_c, "temperature"), (valid.dry_pressure_kpa, "pressure"),
    ):  # fmt: skip
        if ends is not None:
            words += ", " + " to ".join(quantities.show(end, kind, system) for end in ends)
    return words


def backup_lines(found: Backups, width: int) -> list[Line]:
    """Where the automatic backups stand, and which there are."""
    if found.kept > 0:
        kept = f"The newest {found.kept} and one a month are kept."
    else:
        kept = "Automatic backups are turned off (backups_kept = 0)."
    lines = wrap(
        f"Made when a session closes and before a migration or a merge, in {found.folder}. {kept}"
        " They share the book's attached files. `logbook backup FILE` makes one elsewhere, with"
        " them.",
        width, "quiet",
    )  # fmt: skip
    lines.append(())
    if not found.copies:
        return [*lines, one("No automatic backup yet.", "caution")]
    for copy in found.copies:
        day, clock = copy.taken_at[:8], copy.taken_at[9:13]
        moment = f"{day[:4]}-{day[4:6]}-{day[6:]} {clock[:2]}:{clock[2:]} UTC"
        occasion = copy.occasion.replace("-", " ") if copy.occasion.startswith("session") else (
            copy.occasion
        )  # fmt: skip
        lines.append(((f"{moment}  ", "strong"), (f"{occasion}  ", ""), (copy.path.name, "quiet")))
    return lines
