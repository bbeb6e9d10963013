"""A pull's answer as one line of text, to be pasted into a message."""

from __future__ import annotations

from logbook import quantities
from logbook.cases.results import PullRow, SessionView
from logbook.reports import showing


def answer_text(view: SessionView, row: PullRow, system: str) -> str:
    """``RB-8 14 Nov 2026 pull 13: 455.8 hp band average (SAE J1349); +6.5 hp, gain so far …``."""
    day = showing.day(view.session.opened_at, view.cell.time_zone)
    parts = [f"{view.engine.tag} {day} pull {row.pull.number}: {_power(view, row, system)}"]
    if row.worth is not None:
        low, high = (showing.signed(edge, system) for edge in row.worth.interval_kw)
        unit = quantities.display_unit("power", system)
        change = showing.signed(row.worth.difference_kw, system, unit=True)
        parts.append(
            f"{change} ({showing.percent(row.worth.percent)}) from the baseline,"
            f" 95 % {low} to {high} {unit}: {row.worth.verdict}"
        )
    if row.pull.excluded_reason is not None:
        parts.append(f"excluded: {row.pull.excluded_reason}")
    set_up = showing.set_up(row.setup)
    return "; ".join([*parts, set_up] if set_up else parts)


def _power(view: SessionView, row: PullRow, system: str) -> str:
    figures = row.score.corrected if row.score else None
    band = figures.band_power_kw if figures else None
    power = band if band is not None else figures.peak_power_kw if figures else None
    if power is None:
        return "no corrected power"
    what = "band average" if band is not None else "peak"
    return f"{quantities.show(power, 'power', system)} {what}, {view.standard_name}"
